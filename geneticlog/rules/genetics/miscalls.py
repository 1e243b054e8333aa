"""The error model of a panel: how often it misreads an allele, and what misreading alone can explain.

A pure northern fish read at 38 loci shows some Florida allele with a chance of .32 where one allele in 200 is misread.
So an allele seen is not yet a carrier, and the mean of a pure lake is the miscall rate and not 0.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from scipy.special import bdtrc, xlog1py, xlogy

from geneticlog.rules.arguments import (
    NumberFault,
    count,
    listed,
    positive,
    proportion,
)
from geneticlog.rules.genetics.hybrid_classes import MISCALL_RATE
from geneticlog.rules.intervals import clopper_pearson

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
        Alleles misread, and alleles read, of the duplicates and known fish, whatever the source of the rate.
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
    e = miscall_rate_of(rate)
    top = min(HIGHEST_RATE, 4 * e) if high is None else miscall_rate_of(high)
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


def rate_in_use(measured: MiscallRate | None, otherwise: MiscallRate) -> MiscallRate:
    """Return the measured rate where it says more than the stated or assumed one, which else stays.

    A few alleles read leave an upper limit far above what is stated: one known fish without a misread allele, 76 of
    them, a limit of 4.7 %. Such a measurement agrees with the statement and adds nothing, so it widens nothing. The
    measured rate leads where its upper limit is lower, or where it is itself above the other's limit and contradicts
    it. A measured rate and its limits are taken for no more than the highest that any panel can have. The two are not
    pooled: a statement has no number of alleles behind it to weigh it by.

    measured
        As of `measured_rate`; None where nothing was measured.
    otherwise
        Stated or assumed; returned with the alleles read beside it.
    source
        The project's own; the share of pure fish taken for carriers stays as for the rate in use.
    """
    if measured is None:
        return otherwise
    if measured.high > otherwise.high and measured.rate <= otherwise.high:
        return replace(otherwise, n_misread=measured.n_misread, n_read=measured.n_read)
    return replace(
        measured,
        rate=min(measured.rate, HIGHEST_RATE),
        low=min(measured.low, HIGHEST_RATE),
        high=min(measured.high, HIGHEST_RATE),
    )


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


def miscall_rate_of(value: float) -> float:
    """Return a miscall rate; raises NumberFault for one outside 0 to 0.1."""
    rate = proportion(value, "miscall rate")
    if rate > HIGHEST_RATE:
        raise NumberFault(
            f"miscall rate: {rate:g} is more than {HIGHEST_RATE:g} of the alleles; no panel that tells taxa apart"
            " misreads that many. Is it a percentage?"
        )
    return rate
