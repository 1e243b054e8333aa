"""What misread alleles do to a mean: its correction, how far they could have moved it, and what they alone explain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from scipy.special import betainc

from geneticlog.rules.arguments import Floats, NumberFault, level_of, number, proportion, proportions
from geneticlog.rules.genetics.miscalls import FEWEST_LOCI, miscall_rate_of
from geneticlog.rules.statistics.estimates import ALPHA, Limits
from geneticlog.rules.statistics.sums import Sums

F = TypeVar("F", float, Floats)


def corrected(seen: float, miscall_rate: float) -> float:
    """Return the mean q behind one that was read with misreadings, ``(p - e) / (1 - 2e)``, kept within 0 to 1.

    raises
        NumberFault for a mean outside 0 to 1, or a rate outside 0 to 0.1.
    source
        Rogan WJ, Gladen B (1978) American Journal of Epidemiology 107:71-76 [from memory], with both errors e.
    """
    p, e = proportion(seen, "mean q"), miscall_rate_of(miscall_rate)
    return min(1.0, max(0.0, _behind(p, e)))


def _behind(seen: F, e: float) -> F:
    return (seen - e) / (1 - 2 * e)


def corrected_heterozygosity(mean_q: float, mean_h: float, miscall_rate: float) -> float:
    """Return the mean heterozygosity behind one that was read with misreadings, kept within 0 to 1.

    A homozygote is read as heterozygous with chance ``c = 2e(1-e)`` and a heterozygote as one with ``1 - c``, so
    ``(H - c) / (1 - 2c)``; and never above what the corrected q allows.

    raises
        NumberFault for means outside 0 to 1, or a rate outside 0 to 0.1.
    source
        As for `corrected`.
    """
    h, e = proportion(mean_h, "mean heterozygosity"), miscall_rate_of(miscall_rate)
    p, crossed = corrected(mean_q, e), 2 * e * (1 - e)
    return min(2 * min(p, 1 - p), max(0.0, (h - crossed) / (1 - 2 * crossed)))


@dataclass(frozen=True, slots=True)
class Typed:
    """The fish of a mean, for what misreading could have done to it.

    sums
        Of the fish with a result that are in the mean.
    n_if_alike
        Fish that a simple sample would need to carry as much where none varies: 1 / sum(w_h^2 / n_h) for size classes
        with weights w_h, their number without.
    """

    sums: Sums
    n_if_alike: float


def reach_of_misreading(
    low: float, high: float, miscall_rate: float, typed: Typed | None = None, level: float = 0.95
) -> Limits:
    """Return limits of a mean that reach as far as misreading could have moved it at most.

    Misreading draws every mean towards one half, so the lower limit of a mostly northern lake goes down to
    ``(low - e) / (1 - 2e)`` and the upper of a mostly Florida one up; the other end stays, for the rate may be 0.
    Where misreading alone explains the alleles (`misreading_alone`) the fish may all be of one kind, and the limits
    reach as far as those of such fish, ``1 - ((1 - level) / 2)^(1/n)``: misread fish say no more than clean ones.

    low, high
        Limits of the plain mean.
    miscall_rate
        The upper limit of the panel's rate.
    typed
        The fish of the mean; None leaves aside that they may all be of one kind.
    raises
        NumberFault for limits outside 0 to 1 or a rate outside 0 to 0.1.
    source
        Project's own; the correction as for `corrected`, at the end of the rate's interval that widens most. The limit
        for fish of one kind is Clopper and Pearson's (1934) Biometrika 26:404-413.
    """
    low, high = proportion(low, "lower limit"), proportion(high, "upper limit")
    reached = Limits(min(low, corrected(low, miscall_rate)), max(high, corrected(high, miscall_rate)))
    if typed is None or not typed.sums.n or not misreading_alone(low, high, typed.sums, miscall_rate):
        return reached
    unseen = 1 - ((1 - level_of(level)) / 2) ** (
        1 / number(typed.n_if_alike, "fish if all are alike", least=1)
    )
    if _mostly_other(typed.sums):
        return Limits(reached.low, max(reached.high, unseen))
    return Limits(min(reached.low, 1 - unseen), reached.high)


def reaches_of_misreading(low: Floats, high: Floats, miscall_rate: float) -> tuple[Floats, Floats]:
    """Return `reach_of_misreading` of many means at once, without their fish: the lower limits and the upper ones.

    low, high
        (means,) limits of the plain means.
    raises
        NumberFault for limits outside 0 to 1 or a rate outside 0 to 0.1.
    """
    low, high, e = (
        proportions(low, "lower limits"),
        proportions(high, "upper limits"),
        miscall_rate_of(miscall_rate),
    )
    return np.minimum(low, np.clip(_behind(low, e), 0, 1)), np.maximum(high, np.clip(_behind(high, e), 0, 1))


def misreading_alone(low: float, high: float, sums: Sums, miscall_rate: float, alpha: float = ALPHA) -> bool:
    """Return whether misreading alone explains the alleles that some fish show of the taxon that is rare among them.

    So it is where the lower limit of their mean is no higher than the rate, where that many alleles of all that were
    read would be misread at that rate with a chance of ``alpha`` and more, and where the fish that shows most would do
    so, looked for among all of them (Bonferroni). Every fish counts with the mean number of alleles read; where that is
    not stated, with those of 25 loci. Where most alleles are the panel's taxon, the other one is the rare one, and the
    upper limit counts.

    low, high
        Limits of the plain mean, before `reach_of_misreading`.
    sums
        Of the fish, with the lowest and highest q.
    miscall_rate
        The upper limit of the panel's rate.
    raises
        NumberFault for limits outside 0 to 1, a rate outside 0 to 0.1 or a chance outside 0 to 1; for no fish.
    source
        Binomial tails; Dunn OJ (1961) Journal of the American Statistical Association 56:52-64 for the most of several.
    """
    low, high, e = (
        proportion(low, "lower limit"),
        proportion(high, "upper limit"),
        miscall_rate_of(miscall_rate),
    )
    level_of(alpha)
    if not isinstance(sums, Sums) or not sums.n:
        raise NumberFault("misreading: there are no fish that show anything")
    n, other = sums.n, _mostly_other(sums)
    rare = sums.sum_q if other else n - sums.sum_q
    least = low if other else 1 - high
    furthest = sums.most_q if other else None if sums.least_q is None else 1 - sums.least_q
    if least > e:
        return False
    each = 2.0 * FEWEST_LOCI if sums.n_alleles is None else sums.n_alleles / n
    most = min(1.0, rare) if furthest is None else furthest
    return _chance(rare * each, n * each, e) >= alpha and _chance(most * each, each, e) * n >= alpha


@dataclass(frozen=True, slots=True)
class Reading:
    """How a mean was read: the upper limit of its panel's miscall rate, and whether misreading alone explains it."""

    rate: float
    alone: bool


