"""The error model of a panel: how often it misreads an allele, and what misreading alone can explain.

A pure northern fish read at 38 loci shows some Florida allele with a chance of .32 where one allele in 200 is misread.
So an allele seen is not yet a carrier, and the mean of a pure lake is the miscall rate and not 0.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import bdtrc, xlog1py, xlogy

from geneticlog.rules.arguments import (
    NumberFault,
    count,
    level_of,
    listed,
    positive,
    proportion,
    proportions,
    same_length,
)
from geneticlog.rules.genetics.hybrid_classes import MISCALL_RATE
from geneticlog.rules.intervals import clopper_pearson
from geneticlog.rules.statistics.estimates import Limits

CARRIER_MARGIN = 2.0  # log units by which a carrier is likelier than a pure fish that was misread
FEWEST_LOCI = 25  # taken for a fish whose loci nobody stated: the smallest published SNP panel of the kind
MOST_FALSE = 0.05  # of pure fish that may pass for carriers, misread at the rate judged by
MEASURED, STATED, ASSUMED = "measured", "stated", "assumed"
HIGHEST_RATE = 0.1  # of alleles; a panel that misreads more tells nothing apart


@dataclass(frozen=True, slots=True)
class MiscallRate:
    """How often a panel reads an allele as the other one, each allele by itself.

    rate, low, high
        Share of alleles misread and its limits, 0 to 1.
    source
        "measured" (duplicates and known fish), "stated" (by whoever entered the panel) or "assumed" (nothing known).
    n_misread, n_read
        Alleles misread, and alleles read, of the duplicates and known fish; 0 where nothing is measured.
    """

    rate: float
    low: float
    high: float
    source: str
    n_misread: int = 0
    n_read: int = 0


# Without a word about a panel: genotyping error from swabs was 0.42 % in Le Vin AL et al. (2011) Molecular Ecology
# Resources 11:107-109 (abstract); the most that was read of a laboratory is 3.9 % of calls, so 2 % of alleles, in
# White BA, Shaklee JB (1991) doi 10.1139/f91-167. One rate between them, and the upper one as its limit.
ASSUMED_RATE = MiscallRate(MISCALL_RATE, 0.0, 0.02, ASSUMED)


def stated_rate(rate: float, high: float | None = None) -> MiscallRate:
    """Return a panel's miscall rate as its source states it; without an upper limit four times the rate is taken.

    raises
        NumberFault for a rate or limit outside 0 to 0.1, or a limit below the rate.
    source
        The factor four is a choice: .005 then reaches the .02 of ASSUMED_RATE.
    """
    e = _rate(rate)
    top = min(HIGHEST_RATE, 4 * e) if high is None else _rate(high)
    if top < e:
        raise NumberFault(f"miscall rate: its upper limit {top:g} is below the rate {e:g}")
    return MiscallRate(e, 0.0, top, STATED)


def measured_rate(
    duplicates: Iterable[tuple[int, int]] = (), known: Iterable[tuple[int, int]] = (), level: float = 0.95
) -> MiscallRate | None:
    """Return the miscall rate that duplicates and known fish show, with Clopper-Pearson limits; None without any.

    Two typings of one fish read every allele twice, and each allele that differs is one misreading (two at once are
    left out of account), so D different alleles of A compared give ``D / (2 A)``, the share that differs / 2. A fish
    of known kind reads each allele once. Misreadings are taken as independent: a single bad sample makes the true
    limits wider.

    duplicates
        (alleles compared, alleles that differ) of each pair of typings.
    known
        (alleles read, alleles misread) of each fish of known kind.
    raises
        NumberFault for numbers that are not whole or more misread than read.
    source
        Share of differing alleles as in Bonin A et al. (2004) Molecular Ecology 13:3261-3273; Clopper CJ, Pearson ES
        (1934) Biometrika 26:404-413.
    """
    read = wrong = 0
    for pairs, reads, what in ((duplicates, 2, "duplicates"), (known, 1, "known fish")):
        for of, misread in listed(pairs, what):
            of, misread = count(of, f"alleles of {what}"), count(misread, f"misread alleles of {what}")
            if misread > of:
                raise NumberFault(f"{what}: {misread} misread alleles are more than the {of} compared")
            read, wrong = read + reads * of, wrong + misread
    if not read:
        return None
    low, high = clopper_pearson(wrong, read, level)
    return MiscallRate(wrong / read, low, high, MEASURED, wrong, read)


def carrier_ratio(n_alleles: int, of: int, miscall_rate: float) -> float:
    """Return by how many log units a fish is likelier a carrier than a pure fish of the other taxon, misread.

    ``k ln(k / 2Le) + (2L - k) ln((1 - k/2L) / (1 - e))`` where k / 2L is above e, else 0: the likelihood of the
    alleles seen at their own share over that of a fish without any.

    n_alleles, of
        k alleles of the panel's taxon among 2L read.
    raises
        NumberFault for k above 2L, no alleles, or a rate outside 0 to 1.
    source
        Likelihood ratio of a binomial share (Wilks SS (1938) Annals of Mathematical Statistics 9:60-62).
    """
    two_l, k = count(of, "alleles read", least=1), count(n_alleles, "alleles of the taxon")
    if k > two_l:
        raise NumberFault(f"alleles of the taxon: {k} is more than the {two_l} read")
    e, share = proportion(miscall_rate, "miscall rate"), k / two_l
    if share <= e:
        return 0.0
    free = xlogy(k, share) + xlog1py(two_l - k, -share)
    return float(free - xlogy(k, e) - xlog1py(two_l - k, -e)) if e > 0 else float("inf")


def fewest_alleles(n_loci: int, miscall_rate: float, margin: float = CARRIER_MARGIN) -> int:
    """Return how many alleles of a taxon make a fish of that many loci a carrier; 2L + 1 where none would do.

    The ratio of `carrier_ratio` rises with k, so a carrier is a fish with this many and more. With few loci the ratio
    alone would pass up to .07 of pure fish: as many alleles are asked for as leave at most .05.

    raises
        NumberFault for fewer than one locus, a rate outside 0 to 1, or a margin that is not above 0.
    """
    loci = count(n_loci, "loci", least=1)
    return _fewest(
        2 * loci, proportion(miscall_rate, "miscall rate"), positive(margin, "margin in log units")
    )


def misread_heterozygotes(n_not: int, n_loci: int, miscall_rate: float) -> bool:
    """Return whether misreading explains that an F1 is not heterozygous at ``n_not`` of its loci.

    A heterozygote is read as one of the two homozygotes with chance ``2e(1-e)``; the cut-off is that of carriers.

    raises
        NumberFault for more loci than there are, or a rate outside 0 to 1.
    """
    loci, off = count(n_loci, "loci", least=1), count(n_not, "loci that are not heterozygous")
    if off > loci:
        raise NumberFault(f"loci that are not heterozygous: {off} is more than the {loci} scored")
    e = proportion(miscall_rate, "miscall rate")
    return off < _fewest(loci, 2 * e * (1 - e), CARRIER_MARGIN)


@lru_cache(maxsize=4096)
def _fewest(of: int, rate: float, margin: float) -> int:
    for k in range(1, of + 1):
        if carrier_ratio(k, of, rate) >= margin and bdtrc(k - 1, of, rate) <= MOST_FALSE:
            return k
    return of + 1


def is_carrier(
    q: float, n_loci: int | None, miscall_rate: float | MiscallRate, margin: float = CARRIER_MARGIN
) -> bool:
    """Return whether a fish has more alleles of the panel's taxon than misreading explains.

    q, n_loci
        Its share of these alleles, and the loci scored; None takes 25, or more where q could not be that small.
    miscall_rate
        A number, or a panel's rate, which is taken at its upper limit: no fish is accused on a doubt.
    margin
        Log units, see `carrier_ratio`; at 2 a pure fish passes for a carrier with a chance of at most .05.
    raises
        NumberFault as for `carrier_ratio`.
    """
    share = proportion(q, "q")
    if share == 0:
        return False
    rate = miscall_rate.high if isinstance(miscall_rate, MiscallRate) else miscall_rate
    loci = max(FEWEST_LOCI, round(1 / (2 * share))) if n_loci is None else count(n_loci, "loci", least=1)
    return round(2 * loci * share) >= fewest_alleles(loci, rate, margin)


def false_carriers(n_loci: int, miscall_rate: float, judged_at: float | None = None) -> float:
    """Return the chance that a pure fish of that many loci is named a carrier, where alleles are misread at a rate.

    judged_at
        The rate that carriers are judged by; by default the same.
    raises
        NumberFault as for `carrier_ratio`.
    source
        Binomial.
    """
    rate = proportion(miscall_rate, "miscall rate")
    k = fewest_alleles(n_loci, rate if judged_at is None else judged_at)
    return float(bdtrc(k - 1, 2 * n_loci, rate)) if k <= 2 * n_loci else 0.0


def corrected(seen: float, miscall_rate: float) -> float:
    """Return the mean q behind one that was read with misreadings, ``(p - e) / (1 - 2e)``, kept within 0 to 1.

    raises
        NumberFault for a mean outside 0 to 1, or a rate outside 0 to 0.1.
    source
        Rogan WJ, Gladen B (1978) American Journal of Epidemiology 107:71-76 [from memory], with both errors e.
    """
    p, e = proportion(seen, "mean q"), _rate(miscall_rate)
    return min(1.0, max(0.0, (p - e) / (1 - 2 * e)))


def corrected_heterozygosity(mean_q: float, mean_h: float, miscall_rate: float) -> float:
    """Return the mean heterozygosity behind one that was read with misreadings, kept within 0 to 1.

    A homozygote is read as heterozygous with chance ``c = 2e(1-e)`` and a heterozygote as one with ``1 - c``, so
    ``(H - c) / (1 - 2c)``; and never above what the corrected q allows.

    raises
        NumberFault for means outside 0 to 1, or a rate outside 0 to 0.1.
    source
        As for `corrected`.
    """
    h, e = proportion(mean_h, "mean heterozygosity"), _rate(miscall_rate)
    p, crossed = corrected(mean_q, e), 2 * e * (1 - e)
    return min(2 * min(p, 1 - p), max(0.0, (h - crossed) / (1 - 2 * crossed)))


def reach_of_misreading(low: float, high: float, miscall_rate: float) -> Limits:
    """Return limits of a mean that reach as far as misreading could have moved it at most.

    Misreading draws every mean towards one half, so the lower limit of a mostly northern lake goes down to
    ``(low - e) / (1 - 2e)`` and the upper of a mostly Florida one up; the other end stays, for the rate may be 0.

    low, high
        Limits of the plain mean.
    miscall_rate
        The upper limit of the panel's rate.
    raises
        NumberFault for limits outside 0 to 1 or a rate outside 0 to 0.1.
    source
        Project's own; the correction as for `corrected`, at the end of the rate's interval that widens most.
    """
    low, high = proportion(low, "lower limit"), proportion(high, "upper limit")
    return Limits(min(low, corrected(low, miscall_rate)), max(high, corrected(high, miscall_rate)))


def misreading_alone(
    low: float,
    q: ArrayLike,
    n_loci: Iterable[int | None],
    miscall_rate: MiscallRate,
    alpha: float = 0.05,
) -> bool:
    """Return whether misreading alone explains the alleles of a taxon that some fish show.

    So it is where the lower limit of their mean is no higher than the rate's upper limit, where that many alleles of
    all
    that were read would be misread at that rate with a chance of ``alpha`` and more, and where the fish that shows most
    would do so, looked for among all of them (Bonferroni).

    low
        Lower limit of the plain mean, before `reach_of_misreading`.
    q, n_loci
        (fish,) share of the taxon's alleles, and loci scored (None takes 25).
    raises
        NumberFault for proportions outside 0 to 1 or lists of different lengths.
    source
        Binomial tails; Dunn OJ (1961) Journal of the American Statistical Association 56:52-64 for the most of several.
    """
    shares = proportions(q, "q")
    loci = [FEWEST_LOCI if one is None else count(one, "loci", least=1) for one in listed(n_loci, "loci")]
    same_length(shares, loci, "q and loci")
    level_of(alpha)
    if proportion(low, "lower limit") > miscall_rate.high:
        return False
    read = 2 * np.array(loci)
    seen = np.round(shares * read)
    if not seen.any():
        return True
    one_by_one = bdtrc(seen - 1, read, miscall_rate.high)[seen > 0]
    together = float(bdtrc(float(seen.sum()) - 1, int(read.sum()), miscall_rate.high))
    return together >= alpha and float(one_by_one.min()) * len(shares) >= alpha


def _rate(value: float) -> float:
    rate = proportion(value, "miscall rate")
    if rate > HIGHEST_RATE:
        raise NumberFault(
            f"miscall rate: {rate:g} is more than {HIGHEST_RATE:g} of the alleles; no panel that tells taxa apart"
            " misreads that many. Is it a percentage?"
        )
    return rate
