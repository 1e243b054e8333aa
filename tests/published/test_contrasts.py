"""The engine of every difference, its guards taken away, against Welch's test of scipy and of statsmodels."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import ttest_ind
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

from geneticlog.rules.statistics.contrast import Contrast, Side, contrast
from geneticlog.rules.statistics.sums import sums_of

# synthetic survey of the methods reference: catch and q of five size classes, made for hand calculation
CATCH = {"S-Q": 90, "Q-P": 60, "P-M": 35, "M-T": 12, "T": 3}
FISH = {
    "S-Q": [0.10, 0.14, 0.21, 0.07, 0.17, 0.24, 0.13, 0.19],
    "Q-P": [0.20, 0.31, 0.27, 0.16, 0.36, 0.29, 0.23, 0.34],
    "P-M": [0.33, 0.41, 0.29, 0.50, 0.44, 0.37],
    "M-T": [0.46, 0.57, 0.51, 0.40],
    "T": [0.60, 0.71],
}


def one_class(q: list[float]) -> Side:
    return Side({"all": sums_of(q, 50)}, {"all": 1.0})


def published_form(first: Side, second: Side, level: float = 0.95) -> Contrast:
    return contrast(first, second, level, guard_fish=0, spare_fish=0)


def test_one_class_a_side_is_welchs_test() -> None:
    """scipy 1.x `ttest_ind(equal_var=False)`; statsmodels `CompareMeans(usevar="unequal")`."""
    random = np.random.default_rng(8)
    for n, m, level in ((8, 8, 0.95), (5, 15, 0.9), (31, 4, 0.99)):
        a, b = random.beta(2, 6, n), random.beta(1, 3, m)
        found = published_form(one_class(list(a)), one_class(list(b)), level)
        theirs = ttest_ind(a, b, equal_var=False)
        assert found.p == pytest.approx(theirs.pvalue, rel=1e-9)
        assert found.estimate.df == pytest.approx(theirs.df, rel=1e-9)
        limits = CompareMeans(DescrStatsW(a), DescrStatsW(b)).tconfint_diff(1 - level, usevar="unequal")
        assert (found.estimate.low, found.estimate.high) == pytest.approx(limits, rel=1e-9)


def test_a_worked_comparison_of_small_and_large_fish() -> None:
    """Quality and larger minus S-Q, as printed in the methods reference: t 6.188538, df 25.935, .154431 to .308069."""
    large = [q for name, some in FISH.items() if name != "S-Q" for q in some]
    found = published_form(one_class(large), one_class(FISH["S-Q"])).estimate
    assert found.mean == pytest.approx(0.23125, abs=1e-9)
    assert found.mean / found.se == pytest.approx(6.188538, abs=1e-5)
    assert found.df == pytest.approx(25.935, abs=1e-3)
    assert (found.low, found.high) == pytest.approx((0.154431, 0.308069), abs=1e-5)


def test_weights_from_a_catch_have_the_standard_error_of_double_sampling() -> None:
    """The survey against itself: twice its variance (standard error .0154088) and twice its df (18.7147)."""
    total = sum(CATCH.values())
    side = Side(
        {name: sums_of(q, 50) for name, q in FISH.items()},
        {name: n / total for name, n in CATCH.items()},
        total,
    )
    found = published_form(side, side)
    assert found.estimate.mean == 0
    assert found.p == 1
    assert found.estimate.se == pytest.approx(0.0154088 * 2**0.5, abs=1e-6)
    assert found.estimate.df == pytest.approx(2 * 18.7147, abs=1e-3)
