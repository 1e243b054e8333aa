"""How a size class stands, and the order of work of a stream of lines: each branch at its boundary."""

from __future__ import annotations

import pytest

from geneticlog.rules.boat.card import Card
from geneticlog.rules.boat.card_json import card_as_json, card_from_json
from geneticlog.rules.boat.class_standing import ClassStanding, class_standing, covering, short_by
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.plausible import doubts, greatest_length
from geneticlog.rules.boat.stream_order import plain_order
from geneticlog.rules.lengths import measured_length, measured_weight


@pytest.mark.parametrize(
    ("caught", "swabbed", "covering_", "target", "standing", "short"),
    [
        (0, 0, 0, None, ClassStanding.NO_TARGET, None),
        (9, 9, 9, None, ClassStanding.NO_TARGET, None),
        (9, 6, 6, 5, ClassStanding.MORE_THAN_WANTED, 0),
        (9, 5, 5, 5, ClassStanding.FULL, 0),
        (9, 6, 5, 5, ClassStanding.FULL, 0),
        (9, 4, 4, 5, ClassStanding.SHORT, 1),
        (4, 4, 4, 5, ClassStanding.ALL_CAUGHT_ARE_SWABBED, 1),
        (4, 4, 3, 5, ClassStanding.ALL_CAUGHT_ARE_SWABBED, 2),
        (5, 4, 4, 5, ClassStanding.SHORT, 1),
        (0, 0, 0, 5, ClassStanding.NONE_CAUGHT, 5),
        (0, 0, 0, 0, ClassStanding.NONE_WANTED, 0),
        (3, 1, 1, 0, ClassStanding.MORE_THAN_WANTED, 0),
    ],
)
def test_how_a_class_stands(
    caught: int, swabbed: int, covering_: int, target: int | None, standing: ClassStanding, short: int | None
) -> None:
    assert class_standing(caught, swabbed, covering_, target) == standing
    assert short_by(covering_, target) == short
    assert covering(swabbed, swabbed - covering_) == covering_


VIAL, LENGTH, BARE = LogLine(vial="A"), LogLine(length=measured_length(300, "mm")), LogLine(bare=("300",))
BOTH = LogLine(vial="A", length=measured_length(300, "mm"))


@pytest.mark.parametrize(
    ("lines", "order"),
    [
        ([], None),
        ([VIAL], None),
        ([VIAL, LENGTH], "vial"),
        ([LENGTH, VIAL], "length"),
        ([BARE, VIAL, LENGTH, VIAL], "length"),
        ([VIAL, LENGTH, VIAL], None),  # an odd number
        ([VIAL, VIAL, LENGTH, LENGTH], None),
        ([VIAL, LENGTH, BOTH, LENGTH], None),
        ([LogLine(vial="A", bare=("300",)), LENGTH], None),
        ([VIAL, LogLine()], None),  # neither
        ([VIAL, LENGTH, LogLine(verb="undo")], None),
        ([VIAL, LogLine(verb="")], None),
    ],
)
def test_the_plain_order_of_a_stream(lines: list[LogLine], order: str | None) -> None:
    assert plain_order(lines) == order


@pytest.mark.parametrize(
    ("species", "length", "weight", "n", "impossible"),
    [
        # largemouth bass: 15, 60, 690 and 1000 mm
        ("largemouth_bass", 14, None, 1, True),
        ("largemouth_bass", 15, None, 1, False),
        ("largemouth_bass", 59, None, 1, False),
        ("largemouth_bass", 60, None, 0, False),
        ("largemouth_bass", 690, None, 0, False),
        ("largemouth_bass", 691, None, 1, False),
        ("largemouth_bass", 1000, None, 1, False),
        ("largemouth_bass", 1001, None, 1, True),
        ("an unknown fish", 9, None, 1, True),
        ("an unknown fish", 10, None, 1, False),
        ("an unknown fish", 40, None, 0, False),
        ("an unknown fish", 1201, None, 1, True),
        ("an unknown fish", None, 15_000, 0, False),
        ("an unknown fish", None, 15_001, 1, False),
        ("largemouth_bass", 400, 900, 0, False),  # a relative weight of about 100
        ("largemouth_bass", 400, 90, 1, False),
        ("largemouth_bass", 400, 9000, 1, False),
    ],
)
def test_what_is_doubtful_of_a_fish(
    species: str, length: float | None, weight: float | None, n: int, impossible: bool
) -> None:
    found = doubts(
        species,
        None if length is None else measured_length(length, "mm"),
        None if weight is None else measured_weight(weight, "g"),
    )
    assert (len(found), any(one.impossible for one in found)) == (n, impossible)


def test_the_greatest_length_in_each_unit() -> None:
    assert greatest_length("largemouth_bass", "mm") == 1000
    assert greatest_length("largemouth_bass", "cm") == 100
    assert greatest_length("largemouth_bass", "in") == pytest.approx(1000 / 25.4)


def test_a_card_goes_through_json_as_it_is() -> None:
    card = Card("1", (VIAL, BOTH, LogLine(bare=("300",), said_so=frozenset({"b", "a"}))), 2)
    values = card_as_json(card)
    assert card_from_json(values) == card
    assert values["lines"][2]["said_so"] == ["a", "b"]
    assert set(values["lines"][0]) == {"vial"}
