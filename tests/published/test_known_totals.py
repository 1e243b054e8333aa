"""Means over classes whose totals are known, against printed variances and arithmetic made outside this package."""

from __future__ import annotations

import numpy as np
import pytest
from invented import CAUGHT, GROUPS
from scipy.stats import beta, t

from geneticlog.rules.notebook.known_catch import known_totals, post_stratified
from geneticlog.rules.statistics.sums import Sums, sums_of

SUMS = {name: sums_of(q, 50) for name, q in GROUPS.items()}


def test_the_invented_survey_with_and_without_its_finite_population_factor() -> None:
    # STRAT-4. Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 5 [chapter from memory]: the formula; arithmetic with
    # scipy.
    without = known_totals(SUMS, CAUGHT, finite=False)
    assert without.mean == pytest.approx(0.2584875, abs=5e-8)
    assert (without.se, without.df) == (pytest.approx(0.0130918, abs=5e-8), pytest.approx(18.7147, abs=5e-5))
    reach = t.ppf(0.975, without.df) * without.se
    assert (without.mean - reach, without.mean + reach) == pytest.approx((0.231058, 0.285917), abs=5e-7)
    within = known_totals(SUMS, CAUGHT)
    assert (within.mean, within.se) == (without.mean, pytest.approx(0.0122382, abs=5e-8))


def test_the_interval_stands_on_the_effective_number() -> None:
    # The extension of Korn & Graubard (1998) as in KG-5, with this variance and its degrees of freedom; written out
    # with scipy. 28 fish of 50 loci.
    found = known_totals(SUMS, CAUGHT, finite=False, guard_fish=0.0)
    p = found.mean
    assert p is not None
    n_eff = p * (1 - p) / 0.0130918**2 * (t.ppf(0.975, 2799) / t.ppf(0.975, 18.7147)) ** 2
    limits = beta.ppf(0.025, n_eff * p, n_eff * (1 - p) + 1), beta.ppf(0.975, n_eff * p + 1, n_eff * (1 - p))
    assert (found.low, found.high) == pytest.approx(limits, abs=1e-5)


CITIES, VARIANCES = {"large": 16, "small": 48}, {"large": 53_843, "small": 5_581}


def drawn(n: dict[str, int]) -> dict[str, Sums]:
    """Sums with these variances, in thousands so that values stay below 1."""
    return {
        name: Sums(k, k * 0.5, k * 0.25 + (k - 1) * VARIANCES[name] / 1000**2, None) for name, k in n.items()
    }


@pytest.mark.parametrize(
    ("n", "variance"),
    [({"large": 6, "small": 18}, 1_882_293), ({"large": 12, "small": 12}, 1_090_827)],
)
def test_the_cities_of_cochran(n: dict[str, int], variance: float) -> None:
    # STRAT-3. Cochran WG (1977), ch. 5, Table 5.1 example [inputs and outputs from memory]: 64 cities in strata of 16
    # and 48, 24 drawn. Variance of the estimated total, nearest unit.
    se = known_totals(drawn(n), CITIES).se
    assert se is not None
    assert (64 * 1000 * se) ** 2 == pytest.approx(variance, abs=0.5)


def test_a_simple_sample_sorted_afterwards_costs_its_second_part() -> None:
    # Cochran WG (1977), ch. 5A.9 [chapter from memory]. Its first part is the variance of proportional allocation,
    # 1,882,293 in STRAT-3; its second 64^2/24^2 (3/4 x 53,843 + 1/4 x 5,581) by hand.
    se = post_stratified(drawn({"large": 6, "small": 18}), CITIES).se
    assert se is not None
    second = 64**2 / 24**2 * (0.75 * 53_843 + 0.25 * 5_581)
    assert (64 * 1000 * se) ** 2 == pytest.approx(1_882_293 + second, abs=1)


def test_the_invented_survey_had_it_been_sorted_afterwards() -> None:
    # The same formula on STRAT-4, by hand from its printed variances; f = 28/200
    w = np.array([0.45, 0.30, 0.175, 0.06, 0.015])
    s2 = np.array([0.00325536, 0.0048, 0.0058, 0.00523333, 0.00605])
    variance = (1 - 28 / 200) / 28 * (w * s2).sum() + ((1 - w) * s2).sum() / 28**2
    found = post_stratified(SUMS, CAUGHT)
    assert (found.mean, found.se) == pytest.approx((0.2584875, variance**0.5), abs=1e-7)
