"""The pooled share of alleles, beside the mean of the fish: it lets fish with more scored loci count for more."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from geneticlog.rules.arguments import (
    NumberFault,
    level_of,
    number,
    numbers,
    positive,
    proportion,
    same_length,
)
from geneticlog.rules.intervals import NO_VARIANCE, beta_limits, effective_number
from geneticlog.rules.statistics.estimates import Estimate, guard_words


@dataclass(frozen=True, slots=True)
class PooledRatio:
    """Florida alleles over all alleles, 0 to 1, and its standard error; None below two fish."""

    ratio: float
    se: float | None


def pooled_ratio(florida_alleles: ArrayLike, n_loci: ArrayLike) -> PooledRatio:
    """Return ``R = sum(x) / sum(2L)`` and ``SE = sqrt[n/(n-1) sum (x - 2L R)^2] / sum(2L)``, for reference.

    Reports use the plain mean of the fish.

    florida_alleles, n_loci
        (fish,) whole numbers: x from 0 to 2L, and L from 1 up.
    raises
        NumberFault for an empty list, lists of different lengths, or more alleles than two a locus.
    source
        Cochran WG (1977) Sampling Techniques, 3rd ed., chs 6 and 11.
    """
    x, loci = numbers(florida_alleles, "Florida alleles"), numbers(n_loci, "n_loci")
    same_length(x, loci, "Florida alleles and n_loci")
    for at, (k, n) in enumerate(zip(x, loci, strict=True), start=1):
        if n < 1 or not 0 <= k <= 2 * n or k % 1 or n % 1:
            raise NumberFault(f"fish {at}: {k:g} Florida alleles of {n:g} loci cannot be")
    alleles = 2 * loci
    ratio = float(x.sum() / alleles.sum())
    n = len(x)
    if n < 2:
        return PooledRatio(ratio, None)
    off = float(((x - alleles * ratio) ** 2).sum())
    return PooledRatio(ratio, (n / (n - 1) * off) ** 0.5 / float(alleles.sum()))


def pooled_interval(florida_alleles: ArrayLike, n_loci: ArrayLike, level: float = 0.95) -> Estimate:
    """Return the pooled ratio with its own Korn-Graubard interval, for reference beside that of the mean of the fish.

    ``n_eff = R (1-R) / SE^2 * (t[A-1] / t[n-1])^2`` with R and SE of `pooled_ratio`; n_eff = n fish where R is 0 or 1
    or all fish have the same share. This is the published form, without the guard of `mean_from_sums`: in samples of
    few carriers it can fall short of its level.

    Arguments and faults as for `pooled_ratio`, and NumberFault for a level outside 0 to 1.

    returns
        Estimate; one fish has a ratio, no interval and the guard "one fish".
    source
        Korn EL, Graubard BI (1998) Survey Methodology 24:193-201, in the form of the R package survey,
        svyciprop(method = "beta"), which takes the ratio where fish differ in their loci.
    """
    pooled = pooled_ratio(florida_alleles, n_loci)
    level_of(level)
    n, ratio = int(np.size(florida_alleles)), pooled.ratio
    if pooled.se is None:
        return Estimate(ratio, None, None, n, guard=guard_words(n, None, None), level=level)
    n_eff = np.array([float(n)])
    if 0 < ratio < 1 and pooled.se**2 > NO_VARIANCE:
        alleles = np.array([2.0 * float(np.sum(n_loci))])
        n_eff = effective_number(
            np.array([ratio * (1 - ratio)]),
            np.array([pooled.se**2]),
            np.array([n - 1.0]),
            alleles,
            level,
        )
    low, high = (float(limit[0]) for limit in beta_limits(np.array([ratio]), n_eff, level))
    guard = guard_words(n, low, high)
    return Estimate(ratio, low, high, n, float(n_eff[0]), guard, level, pooled.se, float(n - 1))


def design_effect(mean: float, se: float, n_alleles: float) -> float | None:
    """Return how many times larger the variance is than if alleles were independent, ``SE^2 / [p(1-p)/A]``.

    None at a mean of 0 or 1, where there is nothing to set it against.

    raises
        NumberFault for a mean outside 0 to 1, a negative standard error, or alleles that are not above 0.
    """
    mean, se = proportion(mean, "mean"), number(se, "standard error", least=0)
    n_alleles = positive(n_alleles, "alleles")
    if mean in (0.0, 1.0):
        return None
    return se**2 / (mean * (1 - mean) / n_alleles)
