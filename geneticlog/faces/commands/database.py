"""``geneticlog database``: prepare, check, copy and restore."""

from __future__ import annotations

from pathlib import Path

import click

from geneticlog.errors import NotFound, Refused, StoreUnready
from geneticlog.faces.app.desk import Desk, ShowCommand
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.settings import database_setting


@click.group(cls=DeskGroup)
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
@click.pass_obj
def check(desk: Desk) -> None:
    """Look whether the database is whole and ready, and count what is in it."""
    from geneticlog.store.check import look_over

    found = look_over(desk.engine)

    def say() -> None:
        click.echo(f"Ready at revision {found['revision']}. Links, checks and pages hold.")
        for table, n in found["rows"].items():
            click.echo(f"{n:>9}  {table}")

    desk.show(found, say)


@database.command(cls=ShowCommand)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_obj
def backup(desk: Desk, file: Path) -> None:
    """Copy a SQLite database to FILE, sealed, also while others write to it."""
    from geneticlog.store.backup import copy_to
    from geneticlog.store.engine import sqlite_file

    source = sqlite_file(str(desk.engine.url))
    if source is None:
        raise Refused("a PostgreSQL database is copied with the server's own tools: pg_dump --format=custom")
    if file.exists():
        raise Refused(f"{file} is there already; name a new file")
    digest = copy_to(source, file)
    desk.show(
        {"database": source, "copy": file, "sha256": digest},
        lambda: click.echo(f"Copied {source} to {file}, sealed: sha256 {digest[:16]}…"),
    )


@database.command(cls=ShowCommand)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--replace",
    is_flag=True,
    help="Put it in the place of a database that is there; that one is kept beside it.",
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
