"""Bootstrap, t and plain statistics on textbook data and real fish (samples.py names them); numbers that the
source does not print were made with scipy 1.17.1 outside this package."""

from __future__ import annotations

import numpy as np
import pytest
from samples import ALLATOONA_H, ALLATOONA_Q, OUACHITA_ALLELES, OUACHITA_MEAN_H, OUACHITA_Q

from geneticlog.rules.ancestry import ancestry_class
from geneticlog.rules.genetics.lineage import lineage_sign, lineage_sign_from_sums
from geneticlog.rules.intervals import mean_proportion, wilson
from geneticlog.rules.notebook.ratio import design_effect
from geneticlog.rules.statistics.bootstrap import acceleration, bca_interval, percentile_interval, t_interval
from geneticlog.rules.statistics.sums import sums_of

# Efron B, Tibshirani R (1993) An Introduction to the Bootstrap, ch. 14: the spatial test data A, statistic the
# variance with divisor n; data in the R package bootstrap.
SPATIAL = [
    *(48, 36, 20, 29, 42, 42, 20, 42, 22, 41, 45, 14, 6),
    *(0, 33, 28, 34, 4, 32, 24, 47, 41, 24, 26, 30, 41),
]


def variance(samples: np.ndarray) -> np.ndarray:
    return samples.var(axis=1)


def test_bca_of_the_textbook() -> None:
    # BCA-1
    assert len(SPATIAL) == 26
    assert np.var(SPATIAL) == pytest.approx(171.534, abs=5e-4)  # that these are the book's data
    assert acceleration(SPATIAL, variance) == pytest.approx(0.06124, abs=5e-6)
    # at 200,000 resamples; the book's 2,000 gave (100.8, 233.9) and (115.8, 259.6) [from memory]
    percentile = percentile_interval(SPATIAL, variance, 0.90, n_resamples=200_000)
    assert percentile == pytest.approx((97.7, 235.9), abs=3)
    assert bca_interval(SPATIAL, variance, 0.90, n_resamples=200_000) == pytest.approx((115.5, 261.1), abs=3)


@pytest.mark.parametrize(
    ("q", "loci", "mean", "s", "se", "t", "within", "effect", "percentile", "bca", "within_bootstrap"),
    [
        pytest.param(
            ALLATOONA_Q, 35, 0.447622, 0.061873, 0.020624, (0.40006, 0.49518), 1e-5, 1.08,
            (0.4111, 0.4857), (0.4111, 0.4873), 0.002, id="GEN-1 Allatoona",
        ),
        pytest.param(
            OUACHITA_Q, 38, 0.0916733, 0.1209147, 0.0220759, (0.046523, 0.136824), 1e-6, 13.34,
            (0.0526, 0.1373), (0.0575, 0.1465), 0.003, id="GEN-2 Ouachita",
        ),
    ],
)  # fmt: skip
def test_plain_statistics_and_the_other_intervals_of_real_fish(
    q: list[float], loci: int, mean: float, s: float, se: float, t: tuple[float, float], within: float,
    effect: float, percentile: tuple[float, float], bca: tuple[float, float], within_bootstrap: float,
) -> None:  # fmt: skip
    found, spread = mean_proportion(q, loci), sums_of(q, loci).variance
    assert found.mean is not None
    assert found.se is not None
    assert spread is not None
    assert (found.mean, spread**0.5, found.se) == pytest.approx((mean, s, se), abs=within)
    assert t_interval(q) == pytest.approx(t, abs=within)
    assert design_effect(found.mean, found.se, 2 * loci * len(q)) == pytest.approx(effect, abs=0.005)
    assert percentile_interval(q, n_resamples=20_000) == pytest.approx(percentile, abs=within_bootstrap)
    assert bca_interval(q, n_resamples=20_000) == pytest.approx(bca, abs=within_bootstrap)


def test_heterozygosity_of_allatoona() -> None:
    # GEN-1: mean H .5238, as it enters the deficit F = 1 - H / 2p(1-p)
    sign = lineage_sign(ALLATOONA_Q, ALLATOONA_H, 35)
    assert sign.f is not None
    p = 0.447622
    assert (1 - sign.f) * 2 * p * (1 - p) == pytest.approx(0.5238, abs=5e-5)
    assert not sign.flagged


def test_carriers_deficit_and_acceleration_of_ouachita() -> None:
    # GEN-2
    assert (len(OUACHITA_ALLELES), sum(OUACHITA_ALLELES)) == (30, 209)
    assert [round(k / 76, 4) for k in OUACHITA_ALLELES] == OUACHITA_Q
    assert acceleration(OUACHITA_Q) == pytest.approx(0.05359, abs=5e-6)
    n, sums = len(OUACHITA_Q), sums_of(OUACHITA_Q, 38)
    sign = lineage_sign_from_sums(n, sums.sum_q, sums.sum_q2, n * OUACHITA_MEAN_H, 27, 0, 38)
    assert sign.f == pytest.approx(0.1204, abs=5e-5)
    near_pure = sum(ancestry_class(q, None, 38) == "northern" for q in OUACHITA_Q)  # q up to .05
    assert near_pure == 16
    assert wilson(near_pure, n) == pytest.approx((0.3614, 0.6977), abs=5e-5)
    assert wilson(OUACHITA_Q.count(0.0), n) == pytest.approx((0.1418, 0.4445), abs=5e-5)  # 8 of 30


def test_an_f1_lot_has_no_spread_and_no_t_or_bootstrap_interval() -> None:
    # GEN-5. Silliman et al. 2021: five fish of a known F1 lot, all q = .5
    assert sums_of([0.5] * 5, 35).variance == 0
    assert mean_proportion([0.5] * 5, 35).se == 0
    assert t_interval([0.5] * 5) is None
    assert percentile_interval([0.5] * 5) is None
    assert bca_interval([0.5] * 5) is None
