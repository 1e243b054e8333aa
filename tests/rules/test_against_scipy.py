"""Statistics that scipy or statsmodels has as well, against them on random input."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from statsmodels.stats.proportion import (
    confint_proportions_2indep,
    multinomial_proportions_confint,
    samplesize_confint_proportion,
)

from geneticlog.rules.genetics.hardy_weinberg import hardy_weinberg
from geneticlog.rules.intervals import beta_limits, difference, share, t_quantile
from geneticlog.rules.sampling import fish_for_share
from geneticlog.rules.statistics.bootstrap import bca_interval, percentile_interval, t_interval
from geneticlog.rules.statistics.estimates import NORMAL_95
from geneticlog.rules.statistics.psd import simultaneous_limits
from geneticlog.rules.trend import jonckheere_terpstra

levels = st.sampled_from([0.8, 0.9, 0.95, 0.99])
fish = st.integers(0, 76).map(lambda k: k / 76)  # q of a fish typed at 38 loci: ties are common
few = st.lists(fish, min_size=2, max_size=8)


@given(st.lists(st.floats(0.1, 500), min_size=1, max_size=8), levels)
def test_quantiles_of_t_equal_scipy(df: list[float], level: float) -> None:
    assert t_quantile(np.array(df), level) == pytest.approx(scipy.stats.t.ppf((1 + level) / 2, df), rel=1e-8)


def test_endless_degrees_of_freedom_are_the_normal_quantile() -> None:
    assert t_quantile(np.array([np.inf]), 0.95)[0] == pytest.approx(scipy.stats.norm.ppf(0.975))
    assert pytest.approx(scipy.stats.norm.ppf(0.975), abs=1e-6) == NORMAL_95


@given(st.lists(st.tuples(st.floats(0.01, 0.99), st.floats(2, 3000)), min_size=1, max_size=8), levels)
def test_beta_limits_equal_scipy(means: list[tuple[float, float]], level: float) -> None:
    p, n = np.array(means).T
    low, high = beta_limits(p, n, level)
    tail = (1 - level) / 2
    assert low == pytest.approx(scipy.stats.beta.ppf(tail, n * p, n * (1 - p) + 1), rel=1e-7, abs=1e-12)
    assert high == pytest.approx(scipy.stats.beta.ppf(1 - tail, n * p + 1, n * (1 - p)), rel=1e-7, abs=1e-12)


@given(st.integers(1, 200), st.integers(1, 200), st.data(), levels)
def test_the_difference_of_two_shares_equals_newcombe_in_statsmodels(
    n1: int, n2: int, data: st.DataObject, level: float
) -> None:
    x1, x2 = data.draw(st.integers(0, n1)), data.draw(st.integers(0, n2))
    found = difference(share(x1, n1, level), share(x2, n2, level))
    theirs = confint_proportions_2indep(x1, n1, x2, n2, method="newcomb", alpha=1 - level)
    assert (found.low, found.high) == pytest.approx(theirs, abs=1e-9)


@given(st.lists(fish, min_size=1, max_size=12, unique=True), st.data())
def test_two_classes_without_ties_are_the_exact_mann_whitney_test(
    values: list[float], data: st.DataObject
) -> None:
    assume(len(values) >= 2)
    cut = data.draw(st.integers(1, len(values) - 1))
    small, large = values[:cut], values[cut:]
    found = jonckheere_terpstra([small, large])
    assert found.method == "exact"
    theirs = scipy.stats.mannwhitneyu(large, small, alternative="greater", method="exact")
    assert found.statistic == theirs.statistic
    assert found.p_rising == pytest.approx(theirs.pvalue, abs=1e-12)
    two_sided = scipy.stats.mannwhitneyu(large, small, method="exact").pvalue
    assert found.p == pytest.approx(two_sided, abs=1e-12)


@given(few, few)
def test_two_classes_with_ties_have_the_mann_whitney_normal_p(small: list[float], large: list[float]) -> None:
    assume(np.ptp(small + large) > 0)
    found = jonckheere_terpstra([small, large], n_resamples=9)
    theirs = scipy.stats.mannwhitneyu(
        large, small, alternative="greater", method="asymptotic", use_continuity=False
    )
    assert found.statistic == theirs.statistic
    assert found.p_rising_normal == pytest.approx(theirs.pvalue, abs=1e-9)


@given(st.tuples(*[st.integers(0, 300)] * 3).filter(any))
def test_hardy_weinberg_chi_square_equals_scipy(counts: tuple[int, int, int]) -> None:
    found = hardy_weinberg(*counts)
    assume(0 < found.p < 1)
    n, p = sum(counts), (2 * counts[0] + counts[1]) / (2 * sum(counts))
    expected = [n * p * p, 2 * n * p * (1 - p), n * (1 - p) ** 2]
    theirs = scipy.stats.chisquare(counts, expected, ddof=1)
    assert (found.chi2, found.p_chi2) == pytest.approx((theirs.statistic, theirs.pvalue), rel=1e-6, abs=1e-12)


@given(st.lists(fish, min_size=2, max_size=30), levels)
def test_the_t_interval_equals_scipy(values: list[float], level: float) -> None:
    assume(np.ptp(values) > 0)
    theirs = scipy.stats.t.interval(level, len(values) - 1, np.mean(values), scipy.stats.sem(values))
    assert t_interval(values, level) == pytest.approx(theirs, abs=1e-9)


@settings(max_examples=15)
@example([k / 76 for k in (12, 0, 1, 2, 3, 4, 5, 6)])
@given(st.lists(fish, min_size=8, max_size=30, unique=True))
def test_bootstraps_agree_with_scipy(values: list[float]) -> None:
    # Both resample at random, and means of such fish lie on a lattice, so limits are held against each other by the
    # share of scipy's resamples between them: what 10,000 resamples leave open is below 0.01 (a percentile of 0.025
    # has a standard error of 0.0016), a limit at another level or without BCa's correction is further off.
    for method, ours in (("percentile", percentile_interval), ("BCa", bca_interval)):
        theirs = scipy.stats.bootstrap(
            (values,), np.mean, n_resamples=10_000, method=method, random_state=np.random.default_rng(5)
        )
        found = ours(values, n_resamples=10_000)
        assert found is not None
        drawn = theirs.bootstrap_distribution
        for limits in zip(found, theirs.confidence_interval, strict=True):
            between = np.mean(drawn < max(limits) - 1e-9) - np.mean(drawn <= min(limits) + 1e-9)
            assert between < 0.015


@given(st.floats(0.01, 0.99), st.floats(0.01, 0.3))
def test_fish_for_a_share_equals_statsmodels(p: float, half_width: float) -> None:
    theirs = samplesize_confint_proportion(p, half_width, method="normal")
    assume(abs(theirs - round(theirs)) > 1e-6)
    assert fish_for_share(p, half_width, quantile=scipy.stats.norm.ppf(0.975)) == max(1, np.ceil(theirs))


@given(
    st.lists(st.integers(0, 90), min_size=2, max_size=6).filter(lambda counts: sum(map(bool, counts)) > 1),
    levels,
)
def test_limits_of_several_shares_at_once_equal_their_formula(counts: list[int], level: float) -> None:
    found = simultaneous_limits(counts, level)
    n, k = sum(counts), sum(map(bool, counts))
    for x, limits in zip(counts, found, strict=True):
        reach = (scipy.stats.chi2.ppf(level, k - 1) * x / n * (1 - x / n) / n) ** 0.5
        assert limits == pytest.approx((max(0, x / n - reach), min(1, x / n + reach)), abs=1e-9)


def test_limits_of_several_shares_lie_near_those_of_goodman() -> None:
    # another published form, Goodman LA (1965) Technometrics 7:247-254, in statsmodels: near it with many fish
    counts = [90, 180, 130]
    theirs = multinomial_proportions_confint(counts, method="goodman")
    for ours, (low, high) in zip(simultaneous_limits(counts), theirs, strict=True):
        assert ours == pytest.approx((low, high), abs=0.01)
