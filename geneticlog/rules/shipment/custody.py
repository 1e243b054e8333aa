"""Who has a vial, and what may happen to it next.

Custody means held, in view, locked up after being held, or under a seal, with a written trace of possession
from collection on (US EPA Region V 1978, Manual of Custody and Non-Custody Sample Handling Procedures, 2nd
ed., 905R78115). The steps below are this project's own.
"""

from __future__ import annotations

from enum import StrEnum

from geneticlog.errors import Refused
from geneticlog.rules.label.vial_states import VialStanding
from geneticlog.rules.result.result_states import Outcome


class CustodyError(Refused):
    """A vial or shipment cannot make this move."""


class ShipmentStanding(StrEnum):
    """How far a shipment has come. The words are those that are stored."""

    PACKED = "packed"
    SENT = "sent"
    ARRIVED = "arrived"
    CLOSED = "closed"  # nothing more is expected of it


class ShipmentState(StrEnum):
    """How far a shipment and its return have come; the text is how it is said to a person, on every face."""

    NOT_SENT = "packed, not sent"
    SENT = "sent"
    ARRIVED = "arrived at the lab"
    PARTLY = "partly returned"
    PARTLY_OPEN = "partly returned, not reconciled"
    OPEN = "returned, not reconciled"
    RETURNED = "returned"
    CLOSED = "closed"


class Arrival(StrEnum):
    """How a vial arrived at the lab. The words are those that are stored."""

    OK = "ok"
    MISSING = "missing"
    BROKEN = "broken"
    LEAKED = "leaked"


class Custody(StrEnum):
    """Where a vial is in its life; the text is how it is said to a person."""

    PRINTED = "printed, not filled"
    STORED = "in store"
    PACKED = "packed"
    SENT = "on its way to the lab"
    RECEIVED = "at the lab"
    DAMAGED = "arrived damaged"
    MISSING = "missing on arrival"
    RETURNED = "result returned"
    FAILED = "failed at the lab"
    LOST = "lost"
    BROKEN = "broken"
    VOID = "void"


MOVES: dict[Custody, frozenset[Custody]] = {
    Custody.PRINTED: frozenset({Custody.STORED, Custody.VOID}),
    Custody.STORED: frozenset({Custody.PACKED, Custody.LOST, Custody.BROKEN}),
    Custody.PACKED: frozenset({Custody.SENT, Custody.STORED}),
    Custody.SENT: frozenset({Custody.RECEIVED, Custody.DAMAGED, Custody.MISSING}),
    Custody.RECEIVED: frozenset({Custody.RETURNED, Custody.FAILED}),
    Custody.DAMAGED: frozenset({Custody.RETURNED, Custody.FAILED}),
    Custody.MISSING: frozenset({Custody.RECEIVED}),
    Custody.RETURNED: frozenset({Custody.FAILED}),  # a corrected return
    Custody.FAILED: frozenset({Custody.RETURNED}),
    Custody.LOST: frozenset({Custody.STORED, Custody.BROKEN}),
    Custody.BROKEN: frozenset({Custody.STORED}),
    Custody.VOID: frozenset(),
}

SHIPMENT_MOVES = {
    ShipmentStanding.PACKED: frozenset({ShipmentStanding.SENT}),
    ShipmentStanding.SENT: frozenset({ShipmentStanding.ARRIVED, ShipmentStanding.CLOSED}),
    ShipmentStanding.ARRIVED: frozenset({ShipmentStanding.CLOSED}),
    ShipmentStanding.CLOSED: frozenset(),
}
NOT_IN_HAND = frozenset(
    {VialStanding.LOST, VialStanding.BROKEN}
)  # standings of a vial that was filled and is gone, on this side
AWAY = (ShipmentStanding.SENT, ShipmentStanding.ARRIVED)  # results of such a shipment are expected
GONE = frozenset({Arrival.MISSING, Arrival.BROKEN})  # on arrival: no result is expected of such a vial
ARRIVALS = {
    Arrival.OK: Custody.RECEIVED,
    Arrival.MISSING: Custody.MISSING,
    Arrival.BROKEN: Custody.DAMAGED,
    Arrival.LEAKED: Custody.DAMAGED,
}


def custody_of(
    standing: VialStanding,
    *,
    shipment: ShipmentStanding | None = None,
    arrival: Arrival | None = None,
    outcome: Outcome | None = None,
) -> Custody:
    """Return where a vial is in its life.

    standing
        of the vial: printed, filled, blank, void, lost or broken.
    shipment
        standing of the shipment it is in (packed, sent, arrived, closed); None when it is in none.
    arrival
        how it arrived (ok, missing, broken, leaked); None when nothing was noted.
    outcome
        of its result, typed or failed; None when there is none.
    """
    if standing == VialStanding.VOID:
        return Custody.VOID
    if standing in NOT_IN_HAND:
        return Custody(standing)
    if standing == VialStanding.PRINTED:
        return Custody.PRINTED
    if outcome is not None:
        if standing == VialStanding.BLANK:
            return Custody.RETURNED  # nothing is what is wanted of a blank
        return Custody.FAILED if outcome == Outcome.FAILED else Custody.RETURNED
    if arrival is not None:
        return ARRIVALS[arrival]
    if shipment is None:
        return Custody.STORED
    on_its_way = {ShipmentStanding.PACKED: Custody.PACKED, ShipmentStanding.SENT: Custody.SENT}
    return on_its_way.get(shipment, Custody.RECEIVED)


def shipment_state(
    standing: ShipmentStanding, *, returned: bool, complete: bool, reconciled: bool
) -> ShipmentState:
    """Return how far a shipment has come.

    returned, complete
        whether a return was read, and whether every vial is in one.
    reconciled
        whether no finding of it waits for a decision and the vials that are missing were looked for.
    """
    if standing in (ShipmentStanding.PACKED, ShipmentStanding.CLOSED):
        return ShipmentState.NOT_SENT if standing == ShipmentStanding.PACKED else ShipmentState.CLOSED
    if not returned:
        return ShipmentState.SENT if standing == ShipmentStanding.SENT else ShipmentState.ARRIVED
    if complete:
        return ShipmentState.RETURNED if reconciled else ShipmentState.OPEN
    return ShipmentState.PARTLY if reconciled else ShipmentState.PARTLY_OPEN


def move(code: str, before: Custody, after: Custody) -> Custody:
    """Return the new custody of a vial. Raises CustodyError, with the reason, for a move that is not possible."""
    if after in MOVES[before]:
        return after
    raise CustodyError(f"{code} is {before.value}, so it cannot be {after.value}")


def move_shipment(code: str, before: ShipmentStanding, after: ShipmentStanding) -> ShipmentStanding:
    """Return the new standing of a shipment. Raises CustodyError for a move there is not."""
    if after in SHIPMENT_MOVES[before]:
        return after
    ways = " or ".join(sorted(SHIPMENT_MOVES[before])) or "nothing else"
    raise CustodyError(f"shipment {code} is {before} already; it can become {ways}, not {after}")
