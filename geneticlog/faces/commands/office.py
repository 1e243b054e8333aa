"""``geneticlog office``: whose codes are minted here."""

from __future__ import annotations

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table


@click.group()
def office() -> None:
    """Enter the office whose two letters stand on every vial."""


@office.command("set", cls=ShowCommand)
@click.argument("prefix")
@click.option("--name", help="The office in words.")
@click.option(
    "--station",
    type=click.IntRange(0, 1023),
    help="Which block of codes this database mints from (0 to 1023); every database of an office has its own.",
)
@click.pass_obj
def set_(desk: Desk, prefix: str, name: str | None, station: int | None) -> None:
    """Enter an office by its two letters, or change its name."""
    from geneticlog.rules.vialcode import office_doubt
    from geneticlog.work.catalogue.office import set_office

    with desk.writing() as session:
        entered = set_office(session, prefix, name=name, station=station, now=desk.now(), by=desk.by)
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
            {"office": o.prefix, "name": o.name, "station": o.station, "n_serials_used": o.next_serial - 1}
            for o in session.scalars(select(Office).order_by(Office.prefix))
        ]

    def say() -> None:
        if not offices:
            click.echo("No office is entered yet: geneticlog office set BG --name …")
            return
        say_table(["office", "name", "station", "serials used"], [list(o.values()) for o in offices])

    desk.show({"offices": offices}, say)
