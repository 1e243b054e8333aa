"""``geneticlog stocking``: what was put into a lake."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.options import ISO_DATE


@click.group(
    cls=DeskGroup,
    other_names={"show": "list"},
    elsewhere={
        "change": "correct stocking",
        "correct": "correct stocking",
        "remove": "correct stocking … --remove",
    },
)
def stocking() -> None:
    """Add and list what was stocked in a lake."""


@stocking.command(cls=ShowCommand)
@click.argument("lake")
@click.argument("stocked_on", type=ISO_DATE)
@click.argument("taxon")
@click.option("-n", "n_fish", type=int, help="How many fish.")
@click.option("--size", help="Their size in words, e.g. '2 in fingerlings'.")
@click.option("--source", help="Where they came from.")
@click.option("--permit", help="The permit they were moved under.")
@click.option("--remarks")
@click.option("--yes", "sure", is_flag=True, help="Accept an unknown word for the kind of fish.")
@click.pass_obj
def add(desk: Desk, /, lake: str, stocked_on: date, taxon: str, **details: Any) -> None:
    """Record a stocking: lake, date, kind of fish (Florida, F1, northern).

    geneticlog correct stocking corrects one, or takes it back.
    """
    from geneticlog.work.catalogue.stockings import add_stocking
    from geneticlog.work.events import find_lake

    with desk.writing() as session:
        where = find_lake(session, lake)
        entered = add_stocking(session, where, stocked_on, taxon, stamp=desk.stamp(), **details)
        how_many = f"{entered.n_fish} " if entered.n_fish else ""
        sentence = f"Lake {where.code}: {how_many}{entered.taxon} stocked on {entered.stocked_on}."
        document = {
            "lake": where.code,
            "stocked_on": entered.stocked_on,
            "taxon": entered.taxon,
            "n_fish": entered.n_fish,
        }
    desk.show(document, lambda: click.echo(sentence))
    desk.note("Moving or stocking live bass is controlled by state law. Check your state's permit rules.")


@stocking.command("list", cls=ShowCommand)
@click.argument("lake", required=False)
@click.pass_obj
def list_(desk: Desk, lake: str | None) -> None:
    """List stockings, of one lake or of all, the latest first."""
    from sqlalchemy import select

    from geneticlog.store.tables import Lake, Stocking
    from geneticlog.work.events import find_lake

    with desk.reading() as session:
        query = select(Stocking, Lake.code).join(Lake, Lake.id == Stocking.lake_id)
        if lake:
            query = query.where(Stocking.lake_id == find_lake(session, lake).id)
        stockings = [
            {
                "lake": code,
                "stocked_on": row.stocked_on,
                "taxon": row.taxon,
                "n_fish": row.n_fish,
                "size": row.size,
                "source": row.source,
            }
            for row, code in session.execute(query.order_by(Stocking.stocked_on.desc(), Stocking.id))
        ]

    def say() -> None:
        if not stockings:
            click.echo("No stocking is recorded. Record one with: geneticlog stocking add LAKE DATE KIND")
            return
        say_table(
            ["lake", "stocked on", "kind", "fish", "size", "source"],
            [list(one.values()) for one in stockings],
            numbers=["fish"],
        )

    desk.show({"stockings": stockings}, say)
