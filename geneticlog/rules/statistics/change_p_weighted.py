"""Many weighted differences at once, their limits and p: each pair of surveys weighted to its own size classes."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geneticlog.rules.arguments import Floats, NumberFault, array
from geneticlog.rules.intervals import (
    NO_VARIANCE,
    beta_limits,
    effective_number,
    guarded_number,
    mean_from_sums_many,
)
from geneticlog.rules.statistics.change_p import p_where_limits_reach_0


def weighted_difference_p_many(first: ArrayLike, second: ArrayLike, weights: ArrayLike) -> Floats:
    """Return the two-sided p of first minus second for many pairs of surveys, both weighted to the same classes.

    It is that of `p_of_difference` with `compare_surveys`, whose limits are written out here for all pairs at once.

    first, second
        (4, pairs, classes): fish, sum of q, sum of q squared, alleles (NaN where unknown); two fish or more in every
        class that has a weight.
    weights
        (pairs, classes), together 1 in each pair; 0 for a class that is not in the comparison.
    returns
        (pairs,) p from a millionth to 1.
    raises
        NumberFault for tables of other shapes, a class of one fish, or sums no proportions can have.
    source
        As for `compare_surveys` and `difference_p_many`.
    """
    one, two, w = _tables(first, second, weights)
    d = _means(one, w) - _means(two, w)
    rose = d >= 0
    larger, smaller = np.where(rose[:, None], one, two), np.where(rose[:, None], two, one)

    def limit(here: NDArray[np.bool_], level: float) -> Floats:
        upper = _limits(larger[:, here], w[here], level)
        lower = _limits(smaller[:, here], w[here], level)
        reach = np.hypot(upper[0] - upper[1], lower[2] - lower[0])
        return np.asarray(np.abs(d[here]) - reach, dtype=np.float64)

    return p_where_limits_reach_0(np.abs(d), limit)


def weighted_difference_many(
    first: ArrayLike, second: ArrayLike, weights: ArrayLike, level: float = 0.95
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return first minus second of many pairs of surveys, its low and high limit, and the wider side's width.

    Each (pairs,); the same as `compare_surveys` gives pair by pair. Arguments, faults and source as for
    `weighted_difference_p_many`.
    """
    one, two, w = _tables(first, second, weights)
    a, b = _limits(one, w, level), _limits(two, w, level)
    d = a[0] - b[0]
    low = d - np.hypot(a[0] - a[1], b[2] - b[0])
    high = d + np.hypot(a[2] - a[0], b[0] - b[1])
    return d, low, high, np.maximum(a[2] - a[1], b[2] - b[1])


def _tables(first: ArrayLike, second: ArrayLike, weights: ArrayLike) -> tuple[Floats, Floats, Floats]:
    one, two, w = array(first, "first"), array(second, "second"), array(weights, "weights")
    if w.ndim != 2 or one.shape != two.shape or one.shape != (4, *w.shape):
        raise NumberFault(f"difference: tables {one.shape} and {two.shape} do not fit weights {w.shape}")
    if not ((one[0] >= 2) & (two[0] >= 2) | (w == 0)).all():
        raise NumberFault("difference: a size class has fewer than two fish")
    return one, two, w


def _means(sums: Floats, w: Floats) -> Floats:
    means = np.where(w > 0, sums[1] / np.where(w > 0, sums[0], 1), 0.0)
    return np.asarray(np.clip((w * means).sum(axis=1), 0, 1), dtype=np.float64)


def _limits(sums: Floats, w: Floats, level: float) -> tuple[Floats, Floats, Floats]:
    """Return mean, low and high of each survey: `weighted_mean` for weights that are given."""
    inside = w > 0
    n = np.where(inside, sums[0], 2.0)
    q, q2, alleles = (np.where(inside, row, 0.0) for row in sums[1:])
    mean = _means(sums, w)
    own = (q2 - q**2 / n) / (n - 1)
    parts = w**2 / n * np.where(own < NO_VARIANCE, 0.0, own)
    below = (parts**2 / (n - 1)).sum(axis=1)
    df = (np.where(inside, n - 1, 0.0)).sum(axis=1)
    df = np.where(below > 0, parts.sum(axis=1) ** 2 / np.where(below > 0, below, 1.0), df)
    variance, of_all = parts.sum(axis=1), alleles.sum(axis=1)
    n_eff = 1 / (w**2 / n).sum(axis=1)
    at_an_end = (mean < NO_VARIANCE) | (mean > 1 - NO_VARIANCE)
    vary = ~at_an_end & (variance >= NO_VARIANCE)
    n_eff[vary] = effective_number((mean * (1 - mean))[vary], variance[vary], df[vary], of_all[vary], level)
    low, high = beta_limits(mean, n_eff, level)
    found = mean_from_sums_many(n[inside], q[inside], q2[inside], alleles[inside], level)
    ends = []
    for end in (found.low, found.high):
        reach = np.zeros(w.shape)
        reach[inside] = (w[inside] * (end - found.mean)) ** 2
        ends.append(np.sqrt(reach.sum(axis=1)))
    m = 1 / (w / n).max(axis=1)
    as_one = m.copy()
    some = ~at_an_end & (m >= 2)
    square = (w / n * q2).sum(axis=1)
    as_one[some] = guarded_number(m[some], (m * mean)[some], (m * square)[some], of_all[some], level)
    least, most = beta_limits(mean, as_one, level)
    nothing = ~at_an_end & (m < 2)
    least, most = np.where(nothing, 0.0, least), np.where(nothing, 1.0, most)
    low = np.maximum(np.minimum(low, np.maximum(mean - ends[0], 0.0)), least)
    return mean, low, np.minimum(np.maximum(high, np.minimum(mean + ends[1], 1.0)), most)
