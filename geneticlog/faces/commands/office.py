"""``geneticlog office``: whose codes are minted here."""

from __future__ import annotations

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.removing import remove_command


@click.group(
    cls=DeskGroup, old_names={"set": "office add, or office change"}, elsewhere={"show": "office list"}
)
def office() -> None:
    """Enter the office whose two letters start every vial code."""


STATION = click.option(
    "--station",
    type=click.IntRange(0, 1023),
    help="Block of codes this database mints from (0 to 1023); every database of an office has its own.",
)


@office.command(cls=ShowCommand)
@click.argument("prefix")
@click.option("--name", help="Name of the office.")
@STATION
@click.pass_obj
def add(desk: Desk, prefix: str, name: str | None, station: int | None) -> None:
    """Enter an office by its two letters."""
    _store(desk, prefix, name, station, known_before=False)


@office.command(cls=ShowCommand)
@click.argument("prefix")
@click.option("--name", help="Name of the office.")
@STATION
@click.pass_obj
def change(desk: Desk, prefix: str, name: str | None, station: int | None) -> None:
    """Change the name of an office, or its station before the first code."""
    _store(desk, prefix, name, station, known_before=True)


@office.command("set", cls=ShowCommand)
@click.argument("prefix")
@click.option("--name", help="Name of the office.")
@STATION
@click.pass_obj
def set_(desk: Desk, prefix: str, name: str | None, station: int | None) -> None:
    """Enter an office by its two letters, or change its name."""
    _store(desk, prefix, name, station, known_before=None)


def _store(
    desk: Desk, prefix: str, name: str | None, station: int | None, *, known_before: bool | None
) -> None:
    """Enter or change an office. there: whether it has to be in the database already; None: either."""
    from geneticlog.errors import NotFound, Refused
    from geneticlog.rules.vialcode import office_doubt
    from geneticlog.work.catalogue.office import offices, set_office

    with desk.writing() as session:
        known = prefix.strip().upper() in offices(session)
        if known_before is False and known:
            raise Refused(
                f"office {prefix.strip().upper()} is entered already; change it with: geneticlog office change"
                f" {prefix.strip().upper()} --name …"
            )
        if known_before and not known:
            raise NotFound(f"there is no office {prefix.strip().upper()}; see: geneticlog office list")
        entered = set_office(session, prefix, name=name, station=station, stamp=desk.stamp())
        document = {"office": entered.prefix, "name": entered.name, "station": entered.station}
        said = f"Office {entered.prefix}{f' ({entered.name})' if entered.name else ''}, station {entered.station}."
        doubt = office_doubt(entered.prefix)
    desk.show(document, lambda: click.echo(said))
    if doubt:
        desk.note(f"Mind: {doubt}")


@office.command("list", cls=ShowCommand)
@click.pass_obj
def list_(desk: Desk) -> None:
    """List the offices in this database."""
    from sqlalchemy import select

    from geneticlog.store.tables import Office

    with desk.reading() as session:
        offices = [
            {
                "office": o.prefix,
                "name": o.name,
                "station": o.station,
                "n_serials_used": o.next_serial - 1,
                "uuid": o.uid,
            }
            for o in session.scalars(select(Office).order_by(Office.prefix))
        ]  # fmt: skip

    def say() -> None:
        if not offices:
            click.echo("No office is entered yet: geneticlog office add BG --name …")
            return
        say_table(["office", "name", "station", "serials used"], [list(o.values())[:4] for o in offices])

    desk.show({"offices": offices}, say)


office.add_command(remove_command("office", "vial codes"))
