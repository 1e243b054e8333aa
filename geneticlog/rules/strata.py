"""The mean of a lake when size classes were swabbed unevenly: each class weighs what it makes up of the catch."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from geneticlog.rules.arguments import (
    Floats,
    NumberFault,
    by_name,
    counts_by_name,
    level_of,
    number,
    proportion,
)
from geneticlog.rules.intervals import GUARD_FISH, NO_VARIANCE, effective_number
from geneticlog.rules.statistics.class_table import by_class, of_class
from geneticlog.rules.statistics.estimates import ONE_FISH_A_CLASS, Estimate, guard_words
from geneticlog.rules.statistics.guarded_variance import sum_over_classes
from geneticlog.rules.statistics.strata_limits import Strata, strata_limits
from geneticlog.rules.statistics.sums import Sums, sums_of

PART_OF_CATCH = "part of the catch"
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
    n_if_alike
        ``1 / sum(w_h^2 / n_h)``, the fish that a simple sample would need to carry as much where all are alike; None
        without limits.
    """

    share_covered: float | None = None
    uncovered: tuple[str, ...] = ()
    borrowed: tuple[str, ...] = ()
    n_if_alike: float | None = None


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
    tenth Florida show none. So the limits given take the class variances with a guard, and are no wider than the
    sample gives as one group (`strata_limits`). One class has the interval of its fish; a catch swabbed whole, none
    wider than that of its fish. ``guard_fish=0`` leaves both out. ``se``, ``df`` and ``n_effective`` are those of the
    plain formula. Coverage and width over simulated lakes: tests/benchmarks/results/weighted_mean_fresh.md.

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
    return catch_weighted_many([(sums, n_caught)], level, guard_fish)[0]


def catch_weighted_many(
    surveys: Sequence[tuple[Mapping[str, Sums], Mapping[str, int]]],
    level: float = 0.95,
    guard_fish: float = GUARD_FISH,
) -> list[CatchWeighted]:
    """Return `catch_weighted_from_sums` of many surveys at once, in order, the same to the last digit.

    surveys
        Sums of each class, and fish measured, of each survey.
    """
    return _means_over_classes(surveys, None, CATCH, level, guard_fish)


def means_at_weights(
    surveys: Sequence[Mapping[str, Sums]], weights: Mapping[str, float], level: float = 0.95
) -> list[CatchWeighted]:
    """Return the mean of each of several surveys with all weighted alike: to one length frequency.

    As `catch_weighted_from_sums` with given weights, so that the variance is the within-class part alone.

    surveys
        Size class -> sums of the fish with a result, of each survey.
    weights
        Size class -> its weight, together 1.
    raises
        NumberFault for weights that do not sum to 1, or a weighted class without fish in one of the surveys.
    source
        Direct standardisation.
    """
    level_of(level)
    shares = {name: proportion(w, f"weight of {name}") for name, w in by_name(weights, "weights").items()}
    named = [name for name, w in shares.items() if w > 0]
    if abs(sum(shares.values()) - 1) > 1e-9:
        raise NumberFault(f"weights: they sum to {sum(shares.values()):g} in place of 1")
    w = np.array([shares[name] for name in named])
    means = []
    for sums in surveys:
        of_survey = by_name(sums, "sums of the size classes")
        for name in named:
            if not isinstance(of_survey.get(name), Sums) or not of_survey[name].n:
                raise NumberFault(f"size class {name!r} has a weight and no fish with a result")
        covered = {name: of_survey[name] for name in named}
        g = w**2 / np.array([of_class.n for of_class in covered.values()], dtype=np.float64)
        means.append(_of_classes(covered, w, g, _About(None, None, (), ""), level))
    return _closed(means, level, GUARD_FISH)


