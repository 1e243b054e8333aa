"""The variance of q in a size class of few fish, with a guard for fish that happen to be alike."""

from __future__ import annotations

import numpy as np

from geneticlog.rules.arguments import Floats
from geneticlog.rules.intervals import GUARD_FISH, NO_VARIANCE

# A class takes the fish added at the ends in full when its standard deviation is twice its mean's distance from the
# nearer end of the q seen, as where few fish of one kind stand among many of another.
FULL_FROM = 2.0


def sum_over_classes(rows: Floats) -> Floats:
    """Return the sum over the first axis, one row after the other: a group has the same digits alone and among many."""
    total = np.zeros(rows.shape[1:])
    for row in rows:
        total = total + row
    return total


def within_classes(n: Floats, g: Floats, variance: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the within-class variance of weighted means, and what its degrees of freedom come from.

    ``sum g_h v_h``; a class of one fish takes the pooled variance of the others, which adds to their weights.

    n, g, variance
        (classes, groups) fish, 0 or 1 where there is no class; what a variance weighs in that of the mean; variances.
    returns
        (groups,) each: the variance; ``sum (g_h v_h)^2 / (n_h - 1)``; fish - classes. The variance squared over the
        second is Satterthwaite's degrees of freedom; where the second is 0 they are the third.
    source
        Satterthwaite FE (1946) Biometrics Bulletin 2:110-114.
    """
    df, single = np.where(n > 1, n - 1, 0.0), n == 1
    df_pooled = sum_over_classes(df)
    free = np.maximum(df_pooled, 1)
    pooled = sum_over_classes(df * variance) / free
    within = sum_over_classes(g * np.where(single, pooled, variance))
    lent = sum_over_classes(np.where(single, g, 0.0)) * df / free
    parts = np.where(df > 0, g + lent, 0.0) * variance
    return within, sum_over_classes(parts**2 / np.maximum(df, 1)), df_pooled


def guarded_variances(
    n: Floats,
    q1: Floats,
    q2: Floats,
    ends: tuple[Floats, Floats],
    guard_fish: float | Floats,
    spare_fish: Floats,
) -> Floats:
    """Return the variance of q in each class, the larger of two guarded ones.

    One has guard_fish added at q = 0 and at q = 1, as in the interval of a mean (`mean_from_sums`). The other has
    ``u spare_fish`` added at each of two ends, with u from 0 to 1: ``(s / 2e)^2``, e the distance of the class mean
    from the nearer end. It is about 0 in a swarm and 1 where one kind of fish stands out among another, or could.

    n, q1, q2
        (classes, groups) fish, sums of q and of q squared.
    ends
        (groups,) each: the lowest and the highest q that a fish may have.
    guard_fish, spare_fish
        Fish added at 0 and at 1, one number for all or (classes, groups); (classes, groups) fish added at the ends.
    returns
        (classes, groups), divisor n - 1; 0 below two fish, and where all are alike and nothing was added.
    source
        The project's own; tests/benchmarks/contrast_study.py measures what it does.
    """
    low, high = ends
    many = n > 1

    def with_added(
        fish: float | Floats, at_low: float | Floats, at_high: float | Floats
    ) -> tuple[Floats, Floats]:
        m = n + 2 * fish
        mean = (q1 + fish * (at_low + at_high)) / m
        square = (q2 + fish * (at_low**2 + at_high**2)) / m
        variance = np.maximum(square - mean**2, 0.0) * m / np.where(many, m - 1, 1.0)
        return mean, np.where(many & (variance >= NO_VARIANCE), variance, 0.0)

    wide = with_added(guard_fish, 0.0, 1.0)[1]
    if not np.any(spare_fish):
        return wide
    mean, variance = with_added(GUARD_FISH, low, high)
    edge = np.maximum(np.minimum(mean - low, high - mean), NO_VARIANCE)
    stands_out = np.minimum(1.0, variance / (FULL_FROM * edge) ** 2)
    return np.maximum(wide, with_added(spare_fish * stands_out, low, high)[1])
