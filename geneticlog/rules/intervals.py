"""Intervals: for a share of fish, for a mean allele proportion, and for the difference of two of them.

The fish is the sampling unit throughout: a fish's 2L alleles are not independent evidence about the lake.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv, ndtri, stdtrit

from geneticlog.rules.arguments import (
    Floats,
    NumberFault,
    array,
    count,
    level_of,
    number,
    numbers,
    proportions,
)
from geneticlog.rules.statistics.estimates import Estimate, Limits, guard_words, unseen_share

__all__ = [
    "GUARD_FISH",
    "Estimate",
    "Estimates",
    "Limits",
    "beta_limits",
    "clopper_pearson",
    "difference",
    "effective_number",
    "guarded_number",
    "jeffreys",
    "mean_from_sums",
    "mean_from_sums_many",
    "mean_proportion",
    "share",
    "t_quantile",
    "unseen_share",
    "wilson",
]

# Fish added at q = 0 and again at q = 1 before the variance is taken (never to the mean). Project's own choice:
# it lifts the lowest coverage of Korn-Graubard, from 8 fish on, from .897 to .946 (simulated lakes, DEVELOPERS.md).
GUARD_FISH = 0.02
# A variance of q below this is none: a millionth of standard deviation, far below the fourth decimal a lab prints.
NO_VARIANCE = 1e-12
FEW = 16  # degrees of freedom whose quantiles are found one by one
# A limit nearer to 0 or 1 than this is 0 or 1. One allele in a million fish typed at a hundred loci is 5e-9 of
# theirs; below 1e-12 a beta quantile tells of the tail of the curve (it ends at 2.2e-308, where numbers end), not of
# any lake.
NO_ALLELE = 1e-12


def wilson(x: int, n: int, level: float = 0.95) -> Limits:
    """Return the Wilson limits for a share of fish.

    ``[p + z^2/2n +/- z sqrt(p(1-p)/n + z^2/4n^2)] / (1 + z^2/n)``.

    x, n
        Fish of the kind, and fish in all. Of 0 fish nothing is known: limits 0 and 1.
    raises
        NumberFault for x above n, a number that is negative or not whole, or a level outside 0 to 1.
    source
        Wilson EB (1927) Journal of the American Statistical Association 22:209-212.
    """
    x, n = _x_of_n(x, n)
    if n == 0:
        return Limits(0.0, 1.0)
    z2 = float(ndtri((1 + level_of(level)) / 2)) ** 2
    p = x / n
    middle = p + z2 / (2 * n)
    reach = (z2 * (p * (1 - p) / n + z2 / (4 * n * n))) ** 0.5
    low = (middle - reach) / (1 + z2 / n) if x else 0.0
    high = (middle + reach) / (1 + z2 / n) if x < n else 1.0
    return Limits(low, high)


def clopper_pearson(x: int, n: int, level: float = 0.95) -> Limits:
    """Return the exact (tail) limits for a share of fish; arguments and faults as for `wilson`.

    source
        Clopper CJ, Pearson ES (1934) Biometrika 26:404-413, by beta quantiles.
    """
    x, n = _x_of_n(x, n)
    tail = (1 - level_of(level)) / 2
    low = float(betaincinv(x, n - x + 1, tail)) if x else 0.0
    high = float(betaincinv(x + 1, n - x, 1 - tail)) if x < n else 1.0
    return Limits(low, high)


def jeffreys(x: int, n: int, level: float = 0.95) -> Limits:
    """Return the Jeffreys limits for a share of fish; arguments and faults as for `wilson`.

    Quantiles of Beta(x + 1/2, n - x + 1/2), with the lower limit 0 at x = 0 and the upper 1 at x = n.

    source
        Brown LD, Cai TT, DasGupta A (2001) Statistical Science 16:101-133.
    """
    x, n = _x_of_n(x, n)
    tail = (1 - level_of(level)) / 2
    low = float(betaincinv(x + 0.5, n - x + 0.5, tail)) if x else 0.0
    high = float(betaincinv(x + 0.5, n - x + 0.5, 1 - tail)) if x < n else 1.0
    return Limits(low, high)


def _x_of_n(x: int, n: int) -> tuple[int, int]:
    x, n = count(x, "fish of the kind"), count(n, "fish in all")
    if x > n:
        raise NumberFault(f"fish of the kind: {x} is more than the {n} fish in all")
    return x, n


def share(x: int, n: int, level: float = 0.95) -> Estimate:
    """Return x of n fish as a share with Wilson limits and its guard; of 0 fish a guard and no number.

    Arguments, faults and source as for `wilson`.
    """
    x, n = _x_of_n(x, n)
    if n == 0:
        return Estimate(None, None, None, 0, guard=guard_words(0, None, None), level=level_of(level))
    low, high = wilson(x, n, level)
    return Estimate(x / n, low, high, n, float(n), guard_words(n, low, high), level)


def mean_proportion(
    q: ArrayLike, n_loci: ArrayLike | None, level: float = 0.95, guard_fish: float = GUARD_FISH
) -> Estimate:
    """Return the mean allele proportion of some fish with its guarded Korn-Graubard interval.

    The formula is at `mean_from_sums`.

    q
        (fish,) Florida-allele proportion of each fish, 0 to 1.
    n_loci
        Scored loci of each fish, (fish,), or one number for all; None when the lab did not say.
    level, guard_fish
        Confidence level; fish added at 0 and at 1 for the variance alone. ``guard_fish=0`` is the published form.
    returns
        Estimate; one fish has a mean, no interval and the guard "one fish".
    raises
        NumberFault for an empty list, a q outside 0 to 1, loci that are no whole number from 1 up, or lists of
        different lengths.
    source
        Korn EL, Graubard BI (1998) Survey Methodology 24:193-201, in the form of the R package survey,
        svyciprop(method = "beta"). The guard is the project's own extension.
    """
    values = proportions(q, "q")
    alleles: float | None = None
    if n_loci is not None:
        loci = numbers(n_loci, "n_loci")
        if loci.size not in (1, values.size):
            raise NumberFault(f"n_loci: {loci.size} numbers for {values.size} fish; each fish needs its own")
        for position, value in enumerate(loci):
            count(float(value), f"n_loci, number {position + 1}", least=1)
        alleles = float(2 * np.broadcast_to(loci, values.shape).sum())
    return mean_from_sums(
        values.size, float(values.sum()), float((values**2).sum()), alleles, level, guard_fish
    )


def mean_from_sums(
    n: int,
    sum_q: float,
    sum_q2: float,
    n_alleles: float | None,
    level: float = 0.95,
    guard_fish: float = GUARD_FISH,
) -> Estimate:
    """Return the mean allele proportion of n fish from sums, with its guarded Korn-Graubard interval.

    With w = guard_fish and m = n + 2w: ``p_m = (sum_q + w)/m``, ``v_m = [(sum_q2 + w)/m - p_m^2] m/(m-1)``,
    ``n_eff = p_m (1-p_m) n / v_m * (t[A-1] / t[n-1])^2`` with A alleles and t the upper quantile of Student's t;
    the limits are the beta quantiles of Clopper and Pearson at the plain mean p of n_eff observations.
    n_eff = n fish when p is 0 or 1, or when all fish are alike and w = 0.

    n, sum_q, sum_q2
        Fish with a result, the sum of their q and of their q squared.
    n_alleles
        Sum of 2 x scored loci; None (or NaN) if unknown, which counts as very many: a slightly wider interval.
    raises
        NumberFault for sums that no n proportions can have.
    source
        As for `mean_proportion`.
    """
    return mean_from_sums_many(
        [n], [sum_q], [sum_q2], [np.nan if n_alleles is None else n_alleles], level, guard_fish
    ).one(0)


@dataclass(frozen=True, slots=True)
class Estimates:
    """Many means with their intervals: arrays of one length, NaN where an Estimate would hold None."""

    mean: Floats
    low: Floats
    high: Floats
    n: NDArray[np.int64]
    n_effective: Floats
    se: Floats
    level: float

    def one(self, index: int) -> Estimate:
        """Return one group as an Estimate, with None for NaN and its guard in words."""
        n, low, high = int(self.n[index]), _or_none(self.low[index]), _or_none(self.high[index])
        return Estimate(
            _or_none(self.mean[index]),
            low,
            high,
            n,
            _or_none(self.n_effective[index]),
            guard_words(n, low, high),
            self.level,
            _or_none(self.se[index]),
            float(n - 1) if n > 1 else None,
        )


def _or_none(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def mean_from_sums_many(
    n: ArrayLike,
    sum_q: ArrayLike,
    sum_q2: ArrayLike,
    n_alleles: ArrayLike,
    level: float = 0.95,
    guard_fish: float = GUARD_FISH,
) -> Estimates:
    """Return what `mean_from_sums` returns, for many groups at once.

    n, sum_q, sum_q2, n_alleles
        (groups,) each; n_alleles NaN where unknown. A group of no fish has n = 0 and sums of 0.
    returns
        Estimates of (groups,) arrays; NaN mean for no fish, NaN limits below two fish.
    raises
        NumberFault naming the first group whose sums no n proportions can have; for lists of different lengths.
    """
    level_of(level)
    number(guard_fish, "guard_fish", least=0)
    fish, q1, q2, alleles = _checked_sums(n, sum_q, sum_q2, n_alleles)
    with np.errstate(divide="ignore", invalid="ignore"):
        p = np.clip(q1 / fish, 0.0, 1.0)
        se = np.sqrt(np.maximum(q2 / fish - p**2, 0.0) / (fish - 1))
        v_m = _with_guard(fish, q1, q2, guard_fish)[1]
    p[fish == 0] = np.nan
    has_interval = fish >= 2
    se[~has_interval] = np.nan
    # Sums carry rounding of their own: a mean this near to 0 or 1, or a variance this small, is exactly that.
    p = np.where(p < NO_VARIANCE, 0.0, np.where(p > 1 - NO_VARIANCE, 1.0, p))
    alike = has_interval & ((p == 0) | (p == 1) | (v_m < NO_VARIANCE))
    se[alike & (v_m < NO_VARIANCE)] = 0.0
    n_eff = np.full(fish.shape, np.nan)
    n_eff[alike] = fish[alike]
    rest = has_interval & ~alike
    if rest.any():
        n_eff[rest] = guarded_number(fish[rest], q1[rest], q2[rest], alleles[rest], level, guard_fish)
    low, high = beta_limits(p, n_eff, level)
    return Estimates(p, low, high, fish.astype(np.int64), n_eff, se, float(level))


def _checked_sums(
    n: ArrayLike, sum_q: ArrayLike, sum_q2: ArrayLike, n_alleles: ArrayLike
) -> tuple[Floats, Floats, Floats, Floats]:
    fish, q1, q2 = numbers(n, "n"), numbers(sum_q, "sum of q"), numbers(sum_q2, "sum of q squared")
    alleles = np.atleast_1d(array(n_alleles, "alleles"))
    if not fish.shape == q1.shape == q2.shape == alleles.shape:
        raise NumberFault(
            f"sums: {fish.size}, {q1.size}, {q2.size} and {alleles.size} groups; each group needs all four"
        )
    slack = 1e-9 * (fish + 1)
    for bad, words, value in (
        ((fish < 0) | (fish != np.floor(fish)), "n {} is not a whole number of fish", fish),
        ((q1 < -slack) | (q1 > fish + slack), "sum of q {} does not fit that many proportions", q1),
        (
            (q2 > q1 + slack) | (q2 * fish < q1**2 - slack * (fish + 1)),
            "sum of q squared {} does not fit",
            q2,
        ),
        ((alleles < 2 * fish) & (fish > 0), "{} alleles are fewer than two a fish", alleles),
    ):
        if bad.any():
            at = int(np.flatnonzero(bad)[0])
            raise NumberFault(f"group {at + 1} of n = {fish[at]:g}: {words.format(f'{value[at]:g}')}")
    return fish, q1, q2, alleles


def _with_guard(fish: Floats, q1: Floats, q2: Floats, guard_fish: float) -> tuple[Floats, Floats]:
    """Return mean and variance of fish among which guard_fish stand at q = 0 and at q = 1."""
    m = fish + 2 * guard_fish
    p_m = (q1 + guard_fish) / m
    return p_m, np.maximum((q2 + guard_fish) / m - p_m**2, 0.0) * m / (m - 1)


def guarded_number(
    n: Floats, sum_q: Floats, sum_q2: Floats, n_alleles: Floats, level: float, guard_fish: float = GUARD_FISH
) -> Floats:
    """Return the effective number of `mean_from_sums` for n fish, above 1, which need not be whole.

    raises
        NumberFault as `effective_number`, so for fish that are all alike and a guard of 0.
    """
    p_m, v_m = _with_guard(n, sum_q, sum_q2, guard_fish)
    return effective_number(p_m * (1 - p_m), v_m / n, n - 1, n_alleles, level)


def effective_number(spread: Floats, variance: Floats, df: Floats, n_alleles: Floats, level: float) -> Floats:
    """Return Korn and Graubard's effective sample size, ``spread / variance * (t[A-1] / t[df])^2``.

    spread
        p (1 - p), the variance of a single allele.
    variance, df
        Variance of the mean, above 0, and its degrees of freedom.
    n_alleles
        Alleles A, above 1; NaN or infinity takes the normal quantile.
    raises
        NumberFault for a spread below 0, a variance that is not above 0, too few alleles or degrees of freedom.
    source
        Korn EL, Graubard BI (1998) Survey Methodology 24:193-201.
    """
    wide, narrow = array(spread, "p (1 - p)"), array(variance, "variance of the mean")
    _all(wide >= 0, wide, "p (1 - p)", "is not a number from 0 up")
    _all(narrow > 0, narrow, "variance of the mean", "is not a number above 0")
    alleles = array(n_alleles, "alleles")
    top = t_quantile(np.where(np.isnan(alleles), np.inf, alleles - 1), level)
    return np.asarray(wide / narrow * (top / t_quantile(df, level)) ** 2, dtype=np.float64)


def _all(fits: NDArray[np.bool_], values: Floats, what: str, why: str) -> None:
    if not fits.all():
        bad = np.flatnonzero(~np.ravel(fits))
        raise NumberFault(f"{what}: {np.ravel(values)[bad[0]]:g} {why}")


def t_quantile(df: Floats, level: float) -> Floats:
    """Return the two-sided quantile of Student's t for each degrees of freedom; infinity gives the normal one.

    raises
        NumberFault for degrees of freedom that are not above 0, or a level outside 0 to 1.
    """
    upper = (1 + level_of(level)) / 2
    # A portfolio of lakes has few different numbers of fish and of loci: each quantile is found once. Of a few numbers
    # looking for equal ones takes longer than their quantiles.
    asked = array(df, "degrees of freedom")
    few = asked.size < FEW
    different, where = (asked, None) if few else np.unique(asked, return_inverse=True)
    _all(different > 0, different, "degrees of freedom", "is not a number above 0")
    finite = np.where(np.isinf(different), 1.0, different)
    quantiles = np.where(np.isinf(different), ndtri(upper), stdtrit(finite, upper))
    found = quantiles if where is None else quantiles[where].reshape(asked.shape)
    return np.asarray(found, dtype=np.float64)


def beta_limits(p: Floats, n_eff: Floats, level: float) -> tuple[Floats, Floats]:
    """Return the Clopper-Pearson limits of a proportion p seen in n_eff observations, which need not be whole.

    NaN where n_eff is NaN; lower limit 0 at p = 0, upper limit 1 at p = 1. A limit within 1e-12 of 0 or 1, far
    below what one allele could add, is 0 or 1.

    raises
        NumberFault for p outside 0 to 1, n_eff that is not above 0, or a level outside 0 to 1.
    source
        Clopper CJ, Pearson ES (1934) Biometrika 26:404-413; not only for whole numbers, as in Korn and Graubard (1998).
    """
    tail = (1 - level_of(level)) / 2
    p, n_eff = array(p, "p"), array(n_eff, "effective number")
    if p.shape != n_eff.shape:
        raise NumberFault(f"p and effective number: {p.size} against {n_eff.size}; each mean needs both")
    known = ~np.isnan(n_eff)
    _all(~known | (n_eff > 0), n_eff, "effective number", "is not a number above 0")
    _all(~known | ((p >= 0) & (p <= 1)), p, "p", "is outside 0 to 1")
    low, high = np.where(known, 0.0, np.nan), np.where(known, 1.0, np.nan)
    some, short = known & (p > 0), known & (p < 1)
    low[some] = betaincinv(n_eff[some] * p[some], n_eff[some] * (1 - p[some]) + 1, tail)
    high[short] = betaincinv(n_eff[short] * p[short] + 1, n_eff[short] * (1 - p[short]), 1 - tail)
    return np.where(low < NO_ALLELE, 0.0, low), np.where(high > 1 - NO_ALLELE, 1.0, high)


def difference(a: Estimate, b: Estimate) -> Estimate:
    """Return a minus b with limits recovered from the limits of each (MOVER), for independent groups.

    ``low = d - sqrt[(a - a.low)^2 + (b.high - b)^2]``, ``high = d + sqrt[(a.high - a)^2 + (b - b.low)^2]``.
    It takes any limits (Korn-Graubard for means, Wilson for shares) and keeps their asymmetry.

    returns
        Estimate of the difference, -1 to 1; None for what is missing on either side, and the guards of both sides.
        n counts the fish of both.
    raises
        NumberFault when the two were made at different levels.
    source
        Zou GY, Donner A (2008) Statistics in Medicine 27:1693-1702; Newcombe RG (1998) Statistics in Medicine
        17:873-890 for two shares.
    """
    for side in (a, b):
        if not isinstance(side, Estimate):
            raise NumberFault(f"difference: {side!r} is not an estimate")
    if a.level != b.level:
        raise NumberFault(
            f"difference: limits at level {a.level:g} cannot be compared with level {b.level:g}"
        )
    guard = "; ".join(dict.fromkeys(word for side in (a, b) for word in side.guard.split("; ") if word))
    d = None if a.mean is None or b.mean is None else a.mean - b.mean
    low = high = None
    if (
        a.mean is not None
        and b.mean is not None
        and a.low is not None
        and a.high is not None
        and b.low is not None
        and b.high is not None
    ):
        low = (a.mean - b.mean) - ((a.mean - a.low) ** 2 + (b.high - b.mean) ** 2) ** 0.5
        high = (a.mean - b.mean) + ((a.high - a.mean) ** 2 + (b.mean - b.low) ** 2) ** 0.5
    return Estimate(d, low, high, a.n + b.n, guard=guard, level=a.level)