def _within_classes(n: Floats, caught: Floats) -> Floats:
    """Return ``w_h^2 / n_h``, what each class variance weighs in that of the mean."""
    return np.asarray((caught / caught.sum()) ** 2 / n, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Weights:
    """What the classes are weighted to.

    known
        Whether the shares of the classes are no sample themselves.
    has, part
        How the fish of a class are named in faults, and the guard word where a class is not covered.
    """

    known: bool
    has: str
    part: str


CATCH, WATER = Weights(False, "caught", PART_OF_CATCH), Weights(True, "counted", "part of the water")


def mean_over_classes(
    sums: Mapping[str, Sums],
    n_caught: Mapping[str, int],
    coefficients: Coefficients | None,
    weights: Weights,
    level: float,
    guard_fish: float,
) -> CatchWeighted:
    """Return ``p = sum w_h p_h`` with ``V = sum g_h s_h^2``, and limits: what all the weighted means share.

    Unless the weights are known ``sum w_h (p_h - p)^2 / n'`` is added to V. Limits, guard and borrowed spreads are
    described at `catch_weighted_from_sums`. Where the weights are known and every g_h is 0 (every fish has a result)
    the mean is known and is its own limits.

    n_caught
        Size class -> fish the weights are made of.
    coefficients
        Gives g_h of the covered classes; None for ``w_h^2 / n_h``.
    raises
        NumberFault as for `catch_weighted_from_sums`.
    """
    return _means_over_classes([(sums, n_caught)], coefficients, weights, level, guard_fish)[0]


def _means_over_classes(
    surveys: Sequence[tuple[Mapping[str, Sums], Mapping[str, int]]],
    coefficients: Coefficients | None,
    weights: Weights,
    level: float,
    guard_fish: float,
) -> list[CatchWeighted]:
    level_of(level)
    number(guard_fish, "guard_fish", least=0)
    means = [
        _one_survey(sums, n_caught, coefficients or _within_classes, weights, level)
        for sums, n_caught in surveys
    ]
    return _closed(means, level, guard_fish)


def _closed(means: Sequence[CatchWeighted | _Open], level: float, guard_fish: float) -> list[CatchWeighted]:
    """Return means with their limits, in order; all that want them are computed at once."""
    open_ones = [one for one in means if isinstance(one, _Open)]
    if not open_ones:
        return [one for one in means if not isinstance(one, _Open)]
    strata, mean = _strata_of(open_ones)
    low, high = strata_limits(strata, mean, level, guard_fish)
    n_eff, n_if_alike = _effective(open_ones, strata, level)
    known = iter(zip(low.tolist(), high.tolist(), n_eff.tolist(), n_if_alike.tolist(), strict=True))
    return [one.closed(*next(known), level) if isinstance(one, _Open) else one for one in means]


def _effective(surveys: Sequence[_Open], strata: Strata, level: float) -> tuple[Floats, Floats]:
    """Return the effective number of the plain formula, and ``1 / sum(w_h^2 / n_h)``, of each survey."""
    there = strata.n > 0
    n_if_alike = 1 / sum_over_classes(np.where(there, strata.w**2 / np.where(there, strata.n, 1.0), 0.0))
    mean, variance, df = (
        np.array([getattr(one, name) for one in surveys]) for name in ("mean", "variance", "df")
    )
    spread = mean * (1 - mean)
    varied = (variance >= NO_VARIANCE) & (mean >= NO_VARIANCE) & (mean <= 1 - NO_VARIANCE)
    n_eff = n_if_alike.copy()
    if varied.any():
        n_eff[varied] = effective_number(
            spread[varied], variance[varied], df[varied], strata.n_alleles[varied], level
        )
    return n_eff, n_if_alike


@dataclass(frozen=True, slots=True)
class _Open:
    """A weighted mean that wants its limits: its classes, and what else is said of it."""

    classes: tuple[Sums, ...]
    w: Floats
    g: Floats
    mean: float
    between: float
    variance: float
    df: float
    n_fish: int
    share: float | None
    uncovered: tuple[str, ...]
    borrowed: tuple[str, ...]
    part: str

    @property
    def n_alleles(self) -> float:
        known = [sums.n_alleles for sums in self.classes if sums.n_alleles is not None]
        return float(sum(known)) if len(known) == len(self.classes) else np.nan

    def closed(self, low: float, high: float, n_eff: float, n_if_alike: float, level: float) -> CatchWeighted:
        """Return the mean with its limits, and the effective number of the plain formula."""
        return CatchWeighted(
            self.mean, low, high, self.n_fish, n_eff,
            guard_words(self.n_fish, low, high, BORROWED_SPREAD if self.borrowed else "", self.part),
            level, self.variance**0.5, self.df,
            share_covered=self.share, uncovered=self.uncovered, borrowed=self.borrowed, n_if_alike=n_if_alike,
        )  # fmt: skip


def _strata_of(surveys: Sequence[_Open]) -> tuple[Strata, Floats]:
    rows = by_class(
        [
            [
                (*of_class(sums), w, g)
                for sums, w, g in zip(one.classes, one.w.tolist(), one.g.tolist(), strict=True)
            ]
            for one in surveys
        ],
        7,
    )
    between, alleles, mean = (
        np.array([getattr(one, name) for one in surveys], dtype=np.float64)
        for name in ("between", "n_alleles", "mean")
    )
    n, q1, q2, least_q, most_q, weight, coefficient = (rows[at] for at in range(7))
    return Strata(n, q1, q2, least_q, most_q, weight, coefficient, between, alleles), mean


def _one_survey(
    sums: Mapping[str, Sums],
    n_caught: Mapping[str, int],
    coefficients: Coefficients,
    weights: Weights,
    level: float,
) -> CatchWeighted | _Open:
    """Return the mean with what goes with it, without limits where it has none."""
    by_name(n_caught, f"fish {weights.has}")
    for name, class_sums in by_name(sums, "sums of the size classes").items():
        if not isinstance(class_sums, Sums):
            raise NumberFault(f"sums of {name}: {class_sums!r} are not the sums of some fish")
        if class_sums.n and name not in n_caught:
            raise NumberFault(f"size class {name!r} has results and no number {weights.has}")
    caught = counts_by_name(n_caught, f"fish {weights.has} in {{}}")
    for name, in_catch in caught.items():
        if name in sums and sums[name].n > in_catch:
            raise NumberFault(
                f"size class {name!r}: {sums[name].n} fish have a result but {in_catch} were {weights.has}"
            )
    covered = [name for name, in_catch in caught.items() if in_catch and name in sums and sums[name].n]
    uncovered = tuple(name for name, in_catch in caught.items() if in_catch and name not in covered)
    total = sum(caught.values())
    share = sum(caught[name] for name in covered) / total if total else None
    if not covered:
        return CatchWeighted(
            None, None, None, 0, guard=guard_words(0, None, None), level=level,
            share_covered=share, uncovered=uncovered,
        )  # fmt: skip
    part = weights.part if uncovered else ""
    n_measured = sum(caught[name] for name in covered)
    w = np.array([caught[name] for name in covered], dtype=np.float64) / n_measured
    n = np.array([sums[name].n for name in covered], dtype=np.float64)
    g = coefficients(n, np.array([caught[name] for name in covered], dtype=np.float64))
    about = _About(None if weights.known else n_measured, share, uncovered, part)
    return _of_classes({name: sums[name] for name in covered}, w, g, about, level)


@dataclass(frozen=True, slots=True)
class _About:
    """What goes with a weighted mean: the catch its weights are a sample of, and what of it the classes cover."""

    n_catch: int | None
    share: float | None
    uncovered: tuple[str, ...]
    part: str


def _of_classes(
    covered: Mapping[str, Sums], w: Floats, g: Floats, about: _About, level: float
) -> CatchWeighted | _Open:
    """Return the mean over some classes, each with a fish, at their weights; without limits where it has none."""
    share, uncovered, part = about.share, about.uncovered, about.part
    n = np.array([of_class.n for of_class in covered.values()], dtype=np.float64)
    n_fish = sum(of_class.n for of_class in covered.values())
    means = np.array([of_class.sum_q for of_class in covered.values()]) / n
    mean = float(np.clip(w @ means, 0.0, 1.0))
    if about.n_catch is None and not g.any():
        return CatchWeighted(
            mean, mean, mean, n_fish, guard=guard_words(n_fish, None, None, part), level=level, se=0.0,
            share_covered=share, uncovered=uncovered,
        )  # fmt: skip
    borrowed = tuple(name for name, weight in zip(covered, g, strict=True) if covered[name].n == 1 and weight)
    if n_fish - len(covered) < 1:
        word = ONE_FISH_A_CLASS if n_fish > 1 else ""
        return CatchWeighted(
            mean, None, None, n_fish, guard=guard_words(n_fish, None, None, word, part), level=level,
            share_covered=share, uncovered=uncovered, borrowed=borrowed,
        )  # fmt: skip
    own = np.array([of_class.variance or 0.0 for of_class in covered.values()])
    variance, df = _variance_and_df(own, n, g)
    between = 0.0 if about.n_catch is None else float((w * (means - mean) ** 2).sum()) / about.n_catch
    return _Open(
        tuple(covered.values()), w, g, mean, between, variance + between, df, n_fish, share, uncovered, borrowed, part,
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
