"""Who has a vial, and what may happen to it next."""

from __future__ import annotations

import pytest

from geneticlog.rules.shipment.custody import (
    MOVES,
    SHIPMENT_MOVES,
    Custody,
    CustodyError,
    ShipmentStanding,
    ShipmentState,
    custody_of,
    move,
    move_shipment,
    shipment_state,
)


@pytest.mark.parametrize(
    ("facts", "custody"),
    [
        ({"standing": "printed"}, Custody.PRINTED),
        ({"standing": "filled"}, Custody.STORED),
        ({"standing": "blank"}, Custody.STORED),
        ({"standing": "filled", "shipment": "packed"}, Custody.PACKED),
        ({"standing": "filled", "shipment": "sent"}, Custody.SENT),
        ({"standing": "filled", "shipment": "arrived", "arrival": "ok"}, Custody.RECEIVED),
        ({"standing": "filled", "shipment": "arrived", "arrival": "leaked"}, Custody.DAMAGED),
        ({"standing": "filled", "shipment": "arrived", "arrival": "missing"}, Custody.MISSING),
        ({"standing": "filled", "shipment": "arrived", "arrival": "ok", "outcome": "failed"}, Custody.FAILED),
        ({"standing": "filled", "shipment": "sent", "outcome": "typed"}, Custody.RETURNED),
        ({"standing": "lost"}, Custody.LOST),
        ({"standing": "broken"}, Custody.BROKEN),
        ({"standing": "void"}, Custody.VOID),
    ],
)
def test_custody_follows_from_what_is_recorded(facts: dict[str, str], custody: Custody) -> None:
    assert custody_of(**facts) is custody  # type: ignore[arg-type]


def test_a_void_vial_stays_void() -> None:
    assert not MOVES[Custody.VOID]
    with pytest.raises(CustodyError, match="is void, so it cannot be packed"):
        move("BG000001J", Custody.VOID, Custody.PACKED)


def test_every_state_can_be_reached() -> None:
    reached = {after for moves in MOVES.values() for after in moves} | {Custody.PRINTED}
    assert reached == set(Custody)


@pytest.mark.parametrize("before", SHIPMENT_MOVES)
@pytest.mark.parametrize("after", SHIPMENT_MOVES)
def test_a_shipment_only_goes_forward(before: str, after: str) -> None:
    order = ["packed", "sent", "arrived", "closed"]
    if after in SHIPMENT_MOVES[before]:
        assert order.index(after) > order.index(before)
        assert move_shipment("S", before, after) == after
    else:
        with pytest.raises(CustodyError, match=f"is {before} already"):
            move_shipment("S", before, after)


@pytest.mark.parametrize(
    ("standing", "of_returns", "state"),
    [
        (ShipmentStanding.PACKED, (False, False, False), ShipmentState.NOT_SENT),
        (ShipmentStanding.CLOSED, (True, False, False), ShipmentState.CLOSED),
        (ShipmentStanding.SENT, (False, False, True), ShipmentState.SENT),
        (ShipmentStanding.ARRIVED, (False, False, True), ShipmentState.ARRIVED),
        (ShipmentStanding.SENT, (True, True, True), ShipmentState.RETURNED),
        (ShipmentStanding.ARRIVED, (True, True, False), ShipmentState.OPEN),
        (ShipmentStanding.ARRIVED, (True, False, True), ShipmentState.PARTLY),
        (ShipmentStanding.SENT, (True, False, False), ShipmentState.PARTLY_OPEN),
    ],
)
def test_how_far_a_shipment_has_come(
    standing: ShipmentStanding, of_returns: tuple[bool, bool, bool], state: ShipmentState
) -> None:
    returned, complete, reconciled = of_returns
    assert shipment_state(standing, returned=returned, complete=complete, reconciled=reconciled) is state
