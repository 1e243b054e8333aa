"""``geneticlog vial lost|broken|found``: what became of a filled vial before it left for a lab."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_wrapped
from geneticlog.faces.app.groups import DeskGroup

if TYPE_CHECKING:
    from geneticlog.work.shipment.gone_vials import Gone, How


@click.group(
    cls=DeskGroup,
    elsewhere={
        "show": "history VIAL",
        "list": "survey show SURVEY --fish",
        "correct": "correct fish … --vial CODE",
        "void": "label void",
    },
)
def vial() -> None:
    """Record a filled vial as lost, broken or found again."""


why_option = click.option("--why", required=True, help="What happened, for the record.")


@vial.command(cls=ShowCommand)
@click.argument("vial")
@why_option
@click.pass_obj
def lost(desk: Desk, vial: str, why: str) -> None:
    """Record that VIAL was filled and is lost; its fish no longer counts as swabbed.

    A packed vial is taken out of its shipment.

    \b
    geneticlog vial lost "BG 4F7 Q2K R" --why "fell overboard"
    """
    _record(desk, vial, "lost", why)


@vial.command(cls=ShowCommand)
@click.argument("vial")
@why_option
@click.pass_obj
def broken(desk: Desk, vial: str, why: str) -> None:
    """Record that VIAL was filled and is broken; its fish no longer counts as swabbed.

    A packed vial is taken out of its shipment.

    \b
    geneticlog vial broken "BG 4F7 Q2K R" --why "cracked in the cooler"
    """
    _record(desk, vial, "broken", why)


@vial.command(cls=ShowCommand)
@click.argument("vial")
@why_option
@click.pass_obj
def found(desk: Desk, vial: str, why: str) -> None:
    """Record that VIAL, lost or broken before, is here and can be packed again.

    \b
    geneticlog vial found "BG 4F7 Q2K R" --why "it was in the other cooler"
    """
    _record(desk, vial, "found", why)


def _record(desk: Desk, text: str, how: How, why: str) -> None:
    from geneticlog.work.shipment.gone_vials import record_gone
    from geneticlog.work.shipment.packable import look_up

    with desk.writing() as session:
        done = record_gone(session, look_up(session, text), how, stamp=desk.stamp(), why=why)
    desk.show(vars(done), lambda: _say(done, how, why))


def _say(done: Gone, how: str, why: str) -> None:
    from geneticlog.rules.vialcode import printed

    name = printed(done.vial)
    say_wrapped(f"Vial {name} of fish {done.fish} is recorded as {how} ({why.strip()}).")
    if done.taken_out_of:
        say_wrapped(f"It was taken out of shipment {done.taken_out_of}.")
    if how == "found":
        say_wrapped("It counts as a swab again and can be packed.")
    elif done.n_in_hand:
        say_wrapped("The fish still counts as swabbed: its other vial is here.")
    else:
        survey = done.fish.partition("#")[0]
        say_wrapped(
            f"The fish no longer counts as swabbed; see what its size class lacks now: geneticlog coverage {survey}"
        )
