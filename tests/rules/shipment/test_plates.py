"""Positions of plates, boxes and loose vials."""

from __future__ import annotations

import pytest

from geneticlog.rules.shipment.plates import (
    BY_COLUMN,
    BY_ROW,
    CONTAINERS,
    ORDERS,
    PositionError,
    next_positions,
    parse_position,
    place,
    positions,
    sort_key,
)


@pytest.mark.parametrize(
    ("container", "order", "index", "position"),
    [
        ("plate96", BY_COLUMN, 0, "A01"),
        ("plate96", BY_COLUMN, 1, "B01"),
        ("plate96", BY_COLUMN, 8, "A02"),
        ("plate96", BY_ROW, 1, "A02"),
        ("plate96", BY_ROW, 12, "B01"),
        ("plate96", BY_ROW, 95, "H12"),
        ("box9x9", BY_ROW, 80, "I09"),
        ("box9x9", BY_COLUMN, 9, "A02"),
        ("box10x10", BY_COLUMN, 99, "J10"),
        ("box10x10", BY_ROW, 10, "B01"),
        ("box10x10", BY_COLUMN, 10, "A02"),
        ("loose", BY_COLUMN, 500, "501"),
    ],
)
def test_a_vial_has_its_position(container: str, order: str, index: int, position: str) -> None:
    assert place(container, index, order) == position


@pytest.mark.parametrize(
    ("container", "index"),
    [("plate96", 96), ("box9x9", 81), ("box10x10", 100), ("plate96", -1), ("loose", -1)],
)
def test_a_number_past_the_last_position_is_refused(container: str, index: int) -> None:
    with pytest.raises(PositionError, match=f"there is no number {index + 1}"):
        place(container, index)


@pytest.mark.parametrize("name", ["a1", "A1", "A01", " a01 "])
def test_a_position_is_read_as_people_write_it(name: str) -> None:
    assert parse_position("plate96", name) == "A01"


@pytest.mark.parametrize(
    ("container", "name"),
    [
        *(("plate96", name) for name in ("I01", "A13", "A00", "1A", "")),
        ("box9x9", "A10"),
        ("loose", "A01"),
        ("loose", "0"),
    ],
)
def test_a_position_that_is_not_there_is_refused(container: str, name: str) -> None:
    with pytest.raises(PositionError):
        parse_position(container, name)


@pytest.mark.parametrize("container", [name for name, held in CONTAINERS.items() if held.capacity])
@pytest.mark.parametrize("order", ORDERS)
def test_every_position_is_used_once_before_the_next_container_begins(container: str, order: str) -> None:
    capacity = CONTAINERS[container].capacity or 0
    run = positions(container, 2 * capacity - 3, order, kept_free=["A01", "B2"])
    first = [name for number, name in run if number == 1]
    assert len(first) == len(set(first)) == capacity - 2
    assert not {"A01", "B02"} & {name for _, name in run}
    assert run == sorted(run, key=lambda at: sort_key(container, *at, order))


def test_more_vials_go_where_there_is_room() -> None:
    taken = positions("plate96", 3)
    assert next_positions("plate96", 2, [*taken, (1, "E01")]) == [(1, "D01"), (1, "F01")]
    assert next_positions("loose", 2, [(1, "1"), (1, "3")], kept_free=["2"]) == [(1, "4"), (1, "5")]


def test_a_container_kept_free_altogether_takes_nothing() -> None:
    everything = [place("plate96", i) for i in range(96)]
    with pytest.raises(PositionError, match="kept free"):
        positions("plate96", 1, kept_free=everything)
