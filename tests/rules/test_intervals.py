"""Intervals: against scipy and statsmodels on random input, at the edges, and on wrong input."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta, norm, t
from statsmodels.stats.proportion import proportion_confint

from geneticlog.errors import GeneticlogError
from geneticlog.rules import intervals
from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.intervals import (
    Estimate,
    difference,
    mean_from_sums,
    mean_from_sums_many,
    mean_proportion,
    share,
    unseen_share,
)

levels = st.sampled_from([0.80, 0.90, 0.95, 0.99])


@given(st.data(), st.integers(1, 400), levels)
@settings(max_examples=60, deadline=None)
@pytest.mark.parametrize(
    ("ours", "theirs"), [("wilson", "wilson"), ("clopper_pearson", "beta"), ("jeffreys", "jeffreys")]
)
def test_limits_of_a_share_equal_those_of_statsmodels(
    ours: str, theirs: str, data: st.DataObject, n: int, level: float
) -> None:
    x = data.draw(st.integers(0, n))
    low, high = getattr(intervals, ours)(x, n, level)
    expected_low, expected_high = proportion_confint(x, n, alpha=1 - level, method=theirs)
    # Our Jeffreys limits are closed at 0 of n and n of n (Brown, Cai & DasGupta 2001); statsmodels leaves them.
    if theirs == "jeffreys":
        expected_low, expected_high = (expected_low if x else 0.0), (expected_high if x < n else 1.0)
    assert (low, high) == pytest.approx((expected_low, expected_high), abs=1e-9)


@given(
    st.lists(st.integers(0, 70), min_size=2, max_size=40),
    st.sampled_from([0.0, 0.02, 0.5]),
    levels,
)
@settings(max_examples=150, deadline=None)
def test_the_interval_of_a_mean_equals_the_formula_written_out_with_scipy_stats(
    florida_alleles: list[int], guard_fish: float, level: float
) -> None:
    q = np.array(florida_alleles) / 70
    n, p = len(q), q.mean()
    with_guard = np.concatenate([q, [0.0, 1.0]])
    weights = np.concatenate([np.ones(n), [guard_fish, guard_fish]])
    m = weights.sum()
    p_m = (weights * with_guard).sum() / m
    v_m = (weights * (with_guard - p_m) ** 2).sum() / (m - 1)
    alike = len(set(florida_alleles)) == 1
    if p in (0, 1) or (alike and guard_fish == 0):
        n_eff = float(n)
    else:
        upper = (1 + level) / 2
        n_eff = p_m * (1 - p_m) * n / v_m * (t.ppf(upper, 70 * n - 1) / t.ppf(upper, n - 1)) ** 2
    low = 0.0 if p == 0 else beta.ppf((1 - level) / 2, n_eff * p, n_eff * (1 - p) + 1)
    high = 1.0 if p == 1 else beta.ppf((1 + level) / 2, n_eff * p + 1, n_eff * (1 - p))
    found = mean_proportion(q, 35, level, guard_fish)
    assert (found.mean, found.low, found.high) == pytest.approx((p, low, high), abs=1e-8)


@given(st.lists(st.integers(0, 70), min_size=2, max_size=40))
@settings(max_examples=60, deadline=None)
def test_the_other_taxon_has_the_mirrored_interval(florida_alleles: list[int]) -> None:
    q = np.array(florida_alleles) / 70
    one, other = mean_proportion(q, 35), mean_proportion(1 - q, 35)
    assert (one.low, one.high) == pytest.approx((1 - other.high, 1 - other.low), abs=1e-7)


def test_many_groups_at_once_give_what_each_gives_alone() -> None:
    random = np.random.default_rng(1)
    groups = [random.binomial(70, random.random(), size=n) / 70 for n in (2, 3, 8, 30, 200)]
    groups += [np.zeros(6), np.ones(4), np.full(5, 0.5), np.array([0.3])]
    many = mean_from_sums_many(
        [len(g) for g in groups],
        [g.sum() for g in groups],
        [(g**2).sum() for g in groups],
        [70 * len(g) for g in groups],
    )
    for at, group in enumerate(groups):
        alone, together = mean_proportion(group, 35), many.one(at)
        assert (alone.low, alone.high, alone.guard) == (together.low, together.high, together.guard)
    assert np.isnan(many.low[-1])


@pytest.mark.parametrize(
    ("q", "guard"),
    [
        ([0.4], "one fish"),
        ([0.4, 0.4], "too few to read; wide"),
        ([0.4, 0.41, 0.4, 0.39], "too few to read"),
        ([0.0] * 4, "too few to read; wide"),
        ([0.0] * 8, "wide"),  # 0 to .37: nobody knows much about a lake from eight fish that are alike
        ([0.0] * 30, ""),
        ([0.0, 1.0] * 10, "wide"),
        ([0.3, 0.31, 0.28, 0.33, 0.29, 0.3], ""),
    ],
)
def test_the_guard_says_how_far_a_mean_carries(q: list[float], guard: str) -> None:
    assert mean_proportion(q, 35).guard == guard


def test_one_fish_has_a_mean_and_no_interval() -> None:
    found = mean_proportion([0.4], 35)
    assert (found.mean, found.low, found.high, found.n) == (0.4, None, None, 1)


def test_no_fish_in_a_group_is_a_value_with_a_guard() -> None:
    found = mean_from_sums(0, 0.0, 0.0, 0)
    assert (found.mean, found.low, found.high, found.n, found.guard) == (None, None, None, 0, "no fish")
    assert share(0, 0).guard == "no fish"
    assert found.unseen is None


@pytest.mark.parametrize("q", [[0.1] * 7, [1 / 3] * 1000, [0.7] * 12, [0.123456] * 99])
def test_fish_that_are_all_alike_are_known_in_spite_of_rounding_in_the_sums(q: list[float]) -> None:
    found = mean_proportion(q, 35, guard_fish=0)
    assert found.n_effective == len(q)
    assert found.se == 0


def test_a_lab_that_does_not_say_its_loci_gets_the_slightly_wider_interval() -> None:
    q = [0.1, 0.2, 0.4, 0.0, 0.3]
    known, unknown = mean_proportion(q, 20), mean_proportion(q, None)
    assert unknown.low is not None
    assert known.low is not None
    assert unknown.low < known.low
    assert unknown.low == pytest.approx(mean_proportion(q, 10**6).low, abs=1e-6)


@given(st.integers(1, 500))
def test_a_group_of_the_unseen_size_is_missed_one_time_in_twenty(n: int) -> None:
    assert (1 - unseen_share(n)) ** n == pytest.approx(0.05)


def test_the_difference_passes_on_what_is_missing_and_every_guard() -> None:
    one = mean_proportion([0.4], 35)
    eight = mean_proportion([0.0] * 8, 35)
    found = difference(one, eight)
    assert (found.mean, found.low, found.high, found.n) == (0.4, None, None, 9)
    assert found.guard == "one fish; wide"
    assert difference(mean_from_sums(0, 0, 0, 0), eight).mean is None


@pytest.mark.parametrize("low_side", [0.1, 0.25])
def test_the_difference_of_normal_intervals_is_the_normal_interval_of_the_difference(low_side: float) -> None:
    z = norm.ppf(0.975)
    a = Estimate(0.5, 0.5 - z * 0.03, 0.5 + z * 0.03, 20)
    b = Estimate(low_side, low_side - z * 0.04, low_side + z * 0.04, 20)
    found = difference(a, b)
    assert found.low == pytest.approx(0.5 - low_side - z * math.hypot(0.03, 0.04))
    assert found.high == pytest.approx(0.5 - low_side + z * math.hypot(0.03, 0.04))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: mean_proportion([], 35), "q: there is none"),
        (lambda: mean_proportion([0.3, 1.2], 35), "number 2 is 1.2, outside 0 to 1; is it a percentage"),
        (lambda: mean_proportion([0.3, -0.1], 35), "number 2 is -0.1"),
        (lambda: mean_proportion([0.3, float("nan")], 35), "number 2 is nan"),
        (lambda: mean_proportion([0.3, "many"], 35), "not a number"),
        (lambda: mean_proportion([[0.3], [0.2]], 35), "not a table"),
        (lambda: mean_proportion([0.3, 0.2, 0.1], [35, 35]), "2 numbers for 3 fish"),
        (lambda: mean_proportion([0.3, 0.2], [35, 0]), "n_loci, number 2"),
        (lambda: mean_proportion([0.3, 0.2], 35, level=95), "confidence level 95"),
        (lambda: mean_proportion([0.3, 0.2], 35, guard_fish=-1), "guard_fish"),
        (lambda: mean_from_sums(3, 3.5, 3.2, 210), "sum of q 3.5"),
        (lambda: mean_from_sums(3, 1.5, 1.6, 210), "sum of q squared 1.6"),
        (lambda: mean_from_sums(3, 1.5, 0.6, 210), "sum of q squared 0.6"),
        (lambda: mean_from_sums(3, 1.5, 0.9, 4), "4 alleles are fewer than two a fish"),
        (lambda: mean_from_sums(-1, 0, 0, 0), "n -1"),
        (lambda: mean_from_sums_many([3, 3], [1.0], [0.5], [210]), "each group needs all four"),
        (lambda: intervals.wilson(8, 7), "8 is more than the 7 fish"),
        (lambda: intervals.wilson(-1, 7), "-1 is not a whole number"),
        (lambda: intervals.clopper_pearson(2.5, 7), "2.5 is not a whole number"),
        (lambda: unseen_share(-3), "-3"),
        (lambda: difference(share(1, 9, 0.9), share(1, 9)), "level 0.9 cannot be compared with level 0.95"),
    ],
)
def test_wrong_input_is_named(call: object, words: str) -> None:
    with pytest.raises(NumberFault, match=words) as caught:
        call()
    assert isinstance(caught.value, ValueError)
    assert isinstance(caught.value, GeneticlogError)