NOT_MISREAD = Reading(0.0, False)


@dataclass(frozen=True, slots=True)
class Readings:
    """How the two means of a difference were read, the first and the second, and whether by one panel."""

    first: Reading
    second: Reading
    one_panel: bool


def misreading_parts(limits: tuple[float, float], means: tuple[float, float], readings: Readings) -> bool:
    """Return whether misreading alone may be what parts two means whose difference leaves 0 out.

    So it is where misreading alone explains either mean and both are mostly of one taxon; and where two panels read
    them, and the end of the difference that is nearer to 0 is no farther from it than misreading at the upper limit of
    either rate could have moved it. One panel draws both means towards one half alike, and parts nothing.

    limits
        Of the first mean minus the second.
    means
        The first and the second.
    raises
        NumberFault for a mean outside 0 to 1 or a rate outside 0 to 0.1.
    source
        Project's own; how far a mean was moved as for `corrected`.
    """
    low, high = limits
    if low <= 0 <= high:
        return False
    first, second = readings.first, readings.second
    if first.alone and second.alone and (means[0] <= 0.5) == (means[1] <= 0.5):
        return True
    if readings.one_panel:
        return False
    moved = [mean - corrected(mean, one.rate) for mean, one in zip(means, (first, second), strict=True)]
    if low > 0:
        return low <= max(0.0, moved[0]) + max(0.0, -moved[1])
    return -high <= max(0.0, -moved[0]) + max(0.0, moved[1])


def _mostly_other(sums: Sums) -> bool:
    return sums.sum_q <= sums.n / 2


def _chance(misread: float, read: float, rate: float) -> float:
    """Return the chance of that many misread alleles and more, between whole numbers of them too."""
    if misread < 0.5:
        return 1.0
    k = min(misread, read)
    return float(betainc(k, read - k + 1, rate))
