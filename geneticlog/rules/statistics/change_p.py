"""The p of a difference of two means when only sums are at hand: the level at which its limits reach 0."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from geneticlog.rules.arguments import Floats, NumberFault, array
from geneticlog.rules.intervals import mean_from_sums_many
from geneticlog.rules.statistics.estimates import Estimate

# p at which the interval is made; between them the limit is all but straight in the normal quantile
AT = (0.9, 0.7, 0.5, 0.35, 0.25, 0.15, 0.1, 0.07, 0.05, 0.03, 0.02, 0.01, 0.004, 0.001, 2e-4, 2e-5, 1e-6)

STRAIGHT = 0.03  # times the quantile: a p within about as much of itself


def difference_p_many(first: ArrayLike, second: ArrayLike) -> Floats:
    """Return the two-sided p of first minus second for many pairs of means: 1 - the level whose MOVER limit is at 0.

    So p is below 0.05 exactly where the 95 % interval of the difference leaves 0 out: interval and p never contradict
    each other. To within a fiftieth of itself from 0.001 on; never below a millionth.

    first, second
        (4, pairs): fish, sum of q, sum of q squared, alleles (NaN where unknown).
    returns
        (pairs,) p; NaN where a side has fewer than two fish, 1 where the means are equal.
    raises
        NumberFault for tables of other shapes, or sums no proportions can have.
    source
        Inversion of the interval of Zou GY, Donner A (2008) Statistics in Medicine 27:1693-1702.
    """
    one, two = array(first, "first"), array(second, "second")
    if one.shape != two.shape or one.ndim != 2 or len(one) != 4:
        raise NumberFault(f"difference: two tables of 4 rows are wanted, not {one.shape} and {two.shape}")
    p = np.full(one.shape[1], np.nan)
    told = (one[0] >= 2) & (two[0] >= 2)
    one, two = one[:, told], two[:, told]
    if not one.size:
        return p
    d = one[1] / one[0] - two[1] / two[0]
    larger, smaller = np.where(d >= 0, one, two), np.where(d >= 0, two, one)

    def limit(here: NDArray[np.bool_], level: float) -> Floats:
        return np.asarray(
            np.abs(d[here]) - _reach(larger[:, here], smaller[:, here], level), dtype=np.float64
        )

    p[told] = p_where_limits_reach_0(np.abs(d), limit)
    return p


def p_where_limits_reach_0(
    distance: Floats, limit_of: Callable[[NDArray[np.bool_], float], Floats]
) -> Floats:
    """Return the p of many differences from the ends of their intervals that lie towards 0.

    distance
        (pairs,) how far each difference is from 0.
    limit_of
        Of some pairs (a mask) and a level: how far the nearer end of the interval is from 0, below 0 beyond it.
    raises
        What limit_of raises.
    source
        As for `difference_p_many`.
    """
    distance = array(distance, "differences")
    z = np.append(0.0, -ndtri(np.array(AT) / 2))
    limit = np.full((len(z), len(distance)), np.nan)
    limit[0] = distance  # at a quantile of 0 the limit is the difference itself
    before, after = np.zeros(len(distance), np.intp), np.full(len(distance), len(z))
    while (
        open_still := after - before > 1
    ).any():  # halve: each pair is looked at at a few of the levels only
        middle = np.where(open_still, (before + after) // 2, -1)
        for at in np.unique(middle[open_still]):
            here = middle == at
            limit[at, here] = limit_of(here, 1 - AT[at - 1])
            leaves_0_out = here & (limit[at] > 0)
            before, after = np.where(leaves_0_out, at, before), np.where(here & ~leaves_0_out, at, after)
    last = after == len(z)
    pairs, after = np.arange(len(distance)), np.minimum(after, len(z) - 1)
    above, below = limit[before, pairs], limit[after, pairs]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.clip(np.where(above > below, above / (above - below), 1.0), 0.0, 1.0)
    at_z = np.where(last, z[-1], z[before] + share * (z[after] - z[before]))
    return np.asarray(np.where(distance < 1e-12, 1.0, 2 * ndtr(-at_z)), dtype=np.float64)


def p_of_difference(found: Estimate, at: Callable[[float], Estimate]) -> float | None:
    """Return the two-sided p of one difference, however its limits are made: 1 - the level whose limit is at 0.

    As `difference_p_many`, with the interval made at a few levels only, near where it reaches 0: to within a tenth of
    itself as a rule, and below 0.05 exactly where the 95 % interval leaves 0 out.

    found
        The difference with its limits at a level of 0.95.
    at
        The same difference with its limits at another level.
    returns
        p from a millionth to 1; None without limits, 1 where the difference is 0.
    raises
        NumberFault for what is no estimate, or one at another level.
    source
        As for `difference_p_many`.
    """
    if not isinstance(found, Estimate):
        raise NumberFault(f"difference: {found!r} is not an estimate")
    if found.level != 0.95:
        raise NumberFault(f"difference: limits at level 0.95 are wanted, not at {found.level:g}")
    if found.mean is None or found.low is None or found.high is None:
        return None
    distance = abs(found.mean)
    if distance < 1e-12:
        return 1.0

    rose = found.mean > 0

    def limit(made: Estimate) -> float:
        nearer = made.low if rose else made.high
        assert nearer is not None
        return nearer if rose else -nearer

    z = np.append(0.0, -ndtri(np.array(AT) / 2))
    usual = AT.index(0.05) + 1
    limits = {0: distance, usual: limit(found)}
    before, after = (usual, len(z)) if limits[usual] > 0 else (0, usual)
    # The limit is all but straight in the quantile: look first where the line through both known ones is at 0. Where
    # it is found on that line, the line tells the rest.
    slope = max(distance - limits[usual], 1e-12) / z[usual]
    look = int(np.searchsorted(z, distance / slope))
    while after - before > 1:
        look = min(max(look, before + 1), after - 1)
        limits[look] = limit(at(1 - AT[look - 1]))
        off_the_line = abs(limits[look] - (distance - slope * z[look])) / slope
        if len(limits) == 3 and off_the_line * max(z[look], 1.0) < STRAIGHT:
            reached = z[look] + limits[look] / slope
            return float(2 * ndtr(-min(max(reached, z[before]), z[min(after, len(z) - 1)])))
        if limits[look] > 0:
            before, look = look, look + 1
        else:
            after, look = look, look - 1
    if after == len(z):
        return float(2 * ndtr(-z[-1]))
    share = min(max(limits[before] / (limits[before] - limits[after]), 0.0), 1.0)
    return float(2 * ndtr(-(z[before] + share * (z[after] - z[before]))))


def _reach(larger: Floats, smaller: Floats, level: float) -> Floats:
    """How far the lower MOVER limit of larger minus smaller lies below the difference."""
    one = mean_from_sums_many(larger[0], larger[1], larger[2], larger[3], level)
    two = mean_from_sums_many(smaller[0], smaller[1], smaller[2], smaller[3], level)
    return np.asarray(np.hypot(one.mean - one.low, two.high - two.mean), dtype=np.float64)
