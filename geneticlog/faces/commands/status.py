"""``geneticlog status``: which database, as whom, and what waits."""

from __future__ import annotations

from dataclasses import asdict
from functools import partial
from typing import Any

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_wrapped
from geneticlog.rules.sentences import n_of


@click.command(cls=ShowCommand)
@click.pass_obj
def status(desk: Desk) -> None:
    """Show the database in use, who is at the keyboard, and what waits."""
    from geneticlog import __version__
    from geneticlog.settings import database_setting, setting, settings_file
    from geneticlog.store import address
    from geneticlog.store.engine import database_url
    from geneticlog.work.status import status_of

    named = setting("database")
    source = "--database" if desk.database else named.source if named else "your data folder"
    shown = address.shown(database_url(desk.database or database_setting()))
    stocks, person = setting("stocks"), setting("person")
    with desk.reading() as session:
        from geneticlog.store.journal import head
        from geneticlog.store.migrate import NEWEST

        at_a_glance = status_of(session, now=desk.now())
        last = head(session.connection())
        document: dict[str, Any] = {
            "database": shown,
            "database_from": source,
            "revision": NEWEST,
            "head": str(last) if last else None,
            "version": __version__,
            "person": desk.by,
            "person_from": "--by" if desk.named_by else person.source if person else "your login",
            "stocks_file": stocks.value if stocks else None,
            "settings_file": str(settings_file()),
            "settings_file_exists": settings_file().is_file(),
            **asdict(at_a_glance),
        }

    line = partial(say_wrapped, indent=" " * 11)

    def say() -> None:
        line(f"Database   {shown}  (from {source}), revision {NEWEST}")
        line(f"Journal    {last or 'nothing written yet'}  (prove it: geneticlog database check --head)")
        line(f"Person     {desk.by}  (from {document['person_from']})")
        for office in at_a_glance.offices:
            name = f" ({office.name})" if office.name else ""
            line(f"Office     {office.office}{name}, station {office.station}")
        if not at_a_glance.offices:
            line('Office     none entered; enter one with: geneticlog office add BG --name "…"')
        if stocks:
            line(f"Stocks     {stocks.value}  (from {stocks.source})")
        kept = "" if document["settings_file_exists"] else "  (not there)"
        line(f"Settings   {settings_file()}{kept}")
        line(
            f"Holds      {n_of(at_a_glance.n_lakes, 'lake')}, {at_a_glance.n_surveys}"
            f" survey{'s' * (at_a_glance.n_surveys != 1)}, {at_a_glance.n_fish} fish, {at_a_glance.n_vials_filled}"
            f" filled vial{'s' * (at_a_glance.n_vials_filled != 1)}"
        )
        if not at_a_glance.waiting:
            line("Waiting    nothing")
        for number, one in enumerate(at_a_glance.waiting):
            say_wrapped(
                f"{'Waiting' if not number else '':<11}{one.n} {one.what}: {one.see}", indent=" " * 11
            )

    desk.show(document, say)
