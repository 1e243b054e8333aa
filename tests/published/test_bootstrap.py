"""Bootstrap, t and plain statistics on textbook data and real fish."""

from __future__ import annotations

import numpy as np
import pytest
from samples import ALLATOONA_H, ALLATOONA_Q, OUACHITA_MEAN_H, OUACHITA_Q

from geneticlog.rules.bootstrap import acceleration, bca_interval, percentile_interval, t_interval

# Efron B, Tibshirani R (1993) An Introduction to the Bootstrap, ch. 14: the spatial test data A, statistic the
# variance with divisor n; data in the R package bootstrap.
SPATIAL = [
    48,
    36,
    20,
    29,
    42,
    42,
    20,
    42,
    22,
    41,
    45,
    14,
    6,
    0,
    33,
    28,
    34,
    4,
    32,
    24,
    47,
    41,
    24,
    26,
    30,
    41,
]


def variance(samples: np.ndarray) -> np.ndarray:
    return samples.var(axis=1)


def test_bca_of_the_textbook() -> None:
    assert np.var(SPATIAL) == pytest.approx(171.534, abs=5e-4)
    assert acceleration(SPATIAL, variance) == pytest.approx(0.06124, abs=5e-6)
    # at 200,000 resamples; the book's 2,000 gave (100.8, 233.9) and (115.8, 259.6) [from memory]
    percentile = percentile_interval(SPATIAL, variance, 0.90, n_resamples=40_000)
    assert percentile == pytest.approx((97.7, 235.9), abs=3)
    assert bca_interval(SPATIAL, variance, 0.90, n_resamples=40_000) == pytest.approx((115.5, 261.1), abs=3)


@pytest.mark.parametrize(
    ("q", "mean", "s", "se", "t", "percentile", "bca", "within"),
    [
        (
            ALLATOONA_Q,
            0.447622,
            0.061873,
            0.020624,
            (0.40006, 0.49518),
            (0.4111, 0.4857),
            (0.4111, 0.4873),
            0.002,
        ),
        (
            OUACHITA_Q,
            0.0916733,
            0.1209147,
            0.0220759,
            (0.046523, 0.136824),
            (0.0526, 0.1373),
            (0.0575, 0.1465),
            0.003,
        ),
    ],
    ids=["Allatoona", "Ouachita"],
)
def test_the_other_intervals_of_real_fish(
    q: list[float],
    mean: float,
    s: float,
    se: float,
    t: tuple[float, float],
    percentile: tuple[float, float],
    bca: tuple[float, float],
    within: float,
) -> None:
    assert np.mean(q) == pytest.approx(mean, abs=1e-5)
    assert np.std(q, ddof=1) == pytest.approx(s, abs=1e-5)
    assert np.std(q, ddof=1) / len(q) ** 0.5 == pytest.approx(se, abs=1e-5)
    assert t_interval(q) == pytest.approx(t, abs=1e-5)
    assert percentile_interval(q, n_resamples=20_000) == pytest.approx(percentile, abs=within)
    assert bca_interval(q, n_resamples=20_000) == pytest.approx(bca, abs=within)


def test_design_effect_and_acceleration_of_ouachita() -> None:
    mean, se = 0.0916733, 0.0220759
    assert se**2 / (mean * (1 - mean) / (30 * 76)) == pytest.approx(13.34, abs=0.005)
    assert acceleration(OUACHITA_Q) == pytest.approx(0.05359, abs=5e-5)
    assert 1 - OUACHITA_MEAN_H / (2 * mean * (1 - mean)) == pytest.approx(0.1204, abs=5e-5)
    assert np.mean(ALLATOONA_H) == pytest.approx(0.5238, abs=5e-5)


def test_an_f1_lot_has_no_t_or_bootstrap_interval() -> None:
    # Silliman et al. 2021: five fish of a known F1 lot, all q = .5
    assert t_interval([0.5] * 5) is None
    assert percentile_interval([0.5] * 5) is None
    assert bca_interval([0.5] * 5) is None
