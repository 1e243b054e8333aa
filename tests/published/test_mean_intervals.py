"""Means and their intervals on real fish, against the R package survey and the printed values of the formula."""

from __future__ import annotations

import pytest
from samples import ALLATOONA_ALLELES, OUACHITA_ALLELES, OUACHITA_Q

from geneticlog.rules.intervals import difference, mean_from_sums, mean_proportion

ALLATOONA = [k / 70 for k in ALLATOONA_ALLELES]
OUACHITA = [k / 76 for k in OUACHITA_ALLELES]

# Published form (guard_fish = 0): Korn EL, Graubard BI (1998) Survey Methodology 24:193-201, as computed by the R
# package survey 4.1 (Lumley T), svyciprop(method = "beta"), a row per allele and the fish as sampling unit.
R_SURVEY = [
    # q, loci, n_eff, low, high, within
    pytest.param(OUACHITA, 38, 157.070, 0.0515124, 0.1480553, 1e-6, id="KG-1 Ouachita as k/76, from R"),
    pytest.param(
        [0.1, 0.2, 0.4, 0.0, 0.3], 20, None, 0.0468415055, 0.4689016651, 1e-9, id="five fish, from R"
    ),
]
# The same formula written out with scipy for real fish of the table named in samples.py: no outside program.
FORMULA = [
    pytest.param(
        [0.5] * 5, 35, 5, 0.0943903, 0.9056097, 1e-6, id="KG-2 known F1 lot: no variance, n_eff is fish"
    ),
    pytest.param([0.0] * 10, 35, 10, 0.0, 0.3084971, 1e-6, id="KG-3 hatchery northern, ten fish all 0"),
    pytest.param([1.0] * 4, 35, 4, 0.3976354, 1.0, 1e-6, id="KG-3 hatchery Florida, four fish all 1"),
    pytest.param([1.0] * 9, 35, 9, 0.6637329, 1.0, 1e-6, id="KG-3 St Johns River, nine fish all 1"),
    pytest.param(OUACHITA_Q, 38, None, 0.0515186, 0.1480611, 1e-6, id="KG-1 Ouachita in four decimals"),
    pytest.param(ALLATOONA, 35, 421.729, 0.3994892, 0.4964889, 1e-6, id="KG-4 Allatoona as k/70"),
]


@pytest.mark.parametrize(("q", "loci", "n_eff", "low", "high", "within"), R_SURVEY + FORMULA)
def test_the_published_form(
    q: list[float], loci: int, n_eff: float | None, low: float, high: float, within: float
) -> None:
    found = mean_proportion(q, loci, guard_fish=0)
    assert (found.low, found.high) == pytest.approx((low, high), abs=within)
    if n_eff is not None:
        assert found.n_effective == pytest.approx(n_eff, abs=5e-4)


# The guarded form has no published source: values of the formula worked out with scipy 1.17.1 outside this package.
GUARDED = [
    pytest.param(OUACHITA, 38, 152.1465, 0.0509584, 0.1491500, id="KG-6 Ouachita"),
    pytest.param(ALLATOONA, 35, 318.6497, 0.3921646, 0.5040562, id="KG-6 Allatoona"),
    pytest.param([0.5] * 5, 35, 253.4118, 0.4367816, 0.5632184, id="KG-6 known F1 lot"),
    pytest.param([0.0] * 10, 35, 10, 0.0, 0.3084971, id="KG-6 hatchery northern"),
    pytest.param(
        [0.1, 0.2, 0.4, 0.0, 0.3], 20, 14.4832, 0.0416444, 0.4867914, id="KG-6 five fish of 20 loci"
    ),
]


@pytest.mark.parametrize(("q", "loci", "n_eff", "low", "high"), GUARDED)
def test_the_guarded_form(q: list[float], loci: int, n_eff: float, low: float, high: float) -> None:
    found = mean_proportion(q, loci)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-6)
    assert found.n_effective == pytest.approx(n_eff, abs=5e-5)


@pytest.mark.parametrize(
    ("q", "loci", "mean", "se"),
    [
        pytest.param(OUACHITA, 38, 0.0916667, 0.02207589, id="KG-1 Ouachita"),
        pytest.param(ALLATOONA, 35, 0.4476190, 0.0206197, id="KG-4 Allatoona"),
    ],
)
def test_mean_and_standard_error_from_sums(q: list[float], loci: int, mean: float, se: float) -> None:
    found = mean_from_sums(len(q), sum(q), sum(one * one for one in q), len(q) * 2 * loci, guard_fish=0)
    assert (found.mean, found.se) == pytest.approx((mean, se), abs=5e-8)


def test_allatoona_minus_ouachita() -> None:
    # MOVER-2. Zou GY, Donner A (2008) Statistics in Medicine 27:1693-1702; limits of the published form on both sides.
    found = difference(
        mean_proportion(ALLATOONA, 35, guard_fish=0), mean_proportion(OUACHITA, 38, guard_fish=0)
    )
    assert found.mean == pytest.approx(0.3559524, abs=1e-6)
    assert (found.low, found.high) == pytest.approx((0.2818163, 0.4192029), abs=1e-6)
