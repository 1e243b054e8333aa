"""``geneticlog database``: prepare, check, copy and restore."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from geneticlog.errors import NotFound, Refused, StoreUnready
from geneticlog.faces.app.desk import PASSWORD_SEEN, Desk, ShowCommand, say_wrapped
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.progress import progress
from geneticlog.rules.sentences import n_of
from geneticlog.settings import database_setting


@click.group(cls=DeskGroup, other_names={"add": "upgrade", "create": "upgrade"}, elsewhere={"show": "status"})
def database() -> None:
    """Prepare, check, copy and restore the database."""


@database.command(cls=ShowCommand)
@click.pass_obj
def upgrade(desk: Desk) -> None:
    """Make a new database, or bring an old one up to this program.

    A SQLite file that holds data is copied beside itself first; the copy is the way back.
    """
    from geneticlog.store.address import shown
    from geneticlog.store.backup import copy_beside
    from geneticlog.store.engine import database_url, open_engine, sqlite_file
    from geneticlog.store.migrate import standing
    from geneticlog.store.migrate import upgrade as bring_up

    url = database_url(desk.database or database_setting())
    file = sqlite_file(url)
    if file is not None:
        file.parent.mkdir(parents=True, exist_ok=True)
    new = file is not None and not file.exists()
    engine = open_engine(url, enforce_links=False)
    copied = None
    try:
        try:
            before = standing(engine)
            if file is not None and before.revision is not None and not before.ready:
                copied = copy_beside(file, before.revision)
            after = bring_up(engine)
        finally:
            engine.dispose()
    except StoreUnready:
        if new and file is not None:
            file.unlink(missing_ok=True)
        raise
    where = shown(engine.url)

    def say() -> None:
        if copied:
            click.echo(f"Copied the database as it was to {copied}.")
        if before.ready:
            click.echo(f"{where} is at revision {after.revision} already; nothing changed.")
        else:
            click.echo(f"{where} is ready at revision {after.revision}.")

    desk.show(
        {
            "database": where,
            "revision": after.revision,
            "revision_before": before.revision,
            "copy": copied,
        },
        say,
    )


@database.command(cls=ShowCommand)
@click.option(
    "--head",
    "known_head",
    metavar="NUMBER:HASH",
    help="A head that a report, a backup or status printed: it must still be in the journal.",
)
@click.pass_obj
def check(desk: Desk, known_head: str | None) -> None:
    """Check file, structure, journal, and every row against the journal.

    Rows rewritten together with all later journal entries are detected only with a journal head noted earlier: --head.
    """
    from geneticlog.store.check import look_over

    with progress(desk, "Checking the pages of the file") as watch:
        looked_over = look_over(desk.engine, known_head=known_head, watch=watch)

    def say() -> None:
        for table, n in looked_over.rows.items():
            click.echo(f"{n:>9}  {table}")
        click.echo(
            f"At revision {looked_over.revision}; head of the journal {looked_over.head or 'none'}. Checked:"
        )
        for one in looked_over.checked:
            say_wrapped(f"  {one}", "    ")
        for note in looked_over.notes:
            say_wrapped(f"Note of {note}", "  ")
        if not looked_over.faults:
            click.echo("All of it holds.")

    desk.show({**asdict(looked_over), "holds": not looked_over.faults}, say)
    if looked_over.faults:
        n = len(looked_over.faults)
        first = [f"{n_of(n, 'fault')} in this database:", *(f"  {one}" for one in looked_over.faults)]
        way_out = "Keep the file as it is, and restore a copy: geneticlog database restore"
        if desk.engine.dialect.name != "sqlite":
            way_out = "Keep the database as it is, and restore a dump of it beside it: pg_restore"
        raise StoreUnready("\n".join([*first, way_out]))


@database.command(cls=ShowCommand)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_obj
def backup(desk: Desk, file: Path) -> None:
    """Copy a SQLite database to FILE, sealed, also while others write to it."""
    from geneticlog.store.backup import copy_to, head_of
    from geneticlog.store.engine import sqlite_file

    source = sqlite_file(str(desk.engine.url))
    if source is None:
        raise Refused("a PostgreSQL database is copied with the server's own tools: pg_dump --format=custom")
    if file.exists():
        raise Refused(f"{file} is there already; name a new file")
    digest = copy_to(source, file)
    last = head_of(file)

    def say() -> None:
        click.echo(f"Copied {source} to {file}, sealed: sha256 {digest[:16]}…")
        if last:
            click.echo(f"Head of its journal: {last}; write it down, and the copy can prove itself.")

    desk.show({"database": source, "copy": file, "sha256": digest, "head": last}, say)


@database.command(cls=ShowCommand)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--replace",
    is_flag=True,
    help="Replace an existing database; the old one is kept beside it.",
)
@click.option(
    "--unsealed", is_flag=True, help="Take a copy without a seal, from an earlier version or made by hand."
)
@click.pass_obj
def restore(desk: Desk, file: Path, replace: bool, unsealed: bool) -> None:
    """Put a copy made by ``database backup`` in the place of the database.

    The copy and its seal are verified first; nothing happens while another program has the database open.
    """
    from geneticlog.store.backup import put_back
    from geneticlog.store.engine import database_url, sqlite_file

    target = sqlite_file(database_url(desk.database or database_setting()))
    if target is None:
        raise Refused("a PostgreSQL database is restored with the server's own tools: pg_restore")
    if not file.exists():
        raise NotFound(f"there is no file {file}; name a copy made by: geneticlog database backup")
    kept = put_back(file, target, replace=replace, unsealed=unsealed)

    def say() -> None:
        if kept:
            click.echo(f"The database that was there is kept as {kept}.")
        click.echo(f"Restored {target} from {file}.")

    desk.show({"database": target, "from": file, "kept": kept}, say)


@database.command(cls=ShowCommand)
@click.argument("source", metavar="FROM")
@click.argument("target", metavar="TO")
@click.pass_obj
def copy(desk: Desk, source: str, target: str) -> None:
    """Copy a whole database, SQLite to PostgreSQL or back, verified.

    FROM and TO are files or URLs; TO is new or empty. Every row is compared afterwards, and all of it is kept or
    nothing. End the programs that write to FROM first: what they write later stays there.
    """
    from geneticlog.store.address import database_url, holds_password, shown
    from geneticlog.store.copying import copy_database
    from geneticlog.store.engine import open_engine, sqlite_file

    if holds_password(source) or holds_password(target):
        desk.note(PASSWORD_SEEN)
    urls = [database_url(source), database_url(target)]
    files = [sqlite_file(url) for url in urls]
    if files[0] is not None and not files[0].exists():
        raise NotFound(f"there is no database at {files[0]}")
    new = files[1] is not None and not files[1].exists()
    engines = [open_engine(url, enforce_links=False, waiting=desk.waiting) for url in urls]
    done = False
    try:
        with progress(desk, "Copying rows") as watch:
            rows = copy_database(engines[0], engines[1], watch)
        done = True
    finally:
        for engine in engines:
            engine.dispose()
        if new and not done and files[1] is not None:
            files[1].unlink(missing_ok=True)

    def say() -> None:
        for table, n in rows.items():
            click.echo(f"{n:>9}  {table}")
        click.echo(f"Copied {shown(urls[0])} to {shown(urls[1])}; every row is the same on both sides.")

    desk.show({"from": shown(urls[0]), "to": shown(urls[1]), "rows": rows}, say)
