"""Chances and limits of misread alleles against scipy and statsmodels.

The share of pure fish that show an allele of the other taxon where one allele in 200 or in 100 is misread, .32 and .53
at 38 loci, is arithmetic: ``1 - (1 - e)^(2L)``.
"""

from __future__ import annotations

import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from geneticlog.rules.genetics.miscalls import (
    carrier_ratio,
    false_carriers,
    fewest_alleles,
    measured_rate,
)


@pytest.mark.parametrize(("rate", "printed"), [(0.005, 0.32), (0.01, 0.53)])
def test_share_of_pure_fish_that_show_an_allele(rate: float, printed: float) -> None:
    assert false_carriers(38, rate, judged_at=0.0) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize("k", [1, 3, 10, 76])
def test_the_ratio_is_that_of_two_binomials(k: int) -> None:
    ours = carrier_ratio(k, 76, 0.01)
    theirs = stats.binom.logpmf(k, 76, k / 76) - stats.binom.logpmf(k, 76, 0.01)
    assert ours == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize("loci", [12, 38, 73])
def test_false_carriers_are_a_binomial_tail(loci: int) -> None:
    k = fewest_alleles(loci, 0.01)
    assert false_carriers(loci, 0.01) == pytest.approx(stats.binom.sf(k - 1, 2 * loci, 0.01), rel=1e-9)


def test_limits_of_the_rate_are_exact_binomial_ones() -> None:
    told = measured_rate([(760, 7)], [(140, 1)])
    low, high = proportion_confint(8, 2 * 760 + 140, method="beta")
    assert told is not None
    assert (told.low, told.high) == pytest.approx((low, high), rel=1e-9)
