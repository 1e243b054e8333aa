"""Trend, shuffling and rank tests against scipy, brute force and statsmodels on random input."""

from __future__ import annotations

import gc
from itertools import permutations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.multitest import multipletests

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.statistics.holm import holm
from geneticlog.rules.statistics.jonckheere import largest_exact, statistics
from geneticlog.rules.trend import (
    jonckheere_terpstra,
    kendall_tau_b,
    permutation_difference,
    ranks,
    spearman,
    welch,
)

fish = st.integers(0, 8).map(lambda k: k / 8)  # few values: ties are the rule
some = st.lists(fish, min_size=1, max_size=6)


def naive_j(groups: list[list[float]]) -> float:
    return sum(
        (b > a) + 0.5 * (b == a)
        for i in range(len(groups))
        for j in range(i + 1, len(groups))
        for a in groups[i]
        for b in groups[j]
    )


@given(st.lists(st.lists(fish, min_size=1, max_size=3), min_size=2, max_size=3))
@settings(max_examples=40, deadline=None)
def test_the_exact_trend_is_the_count_over_all_arrangements(groups: list[list[float]]) -> None:
    values = [value for group in groups for value in group][:6]  # 720 arrangements
    sizes = [len(group) for group in groups]
    while sum(sizes) > len(values):
        sizes[-1] -= 1
        if not sizes[-1]:
            sizes.pop()
    cuts = np.cumsum(sizes)[:-1]
    groups = [list(part) for part in np.split(np.array(values), cuts)]
    found = jonckheere_terpstra(groups)
    assert found.statistic == naive_j(groups)
    if found.method == "nothing to compare":
        assert found.p == 1
        return
    all_j = [
        naive_j([list(part) for part in np.split(np.array(order), cuts)]) for order in permutations(values)
    ]
    assert found.p_rising == pytest.approx(np.mean([j >= found.statistic for j in all_j]))
    assert found.p_falling == pytest.approx(np.mean([j <= found.statistic for j in all_j]))
    assert found.expected == pytest.approx(np.mean(all_j))
    assert found.variance == pytest.approx(np.var(all_j))


def test_a_large_sample_is_shuffled_with_a_seed_and_agrees_with_the_normal_p() -> None:
    random = np.random.default_rng(5)
    groups = [random.normal(0.1 * at, 1, 30) for at in range(4)]
    found = jonckheere_terpstra(groups, n_resamples=1999)
    assert found.method == "1,999 random arrangements"
    assert found.p_rising == pytest.approx(found.p_rising_normal, abs=0.04)
    assert jonckheere_terpstra(groups, n_resamples=1999) == found


def test_a_falling_trend_is_seen_as_well() -> None:
    found = jonckheere_terpstra([[0.9, 0.8, 0.85, 0.95], [0.5, 0.4, 0.45], [0.1, 0.2, 0.0, 0.05]])
    assert found.p_falling < 0.001
    assert found.p < 0.002
    assert found.p_rising == 1


@pytest.mark.parametrize(
    "groups", [[[0.1, 0.2]], [[0.1], [], []], [[0.3, 0.3], [0.3]], {"stock": [0.2], "quality": []}]
)
def test_nothing_to_compare_is_p_of_one(groups: object) -> None:
    found = jonckheere_terpstra(groups)
    assert (found.p, found.z, found.method) == (1.0, 0.0, "nothing to compare")


@given(some, some)
@settings(max_examples=50, deadline=None)
def test_all_splits_equal_those_of_scipy(a: list[float], b: list[float]) -> None:
    def apart(x: np.ndarray, y: np.ndarray, axis: int = 0) -> np.ndarray:
        return x.mean(axis=axis) - y.mean(axis=axis)

    if len(a) < 2 or len(b) < 2:
        assert permutation_difference(a, b).exact
        return
    theirs = scipy.stats.permutation_test(
        (a, b), apart, vectorized=True, n_resamples=np.inf, alternative="greater"
    )
    ours = permutation_difference(a, b)
    assert ours.difference == pytest.approx(theirs.statistic)
    assert ours.p_greater == pytest.approx(theirs.pvalue)
    swapped = permutation_difference(b, a)
    assert ours.p == pytest.approx(swapped.p)


def test_many_fish_are_split_at_random_with_a_seed() -> None:
    random = np.random.default_rng(2)
    a, b = random.random(40), random.random(40) + 0.12
    found = permutation_difference(a, b, n_resamples=4999)
    assert (found.exact, found.n_splits) == (False, 4999)
    assert found.p == pytest.approx(scipy.stats.ttest_ind(a, b).pvalue, abs=0.03)
    assert permutation_difference(a, b, n_resamples=4999) == found
    far = permutation_difference(a, b + 9, n_resamples=999)
    assert far.p == 1 / 1000  # (b + 1)/(m + 1): a random p is never 0


