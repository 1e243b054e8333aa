"""What became of one vial at the lab, as conditions: whether it may still give a result, gave one, or was sent."""

from __future__ import annotations

from sqlalchemy import ColumnElement, or_, select

from geneticlog.rules.genetics.taxa import Pair
from geneticlog.rules.lab_return.decision import Decision
from geneticlog.rules.lab_return.result_states import ResultStanding
from geneticlog.rules.label.vial_states import VialStanding
from geneticlog.rules.shipment.custody import GONE, ShipmentStanding
from geneticlog.store.tables import Finding, Result, Shipment, ShipmentPosition, Vial
from geneticlog.work.result.in_the_numbers import in_force, of_pair, usable


def in_hand() -> ColumnElement[bool]:
    """Return the condition that a vial holds a sample of a fish and is not lost."""
    return Vial.standing == VialStanding.FILLED


def was_sent() -> ColumnElement[bool]:
    """Return the condition that a vial is in a shipment that left."""
    return (
        select(ShipmentPosition.id)
        .join(Shipment, Shipment.id == ShipmentPosition.shipment_id)
        .where(ShipmentPosition.vial_id == Vial.id, Shipment.standing != ShipmentStanding.PACKED)
        .correlate(Vial)
        .exists()
    )


def gave_a_result(pair: Pair | None = None) -> ColumnElement[bool]:
    """Return the condition that a vial has a result that could count, for a pair of taxa where one is given."""
    wanted = [usable()] if pair is None else [usable(), of_pair(pair)]
    return select(Result.id).where(Result.vial_id == Vial.id, *wanted).correlate(Vial).exists()


def may_give_a_result() -> ColumnElement[bool]:
    """Return the condition that a vial has a result, has one waiting for a decision, or may still get one.

    A vial that failed, whose result was rejected, that the lab did not get whole, or whose fish a decision asks to
    sample again, covers nothing any more.
    """
    of_vial = select(Result.id).where(Result.vial_id == Vial.id, in_force()).correlate(Vial)
    waits = of_vial.where(Result.standing == ResultStanding.HELD).exists()
    places = select(ShipmentPosition.id).where(ShipmentPosition.vial_id == Vial.id).correlate(Vial)
    gone = ShipmentPosition.arrival.in_(GONE)
    whole = or_(ShipmentPosition.arrival.is_(None), ~gone)
    reached = ~places.where(gone).exists() | places.where(whole).exists()
    owed = (
        select(Finding.id)
        .where(Finding.vial_id == Vial.id, Finding.decision == Decision.RESAMPLE)
        .correlate(Vial)
    )
    return gave_a_result() | waits | (~of_vial.exists() & reached & ~owed.exists())
