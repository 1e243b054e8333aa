"""Things at rest: tables, sessions, migrations, spreadsheets read into rows. Decides nothing."""
