"""Intervals that others use for a mean: of q kept for comparison only, as in lakes of few carriers they mislead.

The t interval serves the mean of a measure without an end to crowd against, such as relative weight.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from geneticlog.rules.arguments import RESAMPLES, Floats, count, level_of, numbers, seeded
from geneticlog.rules.intervals import t_quantile
from geneticlog.rules.seeds import SEED
from geneticlog.rules.statistics.estimates import Limits

Statistic = Callable[[Floats], Floats]  # (resamples, fish) -> (resamples,)


def mean_of(samples: Floats) -> Floats:
    """Return the mean of each row."""
    return np.asarray(samples.mean(axis=1), dtype=np.float64)


def t_interval(values: ArrayLike, level: float = 0.95) -> Limits | None:
    """Return ``mean +/- t[n-1] s / sqrt(n)``; None below two fish or where all are alike.

    raises
        NumberFault for an empty list or a value that is not a finite number.
    """
    sample = numbers(values, "values")
    level_of(level)
    n = len(sample)
    if n < 2 or np.ptp(sample) == 0:
        return None
    reach = float(t_quantile(np.array([n - 1.0]), level)[0] * sample.std(ddof=1)) / n**0.5
    return Limits(float(sample.mean()) - reach, float(sample.mean()) + reach)


def percentile_interval(
    values: ArrayLike,
    statistic: Statistic = mean_of,
    level: float = 0.95,
    n_resamples: int = RESAMPLES,
    seed: int = SEED,
) -> Limits | None:
    """Return the percentile bootstrap limits, resampling fish; None below two fish or where all are alike.

    values
        (fish,) in any unit.
    statistic
        What is estimated: takes (resamples, fish), returns (resamples,).
    raises
        NumberFault for an empty list or a value that is not a finite number.
    source
        Efron B, Tibshirani R (1993) An Introduction to the Bootstrap, ch. 13.
    """
    sample = numbers(values, "values")
    tail = (1 - level_of(level)) / 2
    if np.ptp(sample) == 0:
        return None
    low, high = np.quantile(_resampled(sample, statistic, n_resamples, seed), [tail, 1 - tail])
    return Limits(float(low), float(high))


def bca_interval(
    values: ArrayLike,
    statistic: Statistic = mean_of,
    level: float = 0.95,
    n_resamples: int = RESAMPLES,
    seed: int = SEED,
) -> Limits | None:
    """Return the bias-corrected and accelerated bootstrap limits; arguments and faults as `percentile_interval`.

    None also where the estimate lies outside everything resampled: the correction is then infinite.

    source
        Efron B (1987) Journal of the American Statistical Association 82:171-185.
    """
    sample = numbers(values, "values")
    tail = (1 - level_of(level)) / 2
    if np.ptp(sample) == 0:
        return None
    drawn = _resampled(sample, statistic, n_resamples, seed)
    below = float((drawn < statistic(sample[None, :])[0]).mean())
    if below in (0.0, 1.0):
        return None
    z0, a = float(ndtri(below)), acceleration(sample, statistic)
    z = ndtri(np.array([tail, 1 - tail]))
    low, high = np.quantile(drawn, ndtr(z0 + (z0 + z) / (1 - a * (z0 + z))))
    return Limits(float(low), float(high))


def acceleration(values: ArrayLike, statistic: Statistic = mean_of) -> float:
    """Return the acceleration of BCa from the jackknife, ``sum d^3 / [6 (sum d^2)^1.5]``; 0 where nothing varies."""
    sample = numbers(values, "values")
    n = len(sample)
    if n < 2:
        return 0.0
    left_out = np.tile(sample, (n, 1))[~np.eye(n, dtype=bool)].reshape(n, n - 1)
    jackknife = statistic(left_out)
    d = jackknife.mean() - jackknife
    spread = float((d**2).sum())
    return float((d**3).sum()) / (6 * spread**1.5) if spread > 0 else 0.0


def _resampled(sample: Floats, statistic: Statistic, n_resamples: int, seed: int) -> Floats:
    random = seeded(seed)
    m = count(n_resamples, "resamples", least=1)
    rows = max(1, 2_000_000 // len(sample))  # bounds the memory of one draw
    parts = [
        statistic(sample[random.integers(0, len(sample), (min(rows, m - start), len(sample)))])
        for start in range(0, m, rows)
    ]
    return np.concatenate(parts)
