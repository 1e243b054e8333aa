"""``geneticlog return show``: a file that was read, its account, and what was made of each row."""

from __future__ import annotations

from pathlib import Path

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.settings import local_time

MOST_ROWS = 20  # shown at the terminal; all of them with --json
WIDTH = 80
MOST_CELLS = 60  # characters of a row as it came


@click.command(cls=ShowCommand)
@click.argument("file")
@click.option(
    "--shipment", metavar="CODE", help="Its reading for this shipment, where it was read for several."
)
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="PATH", help="Write the file as the lab sent it."
)
@click.pass_obj
def show(desk: Desk, file: str, shipment: str | None, out: Path | None) -> None:
    """Show a file that was read: what each part of it was taken for, and its rows as the lab wrote them.

    FILE is a path, the name of a file that was read, or the first letters of its digest. A reading that was withdrawn
    is shown too, where none of the file is in force.

    Example: geneticlog return show lab_return.csv
    """
    from geneticlog.faces.lab_return.terminal import say_account
    from geneticlog.store.writing import write_whole
    from geneticlog.work.lab_return.readings import find_reading
    from geneticlog.work.lab_return.show_return import show_return

    with desk.reading() as session:
        reading = find_reading(session, file, shipment, or_withdrawn=True)[0]
        seen, content = show_return(session, reading), reading.content
    if out is not None:
        write_whole(out, content)
        desk.note(f"Written as the lab sent it to {out}.")

    def say() -> None:
        when = local_time(seen.read_at)
        say_wrapped(f"{seen.file}, read for shipment {seen.shipment} on {when} by {seen.read_by}.")
        if seen.withdrawn_at is not None:
            gone = local_time(seen.withdrawn_at)
            say_wrapped(
                f"Withdrawn on {gone} by {seen.withdrawn_by}: {seen.withdrawn_why}. None of it counts."
            )
        click.echo()
        if seen.account is None:
            say_wrapped("It was read before accounts were kept; withdraw it and read it again to have one.")
        else:
            say_account(seen.account)
        click.echo()
        rows = [
            (
                seen.sheet_rows.words([row.row]),
                " | ".join(text.strip() for text in row.cells.values() if text.strip())[:MOST_CELLS],
                row.standing or row.outcome,
                None if row.q is None else f"{row.q:.4g}",
                row.n_loci,
            )
            for row in seen.rows[:MOST_ROWS]
        ]
        say_table(
            ("row", "as the lab wrote it", "kept as", "q", "loci"), rows, numbers=("q", "loci"), within=WIDTH
        )
        if len(seen.rows) > MOST_ROWS:
            click.echo(f"… and {len(seen.rows) - MOST_ROWS} more rows (all with --json).")

    document = {
        "file": seen.file,
        "shipment": seen.shipment,
        "sha256": seen.sha256,
        "read_at": seen.read_at,
        "read_by": seen.read_by,
        "withdrawn_at": seen.withdrawn_at,
        "withdrawn_by": seen.withdrawn_by,
        "withdrawn_why": seen.withdrawn_why,
        "account": None if seen.account is None else seen.account.as_plain(),
        "rows": list(seen.rows),
    }
    desk.show(document, say)
