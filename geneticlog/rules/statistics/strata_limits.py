"""The limits of means weighted over size classes, for many surveys at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geneticlog.rules.arguments import Floats
from geneticlog.rules.intervals import NO_VARIANCE, beta_limits, effective_number, guarded_number
from geneticlog.rules.statistics.guarded_variance import guarded_variances, sum_over_classes, within_classes

# Fish added at the lowest and at the highest q of a survey before the variance of a class is taken, in all of its
# classes together; fewer than in a contrast, as limits of a proportion are wider by themselves. Project's own choice:
# a tenth of a fish is the least that holds .94 where rare carriers or old giants hide from a class of eight.
SPARE_FISH = 0.12


@dataclass(frozen=True, slots=True)
class Strata:
    """Surveys with their size classes, as arrays of (classes, surveys), 0 where a survey has fewer classes.

    n, q1, q2, least, most
        Fish, sums of q and of q squared, lowest and highest q.
    w, g
        Weight of a class, 1 together; what its variance weighs in that of the mean, w_h^2 / n_h for weights that are
        given or come from the catch.
    between, n_alleles
        (surveys,) the part of the variance that comes from the catch that gave the weights; alleles, NaN if unknown.
    """

    n: Floats
    q1: Floats
    q2: Floats
    least: Floats
    most: Floats
    w: Floats
    g: Floats
    between: Floats
    n_alleles: Floats


def strata_limits(
    strata: Strata, mean: Floats, level: float, guard_fish: float, spare_fish: float = SPARE_FISH
) -> tuple[Floats, Floats]:
    """Return the limits of weighted means: Korn and Graubard's, on class variances with a guard.

    ``V = sum g_h v_h + between`` with the variances of `guarded_variances`, all of whose added fish the classes share
    by g; ``n_eff = p (1-p) / V (t[A-1] / t[df])^2`` with Satterthwaite's df; limits by `beta_limits`. They are cut to
    those the sample gives as one group (`as_one_group`). Where every fish is 0, or 1, ``n_eff = 1 / sum(w_h^2 / n_h)``.

    mean
        (surveys,) the weighted means.
    level, guard_fish, spare_fish
        Confidence level; fish added at 0 and at 1, and at the ends seen, in all classes together, for the variance
        alone. With guard_fish 0 nothing is added and nothing cut: the plain form.
    raises
        NumberFault for a level outside 0 to 1.
    source
        Korn EL, Graubard BI (1998) Survey Methodology 24:193-201; the guards and the cut are the project's own.
    """
    n = np.where(strata.n > 0, strata.n, 1.0)
    low = np.min(np.where(strata.n > 0, strata.least, 1.0), axis=0)
    high = np.max(np.where(strata.n > 0, strata.most, 0.0), axis=0)
    part = strata.g / np.maximum(sum_over_classes(strata.g), NO_VARIANCE)
    spare = spare_fish * part if guard_fish else np.zeros(part.shape)
    own = guarded_variances(n, strata.q1, strata.q2, (low, high), guard_fish * part, spare)
    within, below, df_pooled = within_classes(np.where(strata.n > 0, strata.n, 0.0), strata.g, own)
    variance = within + strata.between
    with np.errstate(divide="ignore", invalid="ignore"):
        df = np.where(below > 0, within**2 / below, df_pooled)
    n_eff = 1 / sum_over_classes(strata.w**2 / n)
    at_an_end = (mean < NO_VARIANCE) | (mean > 1 - NO_VARIANCE)
    some = ~at_an_end & (variance >= NO_VARIANCE)
    n_eff[some] = effective_number(
        (mean * (1 - mean))[some], variance[some], df[some], strata.n_alleles[some], level
    )
    least, most = beta_limits(mean, n_eff, level)
    if not guard_fish:
        return least, most
    at_least, at_most = as_one_group(strata, mean, level, guard_fish)
    return np.maximum(least, at_least), np.minimum(most, at_most)


def as_one_group(strata: Strata, mean: Floats, level: float, guard_fish: float) -> tuple[Floats, Floats]:
    """Return the limits that the weighted mean of q and of q squared give m fish, the fewest the sample can stand for.

    A fish of class h weighs w_h / n_h; m is 1 over the weight of the heaviest (and no more than w_h / g_h). V, the
    variance of the weighted mean, is at most that of the mean of m fish drawn at random from the whole catch,
    ``[sum w_h s_h^2 + sum w_h (p_h - p)^2] / m``: of its two sums, ``sum g_h s_h^2`` has g_h <= w_h / m, and
    ``sum w_h (p_h - p)^2 / n'`` has 1/n' <= w_h / n_h, since no more fish are typed than caught. Limits wider than
    these say less than the fish do. They are those of `mean_from_sums`; where every fish caught is typed, m is n.

    returns
        Limits; 0 and 1 for m below two fish, which have no interval, unless all are 0 or all are 1.
    source
        The project's own bound; the variance as in Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 12.
    """
    n, w = np.where(strata.n > 0, strata.n, 1.0), np.where(strata.w > 0, strata.w, 1.0)
    m = 1 / np.max(np.where(strata.n > 0, np.maximum(strata.w / n, strata.g / w), 0.0), axis=0)
    at_an_end = (mean < NO_VARIANCE) | (mean > 1 - NO_VARIANCE)
    n_eff, some = m.copy(), ~at_an_end & (m >= 2)
    square = sum_over_classes(strata.w / n * strata.q2)
    if some.any():
        n_eff[some] = guarded_number(
            m[some], (m * mean)[some], (m * square)[some], strata.n_alleles[some], level, guard_fish
        )
    low, high = beta_limits(mean, n_eff, level)
    unknown = ~at_an_end & (m < 2)
    return np.where(unknown, 0.0, low), np.where(unknown, 1.0, high)
