"""Two ways to put limits on a catch-weighted mean that do not trust a small spread in a few fish of a class."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import ndtri

from geneticlog.rules.arguments import Floats
from geneticlog.rules.intervals import (
    NO_VARIANCE,
    beta_limits,
    effective_number,
    guarded_number,
    mean_from_sums_many,
)
from geneticlog.rules.statistics.estimates import Limits
from geneticlog.rules.statistics.sums import Sums


def limits_from_classes(
    classes: Sequence[Sums], g: Floats, mean: float, between: float, level: float, guard_fish: float
) -> Limits:
    """Return the limits of the weighted mean put together from the guarded limits of its classes (MOVER).

    ``low = p - sqrt[sum g_h n_h (p_h - low_h)^2 + z^2 between]``, and high likewise, cut at 0 and 1. A class of one
    fish has the limits of fish that vary as the others do within their classes, at the least of one fish.

    classes, g
        Sums of each class, of one fish or more and in some class of two; (classes,) what its variance weighs in that of
        the mean, w_h^2 / n_h for weights from the catch.
    mean, between
        The weighted mean, and the part of its variance that comes from the catch that gave the weights.
    raises
        NumberFault for sums that no proportions can have.
    source
        Zou GY, Donner A (2008) Statistics in Medicine 27:1693-1702, for a weighted sum of independent means.
    """
    fish = np.array([held.n for held in classes], dtype=np.float64)
    sums = [held.sum_q for held in classes], [held.sum_q2 for held in classes]
    alleles = [np.nan if held.n_alleles is None else held.n_alleles for held in classes]
    found = mean_from_sums_many(fish, *sums, alleles, level, guard_fish)
    p, low, high, single = found.mean, found.low, found.high, fish == 1
    if single.any():
        df = float(fish.sum()) - len(fish)
        pooled = sum((held.n - 1) * (held.variance or 0.0) for held in classes) / df
        n_eff, alone = np.ones(int(single.sum())), p[single]
        if pooled >= NO_VARIANCE:
            variance, of = np.full(n_eff.shape, pooled), np.full(n_eff.shape, df)
            n_eff = np.maximum(
                n_eff,
                effective_number(alone * (1 - alone), variance, of, np.full(n_eff.shape, np.nan), level),
            )
        low[single], high[single] = beta_limits(alone, n_eff, level)
    z2 = float(ndtri((1 + level) / 2)) ** 2
    down, up = (float((g * fish * (end - p) ** 2).sum() + z2 * between) ** 0.5 for end in (low, high))
    return Limits(max(0.0, mean - down), min(1.0, mean + up))


def limits_as_one_group(
    classes: Sequence[Sums], w: Floats, g: Floats, mean: float, level: float, guard_fish: float
) -> Limits:
    """Return the limits that the weighted mean of q and of q squared give m fish, the fewest the sample can stand for.

    A fish of class h weighs w_h / n_h; m is 1 over the weight of the heaviest (and no more than w_h / g_h). V, the
    variance of the weighted mean, is at most that of the mean of m fish drawn at random from the whole catch,
    ``[sum w_h s_h^2 + sum w_h (p_h - p)^2] / m``: of its two sums, ``sum g_h s_h^2`` has g_h <= w_h / m, and
    ``sum w_h (p_h - p)^2 / n'`` has 1/n' <= w_h / n_h, since no more fish are typed than caught. Limits wider than
    these say less than the fish do. They are those of `mean_from_sums`; where every fish caught is typed, m is n.

    classes, w, g
        Sums of each class; (classes,) their weights, 1 together; (classes,) as for `limits_from_classes`.
    returns
        Limits; 0 and 1 for m below two fish, which have no interval, unless all are 0 or all are 1.
    source
        The project's own bound; the variance as in Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 12.
    """
    fish = np.array([held.n for held in classes], dtype=np.float64)
    m = np.array([1 / float(np.maximum(w / fish, g / w).max())])
    if mean < NO_VARIANCE or mean > 1 - NO_VARIANCE:
        n_eff = m
    elif m[0] < 2:
        return Limits(0.0, 1.0)
    else:
        square = float((w / fish) @ np.array([held.sum_q2 for held in classes]))
        alleles = sum(np.nan if held.n_alleles is None else held.n_alleles for held in classes)
        n_eff = guarded_number(m, m * mean, m * square, np.array([alleles]), level, guard_fish)
    low, high = beta_limits(np.array([mean]), n_eff, level)
    return Limits(float(low[0]), float(high[0]))
