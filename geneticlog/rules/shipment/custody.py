"""Who has a vial, and what may happen to it next.

Custody means held, in view, locked up after being held, or under a seal, with a written trace of possession
from collection on (US EPA Region V 1978, Manual of Custody and Non-Custody Sample Handling Procedures, 2nd
ed., 905R78115). The steps below are this project's own.
"""

from __future__ import annotations

from enum import StrEnum

from geneticlog.errors import Refused


class CustodyError(Refused):
    """A vial or shipment cannot make this move."""


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
    "packed": frozenset({"sent"}),
    "sent": frozenset({"arrived", "closed"}),
    "arrived": frozenset({"closed"}),
    "closed": frozenset(),
}
NOT_IN_HAND = frozenset({"lost", "broken"})  # standings of a vial that was filled and is gone, on this side
GONE = frozenset({"missing", "broken"})  # on arrival: no result is expected of such a vial
ARRIVALS = {
    "ok": Custody.RECEIVED,
    "missing": Custody.MISSING,
    "broken": Custody.DAMAGED,
    "leaked": Custody.DAMAGED,
}


def custody_of(
    standing: str,
    *,
    shipment: str | None = None,
    arrival: str | None = None,
    outcome: str | None = None,
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
    if standing == "void":
        return Custody.VOID
    if standing in NOT_IN_HAND:
        return Custody(standing)
    if standing == "printed":
        return Custody.PRINTED
    if outcome is not None:
        if standing == "blank":
            return Custody.RETURNED  # nothing is what is wanted of a blank
        return Custody.FAILED if outcome == "failed" else Custody.RETURNED
    if arrival is not None:
        return ARRIVALS[arrival]
    if shipment is None:
        return Custody.STORED
    return {"packed": Custody.PACKED, "sent": Custody.SENT}.get(shipment, Custody.RECEIVED)


def move(code: str, before: Custody, after: Custody) -> Custody:
    """Return the new custody of a vial. Raises CustodyError, with what stands in the way, for a move there is not."""
    if after in MOVES[before]:
        return after
    raise CustodyError(f"{code} is {before.value}, so it cannot be {after.value}")


def move_shipment(code: str, before: str, after: str) -> str:
    """Return the new standing of a shipment. Raises CustodyError for a move there is not."""
    if after in SHIPMENT_MOVES[before]:
        return after
    ways = " or ".join(sorted(SHIPMENT_MOVES[before])) or "nothing else"
    raise CustodyError(f"shipment {code} is {before} already; it can become {ways}, not {after}")
