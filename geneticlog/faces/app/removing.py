"""The command ``remove`` of a group: it takes back what was entered by mistake and is not needed yet."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from geneticlog.faces.app.desk import Desk, ShowCommand


def remove_command(kind: str, while_it_has_no: str) -> click.Command:
    """Return ``geneticlog KIND remove CODE --why TEXT``.

    kind: lake, survey, lab, panel or office. while_it_has_no: what keeps it in the database, for the help.
    """

    @click.command(
        "remove",
        cls=ShowCommand,
        help=f"Remove {kind} CODE, entered by mistake, while it has no {while_it_has_no}.\n\n"
        "That it was entered and removed, by whom and why, stays in the history.",
    )
    @click.argument("code")
    @click.option("--why", required=True, metavar="TEXT", help="The reason, for the history.")
    @click.pass_obj
    def remove(desk: Desk, code: str, why: str) -> None:
        from geneticlog.work import events
        from geneticlog.work.catalogue import labs, office
        from geneticlog.work.catalogue import remove as verbs

        ways: dict[str, tuple[Callable[..., Any], Callable[..., None]]] = {
            "lake": (events.find_lake, verbs.remove_lake),
            "survey": (events.find_survey, verbs.remove_survey),
            "lab": (events.find_lab, verbs.remove_lab),
            "panel": (labs.find_panel, verbs.remove_panel),
            "office": (office.find_office, verbs.remove_office),
        }
        find, take_out = ways[kind]
        with desk.writing() as session:
            entered = find(session, code)
            removed = entered.prefix if kind == "office" else entered.code
            take_out(session, entered, stamp=desk.stamp(), why=why)
        document = {kind: removed, "removed": True}
        if kind == "survey":
            document["withdrawn"] = True  # its word before; scripts may look for it
        desk.show(document, lambda: click.echo(f"Removed {kind} {removed}; its history stays."))

    return remove
