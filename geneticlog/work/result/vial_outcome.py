"""What became of one vial at the lab, as conditions: whether it may still give a result, gave one, or was sent."""

from __future__ import annotations

from sqlalchemy import ColumnElement, and_, or_, select

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.genetics.taxa import Pair
from geneticlog.rules.label.vial_states import VialStanding
from geneticlog.rules.result.result_states import ResultStanding
from geneticlog.rules.shipment.custody import AWAY, GONE, ShipmentStanding
from geneticlog.store.tables import Finding, Result, Shipment, ShipmentPosition, Vial
from geneticlog.work.result.in_the_numbers import in_force, of_pair, usable


def in_hand() -> ColumnElement[bool]:
    """Return the condition that a vial holds a sample of a fish and is not lost."""
    return Vial.standing == VialStanding.FILLED


def has_left() -> ColumnElement[bool]:
    """Return the condition that a shipment left for its lab; needs Shipment."""
    return Shipment.standing != ShipmentStanding.PACKED


def is_expected() -> ColumnElement[bool]:
    """Return the condition that the lab may send a result for a place: its shipment is not closed and the vial did not
    arrive missing or broken; needs Shipment and ShipmentPosition.
    """
    whole = or_(ShipmentPosition.arrival.is_(None), ShipmentPosition.arrival.not_in(GONE))
    return and_(Shipment.standing.in_(AWAY), whole)


def arrived_gone() -> ColumnElement[bool]:
    """Return the condition that the vial of a place arrived missing or broken, of a shipment that is not closed; needs
    Shipment and ShipmentPosition.
    """
    return and_(Shipment.standing.in_(AWAY), ShipmentPosition.arrival.in_(GONE))


def was_sent() -> ColumnElement[bool]:
    """Return the condition that a vial is in a shipment that left."""
    return (
        select(ShipmentPosition.id)
        .join(Shipment, Shipment.id == ShipmentPosition.shipment_id)
        .where(ShipmentPosition.vial_id == Vial.id, has_left())
        .correlate(Vial)
        .exists()
    )


def gave_a_result(pair: Pair | None = None) -> ColumnElement[bool]:
    """Return the condition that a vial has a result that could count, for a pair of taxa where one is given."""
    wanted = [usable()] if pair is None else [usable(), of_pair(pair)]
    return select(Result.id).where(Result.vial_id == Vial.id, *wanted).correlate(Vial).exists()


def has_an_outcome() -> ColumnElement[bool]:
    """Return the condition that a file in force says something of a vial: a value, be it held, or a failure."""
    return select(Result.id).where(Result.vial_id == Vial.id, in_force()).correlate(Vial).exists()


def waits_for_a_decision() -> ColumnElement[bool]:
    """Return the condition that a result of a vial is held until a person decides."""
    is_held = Result.standing == ResultStanding.HELD
    return select(Result.id).where(Result.vial_id == Vial.id, is_held).correlate(Vial).exists()


def may_still_come() -> ColumnElement[bool]:
    """Return the condition that nothing came back of a vial yet and something may: it is not sent, or some place of it
    is expected, and no decision asks to sample its fish again.
    """
    places = (
        select(ShipmentPosition.id)
        .join(Shipment, Shipment.id == ShipmentPosition.shipment_id)
        .where(ShipmentPosition.vial_id == Vial.id)
        .correlate(Vial)
    )
    is_open = or_(~has_left(), is_expected())
    again = (
        select(Finding.id)
        .where(Finding.vial_id == Vial.id, Finding.decision == Decision.RESAMPLE)
        .correlate(Vial)
    )
    reachable = ~places.exists() | places.where(is_open).exists()
    return and_(~has_an_outcome(), reachable, ~again.exists())


def may_give_a_result(pair: Pair | None) -> ColumnElement[bool]:
    """Return the condition that a vial has a result, has one waiting for a decision, or may still get one.

    pair
        the pair of taxa that the numbers are about; None where no panel is of another one.

    A vial that failed, that was typed for another pair of taxa, whose result was rejected, that the lab did not get
    whole, of a shipment that was closed without it, or whose fish a decision asks to sample again, covers nothing any
    more.
    """
    return gave_a_result(pair) | waits_for_a_decision() | may_still_come()
