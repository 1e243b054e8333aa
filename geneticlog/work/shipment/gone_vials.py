"""A filled vial that is lost, broken or found again on this side: before it leaves for a lab."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.label.vial_states import VialStanding
from geneticlog.rules.shipment.custody import NOT_IN_HAND
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Result, Shipment, ShipmentPosition, Vial
from geneticlog.work.events import fish_name, record
from geneticlog.work.result.vial_outcome import has_left

How = Literal["lost", "broken", "found"]
MOST_IN_HAND = 2  # vials of one fish: a sample and a blind duplicate


@dataclass(frozen=True)
class Gone:
    """What became of a vial, and what that changed: the fish it is from, the shipment it was taken out of, and how
    many other vials of the fish are in hand.
    """

    vial: str
    standing: VialStanding
    fish: str
    taken_out_of: str | None
    n_in_hand: int


def record_gone(session: Session, vial: Vial, how: How, *, stamp: Stamp, why: str) -> Gone:
    """Record that a filled vial is lost or broken, or found again; the fish then counts as its other vials say.

    A vial that is packed is taken out of its shipment, whose list then says so. Raises Refused without a reason, for a
    vial that is not filled, that left for a lab or has a result, that is lost or broken already, and for one found that
    was not gone or whose fish has two other vials by now.
    """
    if not why.strip():
        raise Refused("say what happened, so that it can be understood later: --why TEXT")
    name, before = printed(vial.code), vial.standing
    if how == "found":
        if before not in NOT_IN_HAND:
            raise Refused(f"vial {name} is not recorded as lost or broken, so it cannot be found")
        if _n_others(vial) >= MOST_IN_HAND:
            raise Refused(
                f"the fish of vial {name} has {MOST_IN_HAND} other vials by now; leave this one as {before}"
            )
    else:
        _refuse_what_cannot_go(session, vial, how)
    after = VialStanding.FILLED if how == "found" else VialStanding(how)
    box = None if how == "found" else _take_out(session, vial, stamp=stamp, why=f"{how}: {why.strip()}")
    old = {"standing": before, "gone_why": vial.gone_why}
    vial.standing, vial.gone_why = after, None if how == "found" else why.strip()
    new = {"standing": after, "gone_why": vial.gone_why}
    record(session, how, "vial", vial.code, stamp=stamp, old=old, new=new, why=why.strip())
    session.flush()
    assert vial.fish is not None
    return Gone(vial.code, after, fish_name(vial.fish.survey.code, vial.fish.number), box, _n_others(vial))


def _n_others(vial: Vial) -> int:
    assert vial.fish is not None
    return sum(one is not vial and one.standing not in NOT_IN_HAND for one in vial.fish.vials)


def _refuse_what_cannot_go(session: Session, vial: Vial, how: str) -> None:
    name = printed(vial.code)
    if vial.standing == VialStanding.PRINTED:
        raise Refused(
            f"vial {name} is not filled; make its label void with: geneticlog label void {name} --why TEXT"
        )
    if vial.standing == VialStanding.VOID:
        raise Refused(f"vial {name} is void ({vial.void_why}), so nothing was in it")
    if vial.standing == VialStanding.BLANK:
        raise Refused(f"vial {name} is a blank, without a fish; take it out of its shipment instead")
    if vial.standing == how:
        raise Refused(f"vial {name} is recorded as {how} already ({vial.gone_why or 'no reason kept'})")
    left = session.scalar(
        select(Shipment.code)
        .join(ShipmentPosition, ShipmentPosition.shipment_id == Shipment.id)
        .where(ShipmentPosition.vial_id == vial.id, has_left())
    )
    if left is not None:
        way = "broken" if how == "broken" else "missing"
        raise Refused(
            f"vial {name} left in shipment {left}; say how it arrived with: geneticlog shipment arrive {left}"
            f" --{way} {name}"
        )
    if session.scalar(select(Result.id).where(Result.vial_id == vial.id).limit(1)) is not None:
        raise Refused(f"vial {name} has a result, so the sample is used; see: geneticlog history {name}")


def _take_out(session: Session, vial: Vial, *, stamp: Stamp, why: str) -> str | None:
    """Take a vial out of the shipment it is packed in; return the shipment's code, None where it is in none."""
    seat = session.scalar(select(ShipmentPosition).where(ShipmentPosition.vial_id == vial.id))
    if seat is None:
        return None
    shipment = seat.shipment
    out = {vial.code: seat.position}
    session.delete(seat)
    session.flush()
    session.refresh(shipment, ["positions"])
    record(session, "unpacked", "shipment", shipment.code, stamp=stamp, old={"vials": out}, why=why)
    return shipment.code