@given(st.lists(st.tuples(fish, fish), min_size=3, max_size=25))
@settings(max_examples=80, deadline=None)
def test_rank_correlations_equal_those_of_scipy(pairs: list[tuple[float, float]]) -> None:
    x, y = (list(side) for side in zip(*pairs, strict=True))
    ours = spearman(x, y, exact_up_to=0)
    assert list(ranks(np.array(x))) == pytest.approx(list(scipy.stats.rankdata(x)))
    if len(set(x)) == 1 or len(set(y)) == 1:
        assert (ours.correlation, ours.p, kendall_tau_b(x, y)) == (None, None, None)
        return
    theirs = scipy.stats.spearmanr(x, y)
    assert ours.correlation == pytest.approx(theirs.statistic, abs=1e-9)
    assert ours.p == pytest.approx(theirs.pvalue, abs=1e-6)
    assert kendall_tau_b(x, y) == pytest.approx(scipy.stats.kendalltau(x, y).statistic, abs=1e-9)


@pytest.mark.parametrize(
    ("x", "y"),
    [
        ([1, 2, 3], [0.1, 0.2, 0.3]),
        ([1, 2, 3, 4, 5], [0.1, 0.2, 0.3, 0.4, 0.5]),
        ([9.5, 10, 10, 11.5, 12, 15, 16], [0.0, 0.1, 0.0, 0.3, 0.3, 0.2, 0.9]),
        ([9, 8, 7, 6, 5, 4], [0.0, 0.1, 0.2, 0.1, 0.4, 0.5]),
    ],
)
def test_the_p_of_few_fish_is_the_count_over_all_orders(x: list[float], y: list[float]) -> None:
    ranked = scipy.stats.rankdata(y)

    def rho(one: np.ndarray) -> float:
        return float(np.corrcoef(scipy.stats.rankdata(one), ranked)[0, 1])

    # the documentation of scipy.stats.spearmanr asks for this where there are few observations
    every = scipy.stats.permutation_test((x,), rho, permutation_type="pairings", n_resamples=np.inf)
    far = np.abs(every.null_distribution) >= abs(every.statistic) - 1e-9
    ours = spearman(x, y)
    assert ours.method == "exact"
    assert ours.p == pytest.approx(far.mean(), abs=1e-9)


def test_limits_of_a_rank_correlation_by_the_formula() -> None:
    x, y = list(range(12)), [0, 2, 1, 3, 5, 4, 7, 6, 11, 8, 9, 10]
    found = spearman(x, y)
    r = scipy.stats.spearmanr(x, y).statistic
    reach = scipy.stats.norm.ppf(0.975) * np.sqrt((1 + r**2 / 2) / 9)
    assert found.limits == pytest.approx((np.tanh(np.arctanh(r) - reach), np.tanh(np.arctanh(r) + reach)))
    assert (spearman(x, x).correlation, spearman(x, x).limits) == (pytest.approx(1), None)
    assert spearman([1, 2, 3], [0.1, 0.3, 0.2]).limits is None


@given(st.lists(fish, min_size=2, max_size=20), st.lists(fish, min_size=2, max_size=20))
@settings(max_examples=60, deadline=None)
@pytest.mark.filterwarnings("ignore:Precision loss:RuntimeWarning")  # scipy's, where fish are all alike
def test_welch_equals_scipy(a: list[float], b: list[float]) -> None:
    ours = welch(a, b)
    if len(set(a)) == 1 and len(set(b)) == 1:
        assert ours is None
        return
    theirs = scipy.stats.ttest_ind(a, b, equal_var=False)
    assert ours is not None
    assert (ours.t, ours.p, ours.df) == pytest.approx((theirs.statistic, theirs.pvalue, theirs.df))
    interval = theirs.confidence_interval(0.95)
    assert (ours.low, ours.high) == pytest.approx((interval.low, interval.high))


def test_welch_needs_two_fish_on_each_side() -> None:
    assert welch([0.1], [0.2, 0.3]) is None


@given(st.lists(st.floats(0, 1), max_size=12))
@settings(max_examples=60, deadline=None)
def test_holm_equals_statsmodels(p: list[float]) -> None:
    gc.freeze()  # statsmodels collects garbage at every call: a fifth of a second over all modules loaded by now
    try:
        theirs = list(multipletests(p, method="holm")[1]) if p else []
    finally:
        gc.unfreeze()
    assert holm(p) == pytest.approx(theirs)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: jonckheere_terpstra([[], []]), "no class has a fish"),
        (lambda: jonckheere_terpstra([[0.1, float("nan")], [0.2]]), "class 1: number 2 is nan"),
        (lambda: permutation_difference([], [0.2]), "first group: there is none"),
        (lambda: spearman([0.1, 0.2], [1.0]), "2 against 1"),
        (lambda: holm([0.2, 1.5]), "p: 1.5 is not"),
        (lambda: welch([0.2, 0.1], []), "second group: there is none"),
    ],
)
def test_wrong_input_is_named(call: object, words: str) -> None:
    with pytest.raises(NumberFault, match=words):
        call()


def test_many_orders_at_once_have_the_statistic_of_each() -> None:
    random = np.random.default_rng(5)
    sizes = np.array([4, 1, 6, 3])
    orders = random.integers(0, 5, size=(30, sizes.sum()))
    expected = [naive_j(np.split(order, np.cumsum(sizes)[:-1])) for order in orders]
    assert statistics(orders, sizes).tolist() == expected


def test_the_exact_distribution_is_counted_up_to_sixty_thousand_states_of_values() -> None:
    sizes = np.array([20, 20, 20])  # 21^3 states
    for n_values, counted in ((6, True), (7, False)):
        assert largest_exact(np.arange(60.0) % n_values, sizes) == counted
