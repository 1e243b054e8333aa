"""One fish: its Florida-allele proportion, its heterozygosity, and the class that a named rule set gives it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import xlog1py, xlogy

from geneticlog.rules.arguments import (
    Floats,
    NumberFault,
    array,
    count,
    positive,
    proportion,
    proportions,
    same_length,
)
from geneticlog.rules.genetics.hybrid_classes import Accepted, accept_class, class_likelihoods
from geneticlog.rules.genetics.miscalls import is_carrier, misread_heterozygotes
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet, RuleSetFault, rule_set_from_toml
from geneticlog.rules.statistics.estimates import Limits

__all__ = [
    "DEFAULT_RULE_SET",
    "MISSING",
    "Accepted",
    "Ancestry",
    "RuleSet",
    "RuleSetFault",
    "accept_class",
    "ancestry_class",
    "class_likelihoods",
    "from_genotypes",
    "genotype_counts",
    "heterozygosity_fits",
    "loci_that_fit",
    "parity_holds",
    "rule_set_from_toml",
    "support_interval",
]

MISSING = -1
F1, INTERGRADE, UNDETERMINED = "F1", "intergrade", "undetermined"
HYBRID_INDEX_DROP = 2.0  # log units: the convention of the hybrid-index literature
NINETY_FIVE_DROP = 1.920729  # log units: the 95 % likelihood ratio


@dataclass(frozen=True, slots=True)
class Ancestry:
    """Arrays of (fish,): q and heterozygosity, 0 to 1, NaN where no locus is scored; and the loci scored."""

    q: Floats
    heterozygosity: Floats
    n_loci: NDArray[np.int64]


def from_genotypes(counts: ArrayLike) -> Ancestry:
    """Return the allele proportion q and the heterozygosity H of each fish from its diagnostic loci.

    ``q = sum(x) / (2 * n_loci)`` and ``H = sum(x == 1) / n_loci``, x the Florida alleles at a locus.

    counts
        (fish, loci) whole numbers 0, 1 or 2; MISSING (-1) where the lab made no call. Those leave the sums.
    returns
        Ancestry of three (fish,) arrays.
    raises
        NumberFault for another shape or another number.
    source
        Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131.
    """
    x = array(counts, "genotypes")
    if x.ndim != 2:
        raise NumberFault(f"genotypes: a table of fish by loci is wanted, not the shape {x.shape}")
    wrong = ~np.isin(x, (MISSING, 0, 1, 2))
    if wrong.any():
        fish, locus = (int(at[0]) for at in np.nonzero(wrong))
        raise NumberFault(
            f"genotypes: fish {fish + 1}, locus {locus + 1} is {x[fish, locus]:g}; it has 0, 1 or 2 Florida alleles,"
            f" or {MISSING} where there was no call"
        )
    scored = x >= 0
    n_loci = scored.sum(axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        q = np.where(scored, x, 0).sum(axis=1) / (2 * n_loci)
        h = (x == 1).sum(axis=1) / n_loci
    return Ancestry(q, h, n_loci.astype(np.int64))


def genotype_counts(q: float, heterozygosity: float, n_loci: int) -> tuple[int, int, int] | None:
    """Return the loci with 0, 1 and 2 Florida alleles behind a q and H as a lab printed them.

    None when 2Lq and LH are no whole numbers within the rounding of what was printed (half a unit of the last
    decimal of either, or of the fourth; digits that leave a quarter of an allele open tell nothing), or when no
    such fish can be: wrong number of loci, missing calls, or a swapped column.

    q, heterozygosity
        0 to 1, as printed.
    n_loci
        Scored loci.
    returns
        Loci with none, one and two Florida alleles, together n_loci.
    raises
        NumberFault for q or H outside 0 to 1, or fewer than one locus.
    source
        q and H as counted in Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131, solved for the genotypes.
    """
    q, h = proportion(q, "q"), proportion(heterozygosity, "heterozygosity")
    loci = count(n_loci, "loci", least=1)
    alleles, mixed = 2 * loci * q, loci * h
    digits = max(3, _decimals(q), _decimals(h))  # one hand printed both, and a last 0 does not show
    if abs(alleles - round(alleles)) > _rounding(digits, 2 * loci):
        return None
    if abs(mixed - round(mixed)) > _rounding(digits, loci):
        return None
    twice_two = round(alleles) - round(mixed)
    if twice_two % 2 or twice_two < 0:
        return None
    n2, n1 = twice_two // 2, round(mixed)
    return (loci - n1 - n2, n1, n2) if loci - n1 - n2 >= 0 else None


def loci_that_fit(
    q: ArrayLike, heterozygosity: ArrayLike | None = None, *, decimals: int | None = None, most: int = 200
) -> list[int]:
    """Return the numbers of loci at which every q (and H) of a file could have been counted, the least first.

    At L loci q is a whole number of 2L-ths and H of L-ths, within half a unit of the last decimal. Where L fits its
    multiples do; the least is the likeliest, and a few fish or decimals leave many. Missing calls give single fish
    fewer loci and then nothing fits. It is a hint for a file whose lab did not say its loci: ask the lab.

    q, heterozygosity
        (fish,) each, 0 to 1, as printed; heterozygosity None where the lab gave none.
    decimals
        How many were printed; default: the most that any value shows.
    most
        Loci up to which is looked. It ends earlier where the decimals leave a quarter of an allele open.
    raises
        NumberFault for a value outside 0 to 1, an empty list, lists of different lengths, or numbers that are not
        whole.
    source
        The values of Silliman K et al. (2021) Evolutionary Applications 14:2815-2830 lie on such grids.
    """
    shares = proportions(q, "q")
    mixed = None if heterozygosity is None else proportions(heterozygosity, "heterozygosity")
    if mixed is not None:
        same_length(shares, mixed, "q and heterozygosity")
    highest = count(most, "most loci", least=1)
    printed = [float(value) for value in (*shares, *(() if mixed is None else mixed))]
    digits = max(map(_decimals, printed)) if decimals is None else count(decimals, "decimals", least=1)
    half = 0.51 * 10.0**-digits + 1e-12  # and what binary digits add
    fitting = []
    for loci in range(1, highest + 1):
        if 2 * loci * half >= 0.25:
            break
        if all(
            (np.abs(values * steps - np.round(values * steps)) <= steps * half).all()
            for values, steps in ((shares, 2 * loci), (mixed, loci))
            if values is not None
        ):
            fitting.append(loci)
    return fitting


def _decimals(printed: float) -> int:
    return next((d for d in range(1, 12) if abs(printed - round(printed, d)) < 1e-12), 12)


def _rounding(digits: int, steps: int) -> float:
    """Return how far ``steps`` times a share of that many decimals may be from a whole number by rounding alone."""
    of_four_decimals = min(0.25, steps * 1.5e-4)
    of_its_own = steps * 0.5 * 10.0**-digits * 1.02
    return of_its_own if of_four_decimals < of_its_own < 0.25 else of_four_decimals


def heterozygosity_fits(q: float, heterozygosity: float, n_loci: int) -> bool:
    """Return whether H keeps its bound ``H <= 2 min(q, 1-q)`` within one allele of rounding.

    A pair that breaks it is a fault of the data: columns swapped, a percentage, homozygosity for heterozygosity.

    q, heterozygosity
        0 to 1, over n_loci scored loci.
    raises
        NumberFault for q or H outside 0 to 1, or fewer than one locus.
    source
        The triangle of Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131.
    """
    q, h = proportion(q, "q"), proportion(heterozygosity, "heterozygosity")
    return h <= 2 * min(q, 1 - q) + 1 / (2 * count(n_loci, "loci", least=1))


def parity_holds(q: float, heterozygosity: float, n_loci: int) -> bool:
    """Return whether 2Lq - LH is even, as it is (twice the Florida homozygotes) when L loci were scored.

    A fish that fails has missing calls, another L or a wrong column: a warning, no reason to reject.

    q, heterozygosity
        0 to 1, over n_loci scored loci.
    raises
        NumberFault for q or H outside 0 to 1, or fewer than one locus.
    source
        Counting: 2Lq alleles are one from each of the LH heterozygotes and two from each homozygote.
    """
    loci = count(n_loci, "loci", least=1)
    q, h = proportion(q, "q"), proportion(heterozygosity, "heterozygosity")
    return (round(2 * loci * q) - round(loci * h)) % 2 == 0


def support_interval(n_florida_alleles: int, n_alleles: int, drop: float = HYBRID_INDEX_DROP) -> Limits:
    """Return the support interval for q of one fish: all q whose log-likelihood is within ``drop`` of the best.

    ``k ln q + (2L - k) ln(1 - q)``. It shows the sampling of markers within one fish, never of the lake.

    n_florida_alleles, n_alleles
        k Florida alleles of 2L scored.
    drop
        2 by the convention of the hybrid-index literature; 1.920729 for the 95 % likelihood ratio. Print which.
    raises
        NumberFault for k above 2L, no alleles, or a drop that is not above 0.
    source
        Buerkle CA (2005) Molecular Ecology Notes 5:684-687; Gompert Z, Buerkle CA (2009) Molecular Ecology 18:1207.
    """
    two_l = count(n_alleles, "alleles scored", least=1)
    k = count(n_florida_alleles, "Florida alleles")
    if k > two_l:
        raise NumberFault(f"Florida alleles: {k} is more than the {two_l} scored")
    best = k / two_l
    wanted = float(xlogy(k, best) + xlog1py(two_l - k, -best)) - positive(drop, "drop in log units")

    def edge(outside: float, inside: float) -> float:
        for _ in range(100):
            middle = (outside + inside) / 2
            held = float(xlogy(k, middle) + xlog1py(two_l - k, -middle)) >= wanted
            outside, inside = (outside, middle) if held else (middle, inside)
        return inside

    return Limits(edge(0.0, best) if k else 0.0, edge(1.0, best) if k < two_l else 1.0)


def ancestry_class(
    q: float,
    heterozygosity: float | None,
    n_loci: int | None,
    rule_set: RuleSet = DEFAULT_RULE_SET,
    *,
    taxon: str = "Florida",
    other_taxon: str = "northern",
    miscall_rate: float = 0.0,
) -> str:
    """Return the ancestry class of a fish by a rule set: other_taxon, taxon, "F1", "intergrade" or "undetermined".

    An F1 and an F2 share q = 0.5, so without H an F1 is never claimed: a fish within the rule set's F1 range is
    then "undetermined". A fish scored at fewer loci than the rule set asks for is "undetermined" whatever its q.

    q, heterozygosity
        0 to 1; heterozygosity None where the lab gave none.
    n_loci
        Scored loci; None where the lab did not say, and then the least number of loci is not tested.
    taxon, other_taxon
        The panel's two taxa: q counts the alleles of the first.
    miscall_rate
        Share of alleles misread at most. A fish whose alleles misreading explains is as pure as one within the cut-off,
        and an F1 may lack the heterozygous loci that misreading explains; 0 goes by the cut-offs alone.
    raises
        NumberFault for q or H outside 0 to 1, a negative number of loci, something that is not a rule set, or a
        miscall rate
        outside 0 to 1.
    source
        The classes and cut-offs are those of the rule set; the bound of q and H in Fitzpatrick BM (2012) BMC
        Evolutionary Biology 12:131.
    """
    if not isinstance(rule_set, RuleSet):
        raise NumberFault(f"{rule_set!r} is not a rule set; a file of one is read by rule_set_from_toml")
    q = proportion(q, "q")
    h = None if heterozygosity is None else proportion(heterozygosity, "heterozygosity")
    if n_loci is not None and count(n_loci, "loci") < rule_set.least_loci:
        return UNDETERMINED
    misread = proportion(miscall_rate, "miscall rate")
    # A cut-off is met by what is printed as it: 0.05 stays 0.05 whatever its binary digits.
    slack = 1e-9
    if q <= rule_set.pure + slack or (misread and not is_carrier(q, n_loci, misread)):
        return other_taxon
    if q >= 1 - rule_set.pure - slack or (misread and not is_carrier(1 - q, n_loci, misread)):
        return taxon
    if rule_set.f1_low - slack <= q <= rule_set.f1_high + slack:
        if h is None:
            return UNDETERMINED
        if h >= rule_set.f1_least_h - slack:
            return F1
        if misread and n_loci and misread_heterozygotes(n_loci - round(n_loci * h), n_loci, misread):
            return F1
    return INTERGRADE
