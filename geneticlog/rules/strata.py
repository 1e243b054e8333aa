"""The mean of a lake when size classes were swabbed unevenly: each class weighs what it makes up of the catch."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from geneticlog.rules.arguments import Floats, NumberFault, by_name, count, level_of, number
from geneticlog.rules.intervals import GUARD_FISH, NO_VARIANCE, beta_limits, effective_number
from geneticlog.rules.statistics.estimates import Estimate, guard_words
from geneticlog.rules.statistics.strata_limits import limits_as_one_group, limits_from_classes
from geneticlog.rules.statistics.sums import Sums, sums_of

PART_OF_CATCH = "part of the catch"
ONE_FISH_A_CLASS = "one fish a class"
BORROWED_SPREAD = "spread of a single fish borrowed from the other classes"

# (classes,) fish with a result and (classes,) size of each class -> what each class variance weighs in the variance
# of the mean.
Coefficients = Callable[[Floats, Floats], Floats]


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchWeighted(Estimate):
    """A catch-weighted mean; beside what an Estimate holds:

    share_covered
        Share of the catch in the classes that have a result, 0 to 1. Below 1 there is no mean of the lake, only
        of the covered classes, and the guard says "part of the catch".
    uncovered
        Classes that were caught and have no result.
    borrowed
        Classes of a single fish, whose spread is the pooled one of the other classes.
    """

    share_covered: float | None = None
    uncovered: tuple[str, ...] = ()
    borrowed: tuple[str, ...] = ()


def catch_weighted(
    groups: Mapping[str, ArrayLike],
    n_caught: Mapping[str, int],
    n_loci: ArrayLike | Mapping[str, ArrayLike] | None,
    level: float = 0.95,
    guard_fish: float = GUARD_FISH,
) -> CatchWeighted:
    """Return the mean allele proportion weighted to the measured catch; see `catch_weighted_from_sums`.

    groups
        Size class -> (fish,) q of the fish with a result, 0 to 1; an empty list for a class without any.
    n_caught
        Size class -> fish measured, swabbed or not.
    n_loci
        Scored loci: one number for all, or size class -> number or (fish,) numbers; None if unknown.
    raises
        NumberFault for a q outside 0 to 1, a class without its catch, or more results than fish caught.
    """
    by_name(groups, "q of the size classes")
    loci = n_loci if isinstance(n_loci, Mapping) else dict.fromkeys(groups, n_loci)
    without = [name for name in groups if name not in loci]
    if without:
        raise NumberFault(f"size class {without[0]!r} has results and no number of loci")
    unknown = [name for name in loci if name not in groups]
    if unknown:
        raise NumberFault(f"number of loci: there is no size class {unknown[0]!r}")
    sums = {name: sums_of(q, loci[name], f"q of {name}") for name, q in groups.items()}
    return catch_weighted_from_sums(sums, n_caught, level, guard_fish)


def catch_weighted_from_sums(
    sums: Mapping[str, Sums],
    n_caught: Mapping[str, int],
    level: float = 0.95,
    guard_fish: float = GUARD_FISH,
) -> CatchWeighted:
    """Return the mean allele proportion weighted to the measured catch, from the sums of each class.

    With w_h the share of class h in the n' fish caught, p_h and s_h^2 the mean and variance of its n_h fish:
    ``p = sum w_h p_h``; double sampling ``V = sum w_h^2 s_h^2 / n_h + sum w_h (p_h - p)^2 / n'``; Satterthwaite
    degrees of freedom of the within-class part; then the beta limits of Korn and Graubard at
    ``n_eff = p (1-p) / V * (t[A-1] / t[df])^2``. Where nothing varies (all fish 0, all 1, all alike)
    ``n_eff = 1 / sum(w_h^2 / n_h)``, the number of fish an unweighted sample would need to carry as much.

    Those limits trust the spread that the fish of a class happen to show: eight northern fish of a class that is a
    tenth Florida show none. So the limits given are, at each end, the wider of these and those put together from
    the guarded limits of the classes (`limits_from_classes`), but no wider than the sample gives as one group
    (`limits_as_one_group`). One class has the interval of its fish; a catch swabbed whole, none wider than that of
    its fish. ``guard_fish=0`` leaves both out. ``se``, ``df`` and ``n_effective`` are those of the plain formula.
    Over simulated lakes with 8 fish a class this lifts the lowest coverage from .59 to .96 (DEVELOPERS.md).

    A class of one fish borrows the pooled within-class variance (df = fish - classes). A class that was caught
    and has no result is never averaged away: the mean is that of the covered classes, with the share they make up.

    returns
        CatchWeighted; no limits where no class has two fish. n counts the fish with a result.
    raises
        NumberFault for a class without its catch, or more results than fish caught.
    source
        Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 12 (double sampling for stratification). The interval
        is the project's own extension of Korn EL, Graubard BI (1998) Survey Methodology 24:193-201.
    """
    return weighted_mean(sums, n_caught, None, level, guard_fish)


def _within_classes(n: Floats, caught: Floats) -> Floats:
    """Return ``w_h^2 / n_h``, what each class variance weighs in that of the mean."""
    return np.asarray((caught / caught.sum()) ** 2 / n, dtype=np.float64)


def weighted_mean(
    sums: Mapping[str, Sums],
    n_caught: Mapping[str, int],
    coefficients: Coefficients | None,
    level: float,
    guard_fish: float,
    *,
    weights_known: bool = False,
    has: str = "caught",
    part: str = PART_OF_CATCH,
) -> CatchWeighted:
    """Return ``p = sum w_h p_h`` with ``V = sum g_h s_h^2``, and limits: what all the weighted means share.

    Unless the weights are known ``sum w_h (p_h - p)^2 / n'`` is added to V. Limits, guard and borrowed spreads are told
    at `catch_weighted_from_sums`. Where the weights are known and every g_h is 0 (every fish has a result) the mean is
    known and is its own limits.

    n_caught
        Size class -> fish the weights are made of.
    coefficients
        Gives g_h of the covered classes; None for ``w_h^2 / n_h``.
    weights_known
        Whether the shares of the classes are no sample themselves.
    has, part
        How the fish of a class are named in faults, and the guard word where a class is not covered.
    raises
        NumberFault as for `catch_weighted_from_sums`.
    """
    level_of(level)
    number(guard_fish, "guard_fish", least=0)
    by_name(n_caught, f"fish {has}")
    for name, held in by_name(sums, "sums of the size classes").items():
        if not isinstance(held, Sums):
            raise NumberFault(f"sums of {name}: {held!r} are not the sums of some fish")
        if held.n and name not in n_caught:
            raise NumberFault(f"size class {name!r} has results and no number {has}")
    caught = {name: count(n, f"fish {has} in {name}") for name, n in n_caught.items()}
    for name, of_class in caught.items():
        if name in sums and sums[name].n > of_class:
            raise NumberFault(
                f"size class {name!r}: {sums[name].n} fish have a result but {of_class} were {has}"
            )
    covered = [name for name, of_class in caught.items() if of_class and name in sums and sums[name].n]
    uncovered = tuple(name for name, of_class in caught.items() if of_class and name not in covered)
    total = sum(caught.values())
    n_fish = sum(sums[name].n for name in covered)
    share = sum(caught[name] for name in covered) / total if total else None
    if not covered:
        return CatchWeighted(
            None, None, None, 0, guard=guard_words(0, None, None), level=level,
            share_covered=share, uncovered=uncovered,
        )  # fmt: skip
    part = part if uncovered else ""
    n_measured = sum(caught[name] for name in covered)
    n = np.array([sums[name].n for name in covered], dtype=np.float64)
    size = np.array([caught[name] for name in covered], dtype=np.float64)
    w, g = size / n_measured, (coefficients or _within_classes)(n, size)
    means = np.array([sums[name].sum_q for name in covered]) / n
    mean = float(np.clip(w @ means, 0.0, 1.0))
    if weights_known and not g.any():
        return CatchWeighted(
            mean, mean, mean, n_fish, guard=guard_words(n_fish, None, None, part), level=level, se=0.0,
            share_covered=share, uncovered=uncovered,
        )  # fmt: skip
    borrowed = tuple(name for name, weight in zip(covered, g, strict=True) if sums[name].n == 1 and weight)
    df_pooled = n_fish - len(covered)
    if df_pooled < 1:
        word = ONE_FISH_A_CLASS if n_fish > 1 else ""
        return CatchWeighted(
            mean, None, None, n_fish, guard=guard_words(n_fish, None, None, word, part), level=level,
            share_covered=share, uncovered=uncovered, borrowed=borrowed,
        )  # fmt: skip
    own = np.array([sums[name].variance or 0.0 for name in covered])
    variance, df = _variance_and_df(own, n, g)
    between = 0.0 if weights_known else float((w * (means - mean) ** 2).sum()) / n_measured
    variance += between
    alleles = [sums[name].n_alleles for name in covered]
    known = [value for value in alleles if value is not None]
    n_alleles = float(sum(known)) if len(known) == len(alleles) else np.nan
    if variance < NO_VARIANCE or mean < NO_VARIANCE or mean > 1 - NO_VARIANCE:
        n_eff = np.array([1 / (w**2 / n).sum()])
    else:
        n_eff = effective_number(
            np.array([mean * (1 - mean)]), np.array([variance]), np.array([df]), np.array([n_alleles]), level
        )
    low, high = (float(limit[0]) for limit in beta_limits(np.array([mean]), n_eff, level))
    if guard_fish:
        classes = [sums[name] for name in covered]
        of_classes = limits_from_classes(classes, g, mean, between, level, guard_fish)
        as_one = limits_as_one_group(classes, w, g, mean, level, guard_fish)
        low = max(min(low, of_classes.low), as_one.low)
        high = min(max(high, of_classes.high), as_one.high)
    return CatchWeighted(
        mean, low, high, n_fish, float(n_eff[0]),
        guard_words(n_fish, low, high, BORROWED_SPREAD if borrowed else "", part),
        level, variance**0.5, df,
        share_covered=share, uncovered=uncovered, borrowed=borrowed,
    )  # fmt: skip


def _variance_and_df(own: Floats, n: Floats, g: Floats) -> tuple[float, float]:
    """Return ``sum g_h s_h^2`` and its Satterthwaite degrees of freedom; a single fish takes the pooled variance."""
    single = n == 1
    df_pooled = float(n.sum()) - len(n)
    pooled = float(((n - 1) * own).sum()) / df_pooled
    variance = float((g * np.where(single, pooled, own)).sum())
    # A borrowed spread is itself made of the other classes' variances, so it adds to their weights.
    lent = float(g[single].sum()) * (n - 1) / df_pooled
    parts = (g + lent)[~single] * own[~single]
    below = float((parts**2 / (n[~single] - 1)).sum())
    return variance, float(parts.sum()) ** 2 / below if below > 0 else df_pooled
