"""How far a kind of fish that neither sample met could move a difference: the room that the class intervals leave."""

from __future__ import annotations

import pytest

from geneticlog.rules.intervals import mean_proportion
from geneticlog.rules.statistics.contrast import Side
from geneticlog.rules.statistics.missed_kind import missed_kind, missed_kinds
from geneticlog.rules.statistics.sums import sums_of

LOW, MIDDLE, HIGH = [0.30, 0.31, 0.29] * 4, [0.50, 0.49, 0.51] * 5, [0.60, 0.61, 0.59] * 6


def side(groups: dict[str, list[float]], weights: dict[str, float]) -> Side:
    return Side({name: sums_of(q, 38) for name, q in groups.items()}, weights)


def limits(groups: dict[str, list[float]], weights: dict[str, float]) -> tuple[float, float]:
    each = {name: mean_proportion(groups[name], [38] * len(groups[name])) for name in weights}
    return (
        sum(weights[name] * (each[name].low or 0.0) for name in weights),
        sum(weights[name] * (each[name].high or 0.0) for name in weights),
    )


def test_the_room_between_two_groups_is_that_of_their_weighted_class_limits() -> None:
    groups = {"a": LOW, "b": MIDDLE, "c": HIGH}
    first, second = {"a": 0.6, "b": 0.4}, {"b": 0.3, "c": 0.7}
    missed = missed_kind(side(groups, first), side(groups, second))
    (low_1, high_1), (low_2, high_2) = limits(groups, first), limits(groups, second)
    assert missed is not None
    assert high_2 - low_1 > high_1 - low_2  # the second lies higher
    by_a_kind = missed.share * max(0.5, 1 - 0.3) if missed.of_first else missed.share * max(0.6, 1 - 0.5)
    assert missed.moves == pytest.approx(min(by_a_kind, high_2 - low_1))
    # a class without weight is of no account, and many at once are each as they are alone
    with_more = side({**groups, "d": [0.0] * 3}, {**first, "d": 0.0})
    assert missed_kinds([(with_more, side(groups, second)), (side(groups, second), with_more)]) == [
        missed,
        missed_kind(side(groups, second), side(groups, first)),
    ]


def test_the_side_that_hides_a_kind_farther_from_its_fish_is_named() -> None:
    few, many = side({"a": LOW[:6]}, {"a": 1.0}), side({"a": LOW * 5}, {"a": 1.0})
    for first, second, of_first in ((few, many, True), (many, few, False)):
        missed = missed_kind(first, second)
        assert missed is not None
        assert missed.of_first is of_first
        assert missed.share == pytest.approx(1 - 0.05 ** (1 / 6))


def test_without_fish_on_a_side_nothing_is_said() -> None:
    assert missed_kind(side({"a": LOW}, {"a": 1.0}), Side({}, {})) is None
    assert missed_kinds([]) == []
