"""Fill a vial: look the code up, say at once why it cannot be used, and put it on its fish."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.label.vial_states import VialRole, VialStanding
from geneticlog.rules.shipment.custody import NOT_IN_HAND
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import VialCodeError, nearest, parse, printed
from geneticlog.settings import local_time
from geneticlog.store.tables import Fish, Office, PrintRun, ShipmentPosition, Survey, Vial
from geneticlog.work.boat.batch import Batch
from geneticlog.work.events import fish_name, record

MOST_CODES_COMPARED = 5000


class VialRefused(Refused):
    """A vial that cannot be used: the code does not check, is not ours, void, lost, a blank or on a fish."""


@dataclass(frozen=True)
class LookedUp:
    """A vial of ours by its code: on which fish it is, or free; and what has to be asked before it is filled."""

    vial: Vial
    fish: Fish | None
    questions: tuple[str, ...]


def look_up_vial(session: Session, survey: Survey, text: str, batch: Batch | None = None) -> LookedUp:
    """Return the vial of a scanned or typed code, for a fish of this survey.

    Raises VialRefused for a code that does not check (the nearest free codes are offered, never assumed), is
    not from this office, was never printed here, or is void, lost or a blank. A vial that is on a fish is
    returned with that fish: whether that is a fault depends on which fish it is.
    """
    try:
        code = parse(text)
    except VialCodeError as fault:
        near = nearest(text, _free_codes(session, survey))
        offer = f" Nearest free labels: {', '.join(printed(one) for one in near)}." if near else ""
        raise VialRefused(f"{fault}{offer}") from None
    vial = batch.vials.get(code) if batch is not None else None
    if vial is None:
        vial = session.scalar(select(Vial).where(Vial.code == code))
    if vial is None:
        offices = list(session.scalars(select(Office.prefix).order_by(Office.prefix)))
        if code[:2] not in offices:
            ours = (
                f"labels here begin with {' or '.join(offices)}"
                if offices
                else "no labels are printed here yet"
            )
            raise VialRefused(f"vial {printed(code)} is not from this office; {ours}")
        raise VialRefused(
            f"vial {printed(code)} checks, but no such label is in this database; "
            "look at the label again, or carry in the survey it was printed for"
        )
    if vial.standing == VialStanding.VOID:
        raise VialRefused(f"vial {printed(code)} is void ({vial.void_why}); take another vial")
    if vial.standing == VialStanding.BLANK:
        raise VialRefused(f"vial {printed(code)} is a blank without a fish; take another vial")
    if vial.standing in NOT_IN_HAND:
        raise VialRefused(
            f"vial {printed(code)} was filled and is recorded as {vial.standing}; take another vial"
        )
    questions: tuple[str, ...] = ()
    run = vial.print_run
    if vial.fish is None and run is not None and run.survey_id is not None and run.survey_id != survey.id:
        other = session.get_one(Survey, run.survey_id)
        questions = (f"vial {printed(code)} was printed for survey {other.code}, not for {survey.code}",)
    return LookedUp(vial, vial.fish, questions)


def on_its_fish(fish: Fish) -> str:
    """Return which fish that is and since when: "on fish 12 of HERON-2026 (16.5 in, logged 2026-05-12)"."""
    length = f"{fish.length:.10g} {fish.length_unit}, " if fish.length is not None else ""
    return (
        f"on fish {fish.number} of survey {fish.survey.code} "
        f"({length}logged {local_time(fish.logged_at)} by {fish.logged_by})"
    )


@dataclass(frozen=True)
class Swab:
    """What a vial is filled with; a mouth swab where nothing else is said, in what the vial held already."""

    tissue: str | None = None
    medium: str | None = None


A_SWAB = Swab()


def fill_vial(
    session: Session,
    fish: Fish,
    vial: Vial,
    swab: Swab = A_SWAB,
    *,
    stamp: Stamp,
    role: VialRole = VialRole.SAMPLE,
) -> None:
    """Put a free vial on a fish. Raises VialRefused where it is on another fish or the fish has two already."""
    if vial.fish_id is not None:
        holder = vial.fish
        where = on_its_fish(holder) if holder is not None else "filled"
        raise VialRefused(f"vial {printed(vial.code)} is already {where}; take another vial")
    if sum(one.standing not in NOT_IN_HAND for one in fish.vials) >= 2:
        raise VialRefused(f"fish {fish.number} has two vials already, and a fish can have at most two")
    vial.fish = fish
    vial.fish_n = fish.n_fish
    vial.standing = VialStanding.FILLED
    vial.role = role
    vial.tissue = swab.tissue or "mouth_swab"
    vial.medium = swab.medium or vial.medium
    vial.filled_at = stamp.now
    vial.filled_by = stamp.by
    record(
        session,
        "filled",
        "vial",
        vial.code,
        stamp=stamp,
        new={"fish": fish_name(fish.survey.code, fish.number), "tissue": vial.tissue, "role": role},
    )


def empty_vial(session: Session, survey: Survey, vial: Vial, *, stamp: Stamp, why: str) -> None:
    """Take a vial off its fish, so that it is free again. Raises VialRefused once it is packed for a lab."""
    packed = session.scalar(select(ShipmentPosition).where(ShipmentPosition.vial_id == vial.id))
    if packed is not None:
        raise VialRefused(
            f"vial {printed(vial.code)} is in shipment {packed.shipment.code}; it cannot leave its fish now"
        )
    fish = vial.fish
    if fish is None:
        raise VialRefused(f"vial {printed(vial.code)} is on no fish")
    old = {"fish": fish_name(survey.code, fish.number), "tissue": vial.tissue, "role": vial.role}
    vial.fish = None
    vial.fish_n = None
    vial.standing = VialStanding.PRINTED
    vial.role = VialRole.SAMPLE
    vial.tissue = None
    vial.filled_at = None
    vial.filled_by = None
    vial.gone_why = None
    session.flush()
    record(session, "emptied", "vial", vial.code, stamp=stamp, old=old, why=why)


def _free_codes(session: Session, survey: Survey) -> list[str]:
    """Codes still free: those printed for this survey, else those printed for none."""
    free = select(Vial.code).join(PrintRun).where(Vial.standing == VialStanding.PRINTED).order_by(Vial.id)
    for condition in (PrintRun.survey_id == survey.id, PrintRun.survey_id.is_(None)):
        codes = list(session.scalars(free.where(condition).limit(MOST_CODES_COMPARED)))
        if codes:
            return codes
    return []
