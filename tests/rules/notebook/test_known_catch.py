"""Waters whose fish are counted: against every sample that could have been drawn, and at the edges."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import hypergeom

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.intervals import clopper_pearson
from geneticlog.rules.notebook.known_catch import (
    known_totals,
    mean_in_closed_water,
    post_stratified,
)
from geneticlog.rules.statistics.sums import NO_SUMS, Sums, sums_of
from geneticlog.rules.strata import WATER, CatchWeighted, catch_weighted_from_sums

fish = st.integers(0, 70).map(lambda alleles: alleles / 70)
water = st.lists(fish, min_size=4, max_size=6)


@given(water, water)
@settings(max_examples=12, deadline=None)
def test_over_all_samples_the_variance_is_that_of_the_mean(young: list[float], adult: list[float]) -> None:
    totals = {"young": len(young), "adult": len(adult)}
    drawn = [
        known_totals({"young": sums_of(a, 35), "adult": sums_of(b, 35)}, totals)
        for a, b in product(combinations(young, 2), combinations(adult, 3))
    ]
    means = [found.mean for found in drawn]
    assert np.mean(means) == pytest.approx(np.mean([*young, *adult]))
    assert np.mean([found.se**2 for found in drawn if found.se is not None]) == pytest.approx(
        np.var(means), abs=1e-9
    )


@given(st.lists(fish, min_size=5, max_size=8))
@settings(max_examples=12, deadline=None)
def test_over_all_samples_of_a_closed_water_too(lake: list[float]) -> None:
    drawn = [mean_in_closed_water(sums_of(four, 35), len(lake)) for four in combinations(lake, 4)]
    means = [found.mean for found in drawn]
    assert np.mean([found.se**2 for found in drawn if found.se is not None]) == pytest.approx(
        np.var(means), abs=1e-9
    )


def test_a_sample_sorted_afterwards_against_all_ways_to_sort_it() -> None:
    # What the sorting costs is the mean of 1/n_h over all numbers a class can get; the formula has its first two terms.
    totals, variance, n = {"young": 300, "adult": 700}, {"young": 0.04, "adult": 0.01}, 200
    exact = 0.0
    for name, of_class in totals.items():
        got = np.arange(1, n)
        chance = hypergeom(1000, of_class, n).pmf(got)
        exact += (of_class / 1000) ** 2 * variance[name] * float((chance / got).sum() - 1 / of_class)
    sums = {
        name: Sums(k, k * 0.5, k * 0.25 + (k - 1) * variance[name], None)
        for name, k in (("young", 60), ("adult", 140))
    }
    found = post_stratified(sums, totals)
    assert found.se is not None
    assert found.se**2 == pytest.approx(exact, rel=2e-3)
    chosen = known_totals(sums, totals).se
    assert chosen is not None
    assert chosen < found.se


def test_known_shares_are_the_catch_weighted_mean_of_an_endless_catch() -> None:
    sums = {"young": sums_of([0.1, 0.3, 0.2], 35), "adult": sums_of([0.6], 35), "giant": NO_SUMS}
    ours = known_totals(sums, {"young": 3, "adult": 1, "giant": 0}, finite=False)
    theirs = catch_weighted_from_sums(sums, {"young": 3 * 10**9, "adult": 10**9, "giant": 0})
    assert (ours.se, ours.low, ours.high) == pytest.approx((theirs.se, theirs.low, theirs.high), abs=1e-6)
    assert (ours.df, ours.borrowed) == (pytest.approx(theirs.df), ("adult",))


@pytest.mark.parametrize("mean_of", [known_totals, post_stratified])
def test_where_every_fish_was_typed_the_mean_is_known(mean_of: Callable[..., CatchWeighted]) -> None:
    sums = {"young": sums_of([0.1, 0.3, 0.2], 35), "adult": sums_of([0.6], 35)}
    found = mean_of(sums, {"young": 3, "adult": 1})
    assert (found.mean, found.low, found.high, found.se) == (pytest.approx(0.3), found.mean, found.mean, 0)
    assert found.borrowed == ()
    part = mean_of(sums, {"young": 3, "adult": 1, "giant": 4})
    assert (part.share_covered, part.uncovered, WATER.part in part.guard) == (0.5, ("giant",), True)


def test_fish_all_alike_say_no_more_of_the_others_in_a_small_water() -> None:
    # Eight northern fish of ten: the other two may be anything, so the factor must not narrow the limits.
    eight = sums_of([0.0] * 8, 35)
    assert mean_in_closed_water(eight, 10).high == pytest.approx(clopper_pearson(0, 8).high)
    assert known_totals({"all": eight}, {"all": 10}).high == pytest.approx(clopper_pearson(0, 8).high)


def test_a_closed_water_of_no_fish_one_fish_and_all_fish() -> None:
    assert mean_in_closed_water(NO_SUMS, 0).guard == "no fish"
    one = mean_in_closed_water(sums_of([0.4], 35), 3)
    assert (one.mean, one.low, one.guard) == (0.4, None, "one fish")
    everyone = mean_in_closed_water(sums_of([0.4, 0.2], 35), 2)
    assert (everyone.low, everyone.high, everyone.se) == (everyone.mean, everyone.mean, 0)
    held = sums_of([0.1, 0.3, 0.2, 0.5, 0.4], 35)
    large, small = mean_in_closed_water(held, 10**9), mean_in_closed_water(held, 20)
    assert (large.low, large.high) == pytest.approx((held.estimate().low, held.estimate().high), abs=1e-6)
    assert small.n_effective == pytest.approx(large.n_effective / 0.75)
    with pytest.raises(NumberFault, match="5 have a result but 4 were counted"):
        mean_in_closed_water(held, 4)
