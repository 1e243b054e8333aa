"""Trend and shuffling tests, against textbook data."""

from __future__ import annotations

import pytest
from invented import ALL_Q, GROUPS
from scipy.stats import norm

from geneticlog.rules.trend import jonckheere_terpstra, kendall_tau_b, permutation_difference, spearman, welch

# JT-1. Hollander M, Wolfe DA, Chicken E, Nonparametric Statistical Methods, 3rd ed., Example 6.2 (motivation by
# information); data in the R package NSM3.
NONE, ROUGH, ACCURATE = [40, 35, 38, 43, 44, 41], [38, 40, 47, 44, 40, 42], [48, 40, 45, 43, 46, 44]

# PERM-1. Efron B, Tibshirani R (1993) An Introduction to the Bootstrap: the mouse data; in the R package bootstrap.
TREATMENT, CONTROL = [94, 197, 16, 38, 99, 141, 23], [52, 104, 146, 10, 50, 31, 40, 27, 46]


def test_jonckheere_terpstra_of_the_textbook_with_its_ties() -> None:
    found = jonckheere_terpstra({"none": NONE, "rough": ROUGH, "accurate": ACCURATE})
    assert (found.statistic, found.expected) == (79, 54)
    assert found.variance == pytest.approx(150.286765, abs=5e-7)
    assert found.z == pytest.approx(2.039293, abs=5e-7)
    assert found.p_rising_normal == pytest.approx(0.020710, abs=5e-7)
    # exact with these ties, of 17,153,136 arrangements, counted outside this package
    assert found.method == "exact"
    assert found.p_rising == pytest.approx(0.0209665, abs=5e-8)


def test_jonckheere_terpstra_exact_without_ties() -> None:
    # JT-1: P(J >= 79) for three classes of six without ties: .0230637 (the book prints .0231 [from memory]). Any untied
    # values have the same distribution; these reach J = 79.
    values = [[0, 1, 2, 3, 7, 11], [4, 5, 6, 8, 12, 15], [9, 10, 13, 14, 16, 17]]
    shift = jonckheere_terpstra(values)
    wanted = int(shift.statistic)
    # Exchange neighbours across classes until J is 79: each exchange takes exactly one pair out of order.
    flat = [(value, at) for at, group in enumerate(values) for value in group]
    order = [at for _, at in sorted(flat)]
    while wanted > 79:
        for place in range(len(order) - 1):
            if order[place] < order[place + 1]:
                order[place], order[place + 1] = order[place + 1], order[place]
                wanted -= 1
                break
    groups = [[float(value) for value, at in enumerate(order) if at == group] for group in range(3)]
    found = jonckheere_terpstra(groups)
    assert (found.statistic, found.expected, found.variance) == (79, 54, 153)
    assert found.z == pytest.approx(2.0211, abs=5e-5)
    assert found.p_rising_normal == pytest.approx(0.02163, abs=5e-6)
    assert found.p_rising == pytest.approx(0.0230637, abs=5e-8)


def test_the_trend_of_the_invented_survey() -> None:
    # JT-2: no outside source; worked out with scipy outside this package
    found = jonckheere_terpstra(GROUPS)
    classes = [at for at, group in enumerate(GROUPS.values()) for _ in group]
    assert (found.statistic, found.expected) == (283.5, 150)
    assert found.p_rising < 0.001
    assert spearman(classes, ALL_Q).correlation == pytest.approx(0.905808, abs=5e-7)
    assert kendall_tau_b(classes, ALL_Q) == pytest.approx(0.793926, abs=5e-7)


def test_the_variance_of_the_invented_survey_without_its_one_tie() -> None:
    # JT-2: Var 598.3333 and z 5.4577 leave the tie (.29 in two classes) uncorrected. Broken to either side, J is 284 or
    # 283 and there is no tie left.
    up, down = (
        jonckheere_terpstra({**GROUPS, "preferred": [q + by * (q == 0.29) for q in GROUPS["preferred"]]})
        for by in (1e-6, -1e-6)
    )
    assert (up.statistic, down.statistic) == (284, 283)
    for found in (up, down):
        assert found.variance == pytest.approx(598.3333, abs=5e-5)
    z = (up.z + down.z) / 2
    assert z == pytest.approx(5.4577, abs=5e-5)
    assert norm.sf(z) == pytest.approx(2.41e-8, abs=5e-11)
    assert up.p_rising_normal < 2.41e-8 < down.p_rising_normal


def test_every_split_of_the_mice() -> None:
    found = permutation_difference(TREATMENT, CONTROL)
    assert found.difference == pytest.approx(30.63492, abs=5e-6)
    assert (found.exact, found.n_splits) == (True, 11440)
    assert (found.p_greater, found.p) == pytest.approx((1608 / 11440, 3182 / 11440), abs=1e-12)
    assert (found.p_greater, found.p) == pytest.approx((0.1405594, 0.2781469), abs=5e-8)
    by_t = welch(TREATMENT, CONTROL)
    assert by_t is not None
    assert (by_t.t, by_t.df, by_t.p) == pytest.approx((1.059062, 9.645375, 0.315372), abs=1e-6)


def test_two_classes_are_the_mann_whitney_test_of_the_mice() -> None:
    # PERM-1: U 36, exact
    found = jonckheere_terpstra([CONTROL, TREATMENT])
    assert found.method == "exact"
    assert found.statistic == 36
    assert found.p == pytest.approx(0.680594, abs=1e-6)
