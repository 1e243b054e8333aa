"""One engine for contrasts: estimate, limits and p agree, alone and among thousands, and see what the fish show."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.statistics.contrast import ALL_ALIKE, Side, contrast, contrasts
from geneticlog.rules.statistics.estimates import ONE_FISH_A_CLASS
from geneticlog.rules.statistics.sums import NO_SUMS, Sums, sums_of

LOCI = 38


def side(*classes: list[float], weights: list[float] | None = None, n_catch: int | None = None) -> Side:
    given = weights or [1 / len(classes)] * len(classes)
    return Side(
        {str(at): sums_of(q, LOCI) for at, q in enumerate(classes)},
        {str(at): weight for at, weight in enumerate(given)},
        n_catch,
    )


a_class = st.lists(st.integers(0, 20).map(lambda k: k / 20), min_size=1, max_size=12)
a_side = st.builds(
    lambda classes, n_catch: side(*classes, n_catch=n_catch),
    st.lists(a_class, min_size=1, max_size=10),
    st.none() | st.integers(20, 400),
)


@given(a_side, a_side, st.floats(0.5, 0.999))
@settings(max_examples=60, deadline=None)
def test_p_is_below_a_level_exactly_where_the_interval_of_that_level_leaves_0_out(
    first: Side, second: Side, level: float
) -> None:
    found = contrast(first, second, level)
    told = found.estimate
    if told.low is None:
        assert found.p is None
        assert told.high is None
        return
    assert -1 <= told.low <= told.mean <= told.high <= 1
    assert (found.p < 1 - level) == (told.low > 0 or told.high < 0)
    turned = contrast(second, first, level)
    assert (turned.p, turned.estimate.low) == (found.p, -told.high)


@given(st.lists(st.tuples(a_side, a_side), min_size=1, max_size=6))
@settings(max_examples=15, deadline=None)
def test_a_pair_has_the_same_digits_alone_and_among_others(pairs: list[tuple[Side, Side]]) -> None:
    assert contrasts(pairs) == [contrast(*pair) for pair in pairs]


def test_it_sees_a_third_of_f1_in_a_northern_lake() -> None:
    northern, few = [0.0] * 8, [0.0] * 5 + [0.5] * 3
    found = contrast(side(*[few] * 4), side(*[northern] * 4))
    assert found.p < 0.001
    assert found.estimate.low > 0.05
    none_of_36 = contrast(side([0.5] * 7 + [0.0] * 29), side([0.0] * 36))
    assert none_of_36.p < 0.05


def test_it_holds_its_size_where_one_side_is_two_pure_kinds_and_the_other_a_swarm() -> None:
    """Plain shuffling of fish rejects in .23 of these; so does Welch's test without a guard in one class of ten."""
    random = np.random.default_rng(4)
    pairs = []
    for _ in range(1_000):
        swarm = [list(random.binomial(2 * LOCI, random.beta(5, 15, 15)) / (2 * LOCI)) for _ in range(4)]
        pure = [list(1.0 * (random.random(5) < 0.25)) for _ in range(4)]
        weights = [0.4, 0.3, 0.2, 0.1]
        pairs.append((side(*swarm, weights=weights), side(*pure, weights=weights)))
    assert sum(found.p < 0.05 for found in contrasts(pairs)) < 65


def test_fish_that_are_all_alike_leave_the_guard_and_say_so() -> None:
    found = contrast(side([0.0] * 8, [0.0] * 8), side([0.0] * 8, [0.0] * 8)).estimate
    assert ALL_ALIKE in found.guard
    assert ALL_ALIKE in contrast(side([0.5] * 8), side([0.25] * 8)).estimate.guard
    assert ALL_ALIKE not in contrast(side([0.5] * 8), side([0.25] * 7 + [0.5])).estimate.guard
    assert found.low < 0 < found.high
    assert found.high < 0.1
    assert ALL_ALIKE not in contrast(side([0.0] * 7 + [0.5]), side([0.0] * 8)).estimate.guard


def test_a_class_of_one_fish_borrows_and_a_side_of_single_fish_has_no_limits() -> None:
    borrowed = contrast(side([0.4], [0.1, 0.3, 0.2]), side([0.2, 0.3], [0.1, 0.4]))
    assert borrowed.estimate.low is not None
    alone = contrast(side([0.4], [0.3]), side([0.2, 0.3], [0.1, 0.4]))
    assert (alone.p, alone.estimate.low) == (None, None)
    assert alone.estimate.mean == pytest.approx(0.1)
    assert alone.estimate.guard == f"too few to read; {ONE_FISH_A_CLASS}"
    assert contrast(side([0.4]), side([0.2, 0.3], [0.1, 0.4])).estimate.guard == "one fish"


def test_where_the_range_of_q_is_not_known_all_of_it_may_be_there() -> None:
    q = [0.0] * 6 + [0.2, 0.3]
    known = sums_of(q, LOCI)
    unknown = Sums(known.n, known.sum_q, known.sum_q2, known.n_alleles)
    other = side([0.1] * 4 + [0.2] * 4)
    widths = [
        contrast(Side({"0": held}, {"0": 1.0}), other).estimate.width
        for held in (known, unknown, known + NO_SUMS)
    ]
    assert widths[0] < widths[1]
    assert widths[0] == widths[2]


def test_weights_of_a_catch_add_its_own_chance() -> None:
    q = [[0.1, 0.2, 0.1, 0.2], [0.7, 0.8, 0.7, 0.8]]
    few, many, known = (
        contrast(side(*q, n_catch=n), side(*q, n_catch=n)).estimate.width for n in (20, 200, None)
    )
    assert few > many > known


@pytest.mark.parametrize(
    ("broken", "why"),
    [
        (Side({"a": NO_SUMS}, {"a": 1.0}), "no fish with a result"),
        (Side({"a": sums_of([0.1, 0.2], 38)}, {"a": 0.4}), "sum to 0.4"),
        (Side({"a": sums_of([0.1, 0.2], 38)}, {"a": 1.0}, -3), "fish caught"),
        ("no side", "not a side"),
    ],
)
def test_a_broken_side_is_refused(broken: Side, why: str) -> None:
    with pytest.raises(NumberFault, match=why):
        contrast(broken, side([0.1, 0.2]))


def test_without_a_guard_fish_that_are_all_alike_have_a_p_of_one_or_nothing() -> None:
    """With neither guard it is Welch's test, which knows no spread of fish that are alike."""
    for q, p in (([0.5] * 4, 1.0), ([0.25] * 4, 0.0)):
        found = contrast(side([0.5] * 4), side(q), guard_fish=0, spare_fish=0)
        assert found.p == p
        assert found.estimate.low == found.estimate.high == 0.5 - q[0]
