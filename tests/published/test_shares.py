"""Shares of fish and their difference, against printed values."""

from __future__ import annotations

import pytest

from geneticlog.rules.intervals import clopper_pearson, difference, share, wilson

# x, n, Wilson, Clopper-Pearson, half a unit of the last printed digit.
FSA = [  # Ogle DH et al. (2025) FSA: Simple Fisheries Stock Assessment Methods 0.10.0, help page on binomial intervals
    pytest.param(7, 20, (0.1811918, 0.5671457), (0.1539092, 0.5921885), 5e-8, id="WIL-1 7 of 20")
]
# Newcombe RG (1998) Statistics in Medicine 17:857-872, Table I [from memory, recomputed with statsmodels]
NEWCOMBE = [
    pytest.param(81, 263, (0.2553, 0.3662), (0.2527, 0.3676), 5e-5, id="WIL-2 81 of 263"),
    pytest.param(15, 148, (0.0624, 0.1605), (0.0578, 0.1617), 5e-5, id="WIL-3 15 of 148"),
    pytest.param(0, 20, (0.0, 0.1611), (0.0, 0.1684), 5e-5, id="WIL-4 0 of 20"),
    pytest.param(1, 29, (0.0061, 0.1718), (0.0009, 0.1776), 5e-5, id="WIL-5 1 of 29"),
]
# No outside print: the formulas recomputed with statsmodels 0.15.0.
RECOMPUTED = [
    pytest.param(0, 30, (0.0, 0.1135), (0.0, 0.1157), 5e-5, id="WIL-6 0 of 30"),
    pytest.param(3, 30, (0.0346, 0.2562), (0.0211, 0.2653), 5e-5, id="WIL-7 3 of 30"),
    pytest.param(12, 30, (0.2459, 0.5768), (0.2266, 0.5940), 5e-5, id="WIL-8 12 of 30"),
    pytest.param(0, 5, (0.0, 0.4345), (0.0, 0.5218), 5e-5, id="WIL-9 0 of 5"),
    pytest.param(1, 5, (0.0362, 0.6245), (0.0051, 0.7164), 5e-5, id="WIL-10 1 of 5"),
    pytest.param(5, 5, (0.5655, 1.0), (0.4782, 1.0), 5e-5, id="WIL-11 5 of 5"),
    # Silliman et al. 2021, Ouachita (samples.py): fish of q <= .05, and fish without any Florida allele
    pytest.param(16, 30, (0.3614, 0.6977), None, 5e-5, id="GEN-2 Ouachita, 16 of 30 at q up to .05"),
    pytest.param(8, 30, (0.1418, 0.4445), None, 5e-5, id="GEN-2 Ouachita, 8 of 30 at q = 0"),
]


@pytest.mark.parametrize(("x", "n", "by_wilson", "exact", "within"), FSA + NEWCOMBE + RECOMPUTED)
def test_limits_of_a_share(
    x: int, n: int, by_wilson: tuple[float, float], exact: tuple[float, float] | None, within: float
) -> None:
    assert wilson(x, n) == pytest.approx(by_wilson, abs=within)
    if exact is not None:
        assert clopper_pearson(x, n) == pytest.approx(exact, abs=within)


def test_the_difference_of_two_shares() -> None:
    # MOVER-1. Newcombe RG (1998) Statistics in Medicine 17:873-890: 56/70 against 48/80, printed .0524 to .3339 [from
    # memory]; seven digits from statsmodels confint_proportions_2indep(method="newcomb").
    found = difference(share(56, 70), share(48, 80))
    assert found.mean == pytest.approx(0.2)
    assert (found.low, found.high) == pytest.approx((0.0524, 0.3339), abs=5e-5)
    assert (found.low, found.high) == pytest.approx((0.0524315, 0.3338727), abs=1e-6)
