"""Planning numbers, against textbook arithmetic named beside it; where nothing is named, tables made with scipy
1.17.1 (Student's t, binomial and hypergeometric) outside this package."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from invented import CAUGHT, GROUPS

from geneticlog.rules.intervals import unseen_share
from geneticlog.rules.sampling import (
    allocation_shares,
    chance_of_a_carrier,
    chance_of_an_allele,
    fish_for_a_carrier,
    fish_for_half_width,
    fish_for_share,
    half_width_of,
)
from geneticlog.rules.statistics.sums import Sums, sums_of
from geneticlog.rules.strata import catch_weighted_from_sums


def test_sample_size_of_a_share_in_a_closed_water() -> None:
    # SS-1. Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 4 [from memory, recomputed]: p .5, d .05, t = 2, N 3,200
    assert fish_for_share(0.5, 0.05, quantile=2) == 400
    assert fish_for_share(0.5, 0.05, quantile=2, population=3200) == 356  # 355.65, rounded up


@pytest.mark.parametrize(
    ("frequency", "for_95", "for_99"),
    [(0.01, 299, 459), (0.02, 149, 228), (0.05, 59, 90), (0.10, 29, 44), (0.20, 14, 21)],
)
def test_fish_to_meet_a_carrier(frequency: float, for_95: int, for_99: int) -> None:
    # DET-1: ceil[ln(1-P)/ln(1-p)], by scipy outside this package
    assert fish_for_a_carrier(frequency, 0.95) == for_95
    assert fish_for_a_carrier(frequency, 0.99) == for_99


@pytest.mark.parametrize(
    ("frequency", "chances"),
    [
        (0.05, [0.2262, 0.4013, 0.5367, 0.6415, 0.7854, 0.9539]),
        (0.10, [0.4095, 0.6513, 0.7941, 0.8784, 0.9576, 0.9982]),
        (0.20, [0.6723, 0.8926, 0.9648, 0.9885, 0.9988, 1.0000]),
    ],
)
def test_chance_of_a_carrier(frequency: float, chances: list[float]) -> None:
    # DET-1
    found = [chance_of_a_carrier(frequency, n) for n in (5, 10, 15, 20, 30, 60)]
    assert found == pytest.approx(chances, abs=5e-5)


def test_a_closed_water_is_drawn_without_replacement() -> None:
    # DET-1: 10 carriers of 200 fish, hypergeometric against binomial
    assert chance_of_a_carrier(10 / 200, 30, population=200) == pytest.approx(0.81106, abs=5e-6)
    assert chance_of_a_carrier(10 / 200, 30) == pytest.approx(0.78536, abs=5e-6)


def test_what_so_many_fish_cannot_see() -> None:
    # DET-1: one-sided upper limit at 0 of n
    assert [unseen_share(8), unseen_share(30)] == pytest.approx([0.3123, 0.0950], abs=5e-5)


def test_alleles_of_a_random_mating_swarm() -> None:
    # Below the table of DET-1: 25 fish at 6 loci, allele frequency .01 [rule from memory]; every allele drawn apart
    assert chance_of_an_allele(0.01, 25, 6) == pytest.approx(0.95096, abs=5e-6)
    # Where these alleles sit in few fish, say pure ones, 25 fish meet one of them far more rarely.
    assert chance_of_a_carrier(0.01, 25) < 0.23


@pytest.mark.parametrize(
    ("spread", "half_width", "fish"),
    [  # smallest n with t s / sqrt(n) <= d, worked out with scipy
        *[(0.10, 0.05, 18), (0.10, 0.10, 7), (0.20, 0.05, 64), (0.20, 0.10, 18), (0.20, 0.15, 10)],
        *[(0.25, 0.05, 99), (0.25, 0.10, 27), (0.25, 0.15, 14)],
        *[(0.30, 0.05, 141), (0.30, 0.10, 38), (0.30, 0.15, 18)],
    ],
)
def test_fish_for_a_half_width(spread: float, half_width: float, fish: int) -> None:
    assert fish_for_half_width(spread, half_width) == fish


def test_half_width_in_standard_deviations() -> None:
    found = [half_width_of(1.0, n) for n in (3, 5, 8, 10, 15, 20, 30, 60)]
    assert found == pytest.approx([2.484, 1.242, 0.836, 0.715, 0.554, 0.468, 0.373, 0.258], abs=5e-4)


def test_cochran_cities_by_allocation() -> None:
    # STRAT-3. Cochran WG (1977), ch. 5, Table 5.1 example [inputs and outputs from memory]: 64 cities in strata of 16
    # and 48, variances 53,843 and 5,581 (52,448 over all), 24 drawn. Variance of the estimated total, nearest unit.
    sizes, variances = {"large": 16, "small": 48}, {"large": 53_843, "small": 5_581}
    proportional = allocation_shares(24, sizes, None, "proportional")
    equal = allocation_shares(24, sizes, None, "equal")
    assert (proportional, equal) == ({"large": 6, "small": 18}, {"large": 12, "small": 12})
    assert variance_of_total(sizes, variances, proportional) == pytest.approx(1_882_293, abs=0.5)
    assert variance_of_total(sizes, variances, equal) == pytest.approx(1_090_827, abs=0.5)
    assert variance_of_total({"all": 64}, {"all": 52_448}, {"all": 24}) == pytest.approx(5_594_453, abs=0.5)


def variance_of_total(
    sizes: dict[str, int], variances: dict[str, float], drawn: Mapping[str, float]
) -> float:
    """Take it out of the catch-weighted mean with the strata as classes, in thousands so that values stay below 1."""
    sums, n_all = {}, sum(sizes.values())
    for name, share in drawn.items():
        n, left = int(share), 1 - share / sizes[name]  # the finite-population factor
        sums[name] = Sums(n, n * 0.5, n * 0.25 + (n - 1) * variances[name] * left / 1000**2, None)
    se = catch_weighted_from_sums(sums, sizes).se
    assert se is not None
    return (n_all * 1000 * se) ** 2


def test_28_swabs_of_the_invented_survey() -> None:
    # STRAT-4
    spread = {name: (sums_of(q, 50).variance or 0) ** 0.5 for name, q in GROUPS.items()}
    proportional = allocation_shares(28, CAUGHT, None, "proportional")
    assert list(proportional.values()) == pytest.approx([12.60, 8.40, 4.90, 1.68, 0.42], abs=5e-3)
    least = allocation_shares(28, CAUGHT, spread, "least_variance")
    assert list(least.values()) == pytest.approx([11.01, 8.91, 5.72, 1.86, 0.50], abs=5e-3)
