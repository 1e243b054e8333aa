"""``geneticlog correct``: change what is stored, with the old value, who, when and why kept."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from geneticlog.errors import Refused
from geneticlog.faces.app.desk import Desk, ShowCommand
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.options import ISO_DATE, MOMENT, ORDERS, instant
from geneticlog.faces.commands import correct_result
from geneticlog.faces.commands.correct_result import say_changes
from geneticlog.rules.sentences import n_of

if TYPE_CHECKING:
    from geneticlog.work.events import Corrected

WHY = click.option("--why", required=True, metavar="TEXT", help="The reason, for the history.")


@click.group(cls=DeskGroup)
def correct() -> None:
    """Correct a fish, a survey, a lake, a stocking, a shipment or a result; the old value stays in the history."""


correct.add_command(correct_result.result)


@correct.command(cls=ShowCommand)
@click.argument("survey")
@click.argument("number", type=int)
@click.option("--length", metavar="TEXT", help='As in "16 1/2 in".')
@click.option("--weight", metavar="TEXT", help='As in "2 lb 5 oz".')
@click.option("--species", metavar="NAME")
@click.option(
    "--count", "n_fish", type=click.IntRange(1, 1000), metavar="N", help="Number of fish in a tally."
)
@click.option("--fate", type=click.Choice(["released", "kept", "died"]))
@click.option("--site", metavar="TEXT")
@click.option("--remarks", metavar="TEXT")
@click.option("--tissue", type=click.Choice(["mouth_swab", "fin_clip"]))
@click.option("--vial", "add_vial", metavar="CODE", help="The correct vial; it replaces the fish's only one.")
@click.option("--take-vial", metavar="CODE", help="Remove this vial from the fish; it is free again.")
@click.option(
    "--clear", multiple=True, type=click.Choice(["length", "weight", "fate", "site", "remarks"]),
    help="Clear this field; may be repeated.",
)  # fmt: skip
@click.option("--remove", is_flag=True, help="Remove the fish from the log.")
@click.option(
    "--yes", "sure", is_flag=True, help="Accept doubtful values without asking; each becomes a finding."
)
@WHY
@click.pass_obj
def fish(
    desk: Desk,
    /,
    survey: str,
    number: int,
    why: str,
    sure: bool,
    remove: bool,
    clear: tuple[str, ...],
    take_vial: str | None,
    add_vial: str | None,
    tissue: str | None,
    length: str | None,
    weight: str | None,
    species: str | None,
    **texts: Any,
) -> None:
    """Correct fish NUMBER of SURVEY."""
    from geneticlog.rules.lengths import parse_length, parse_weight
    from geneticlog.rules.species import species_key
    from geneticlog.work.boat.correct import FishChange, VialChange, correct_fish
    from geneticlog.work.boat.fish_doubts import FishDoubted
    from geneticlog.work.boat.undo import undo_fish
    from geneticlog.work.events import find_survey

    changes: dict[str, Any] = {name: value for name, value in texts.items() if value is not None}
    given = [*changes, *clear, length, weight, species, take_vial, add_vial, tissue]
    if remove and any(one is not None for one in given):
        raise click.UsageError("--remove takes the fish out of the log; give it alone")
    if not remove and all(one is None for one in given):
        raise click.UsageError("say what to correct, as in --length '16 1/2 in'")
    try:
        with desk.writing() as session:
            outing = find_survey(session, survey)
            if remove:
                was = undo_fish(session, outing, number, stamp=desk.stamp(), why=why)
            else:
                if length is not None:
                    changes["length"] = parse_length(length, outing.length_unit)
                if weight is not None:
                    changes["weight"] = parse_weight(weight, outing.weight_unit)
                if species is not None:
                    changes["species"] = species_key(species)
                changes |= dict.fromkeys(clear)
                corrected = correct_fish(
                    session, outing, number, FishChange(changes, VialChange(add_vial, take_vial, tissue)),
                    stamp=desk.stamp(), why=why, sure=sure,
                )  # fmt: skip
            code = outing.code
    except FishDoubted as doubt:
        raise Refused(f"{doubt}; if that is right, confirm it with --yes") from None
    if remove:
        document = {"subject": f"{code}#{number}", "removed": True, "changes": {}}
        desk.show(
            document, lambda: click.echo(f"Taken out of survey {code}: {was.words}. Its history stays.")
        )
    else:
        _show(desk, corrected)


@correct.command(cls=ShowCommand)
@click.argument("code")
@click.option("--surveyed-on", type=ISO_DATE)
@click.option("--gear", metavar="NAME")
@click.option("--effort-minutes", type=float, metavar="N")
@click.option("--crew", metavar="TEXT")
@click.option("--order", "order_of_work", type=click.Choice(ORDERS), help="How the crew works.")
@click.option("--permit", metavar="TEXT")
@click.option("--permit-from", type=ISO_DATE)
@click.option("--permit-to", type=ISO_DATE)
@click.option("--protocol", metavar="TEXT")
@click.option("--remarks", metavar="TEXT")
@click.option(
    "--clear", multiple=True, help="Clear this field; may be repeated.",
    type=click.Choice(["effort_minutes", "crew", "permit", "permit_from", "permit_to", "protocol", "remarks"]),
)  # fmt: skip
@WHY
@click.pass_obj
def survey(desk: Desk, /, code: str, why: str, clear: tuple[str, ...], **given: Any) -> None:
    """Correct what is stored of survey CODE; its units and size classes stay."""
    from geneticlog.work.boat.correct import correct_survey
    from geneticlog.work.events import find_survey

    changes = _given(given, clear)
    with desk.writing() as session:
        corrected = correct_survey(session, find_survey(session, code), changes, stamp=desk.stamp(), why=why)
    _show(desk, corrected)


@correct.command(cls=ShowCommand)
@click.argument("code")
@click.option("--name", metavar="TEXT")
@click.option("--owner", metavar="TEXT")
@click.option("--county", metavar="TEXT")
@click.option("--state", "state_province", metavar="TEXT")
@click.option("--country", "country_code", metavar="XX")
@click.option("--area-ha", type=float, metavar="N")
@click.option("--latitude", type=float, metavar="DEGREES")
@click.option("--longitude", type=float, metavar="DEGREES")
@click.option("--position-uncertainty-m", type=float, metavar="N")
@click.option("--remarks", metavar="TEXT")
@click.option(
    "--clear", multiple=True, help="Clear this field; may be repeated.",
    type=click.Choice([
        "owner", "county", "state_province", "country_code", "area_ha", "latitude", "longitude",
        "position_uncertainty_m", "remarks",
    ]),
)  # fmt: skip
@WHY
@click.pass_obj
def lake(desk: Desk, /, code: str, why: str, clear: tuple[str, ...], **given: Any) -> None:
    """Correct what is stored of lake CODE."""
    from geneticlog.work.boat.correct import correct_lake

    changes = _given(given, clear)
    with desk.writing() as session:
        corrected = correct_lake(session, code, changes, stamp=desk.stamp(), why=why)
    _show(desk, corrected)


@correct.command(cls=ShowCommand)
@click.argument("lake")
@click.argument("stocked_on", type=ISO_DATE)
@click.option("--of", "of_taxon", metavar="KIND", help="Which stocking, where that day has several.")
@click.option("--stocked-on", "new_date", type=ISO_DATE, help="The correct date.")
@click.option("--taxon", metavar="KIND", help="The correct kind of fish.")
@click.option("-n", "n_fish", type=int, metavar="N", help="How many fish.")
@click.option("--size", metavar="TEXT")
@click.option("--source", metavar="TEXT")
@click.option("--permit", metavar="TEXT")
@click.option("--remarks", metavar="TEXT")
@click.option(
    "--clear", multiple=True, help="Clear this field; may be repeated.",
    type=click.Choice(["n_fish", "size", "source", "permit", "remarks"]),
)  # fmt: skip
@click.option("--remove", is_flag=True, help="Remove the stocking: it never took place.")
@click.option("--yes", "sure", is_flag=True, help="Accept an unknown word for the kind of fish.")
@WHY
@click.pass_obj
def stocking(
    desk: Desk,
    /,
    lake: str,
    stocked_on: date,
    of_taxon: str | None,
    new_date: date | None,
    clear: tuple[str, ...],
    remove: bool,
    sure: bool,
    why: str,
    **given: Any,
) -> None:
    """Correct the stocking of LAKE that was entered for the date STOCKED_ON."""
    from geneticlog.work.catalogue.stockings import correct_stocking, find_stocking, take_back_stocking
    from geneticlog.work.events import find_lake

    given["stocked_on"] = new_date
    if remove and (clear or any(value is not None for value in given.values())):
        raise click.UsageError("--remove takes the stocking out; give it alone")
    changes = {} if remove else _given(given, clear)
    with desk.writing() as session:
        place = find_lake(session, lake)
        entered = find_stocking(session, place, stocked_on, of_taxon)
        if remove:
            subject = take_back_stocking(session, place, entered, stamp=desk.stamp(), why=why)
        else:
            corrected = correct_stocking(
                session, place, entered, changes, stamp=desk.stamp(), why=why, sure=sure
            )
    if remove:
        document = {"subject": subject, "removed": True, "changes": {}}
        desk.show(document, lambda: click.echo(f"Taken out: {subject}. Its history stays."))
    else:
        _show(desk, corrected)


@correct.command(cls=ShowCommand)
@click.argument("code")
@click.option("--medium", metavar="TEXT", help="Medium of vials that have none of their own: ethanol, dry.")
@click.option("--fill-ml", type=float, metavar="N", help="mL of liquid in one vial.")
@click.option("--seal", metavar="TEXT", help="Number of the custody seal.")
@click.option(
    "--packages",
    "n_packages",
    type=click.IntRange(1, 999),
    help="Number of packages, over which vials and ethanol are split evenly (default: 1).",
)
@click.option("--carrier", metavar="TEXT")
@click.option("--tracking", metavar="TEXT")
@click.option("--sent-at", type=MOMENT, metavar="DATE [TIME]", help="When it left, local time.")
@click.option("--arrived-at", type=MOMENT, metavar="DATE [TIME]", help="When it arrived, local time.")
@click.option("--lab", metavar="CODE", help="The lab it goes to.")
@click.option("--panel", metavar="CODE", help="The panel of loci asked for.")
@click.option("--remarks", metavar="TEXT")
@click.option(
    "--clear", multiple=True, help="Clear this field; may be repeated.",
    type=click.Choice(["fill_ml", "seal", "n_packages", "carrier", "tracking", "remarks"]),
)  # fmt: skip
@WHY
@click.pass_obj
def shipment(desk: Desk, /, code: str, why: str, clear: tuple[str, ...], **given: Any) -> None:
    """Correct what is stored of shipment CODE; which vials it holds stays.

    Vials that say what they are kept in keep their own word.
    """
    from geneticlog.work.catalogue.labs import find_panel
    from geneticlog.work.events import find_lab
    from geneticlog.work.shipment.correct_shipment import correct_shipment

    changes = _given(given, clear)
    for name in ("sent_at", "arrived_at"):
        if name in changes:
            changes[name] = instant(changes[name])
    with desk.writing() as session:
        if "lab" in changes:
            changes["lab"] = find_lab(session, changes["lab"])
        if "panel" in changes:
            changes["panel"] = find_panel(session, changes["panel"])
        corrected, n_said = correct_shipment(session, code, changes, stamp=desk.stamp(), why=why)
    _show(desk, corrected)
    if n_said:
        vials = n_of(n_said, "vial that did not say it", "vials that did not say it")
        desk.note(f"Written on {vials}.")


def _given(given: dict[str, Any], clear: tuple[str, ...]) -> dict[str, Any]:
    changes = {name: value for name, value in given.items() if value is not None} | dict.fromkeys(clear)
    if not changes:
        raise click.UsageError("say what to correct")
    return changes


def _show(desk: Desk, corrected: Corrected) -> None:
    def say() -> None:
        if not corrected.changes:
            click.echo(f"{corrected.subject}: already so; nothing changed.")
            return
        click.echo(f"Corrected {corrected.subject}:")
        say_changes(corrected.changes)
        if corrected.words:
            click.echo(f"Now {corrected.words}.")

    document = {
        "subject": corrected.subject,
        "removed": False,
        "changes": {name: {"old": old, "new": new} for name, (old, new) in corrected.changes.items()},
    }
    desk.show(document, say)
