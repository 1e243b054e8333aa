"""One fish as far as its loci carry: the support interval of its q, its six classes, and the generation accepted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from geneticlog.rules.ancestry import (
    HYBRID_INDEX_DROP,
    Accepted,
    accept_class,
    genotype_counts,
    support_interval,
)
from geneticlog.rules.arguments import NumberFault, count, positive, proportion
from geneticlog.rules.genetics.hybrid_classes import (
    FLORIDA,
    MISCALL_RATE,
    NORTHERN,
    NOT_RESOLVED,
    class_names,
)
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet
from geneticlog.rules.statistics.estimates import Limits

FROM_GENOTYPES, FROM_PRINTED = "genotypes", "q, H and loci"
NO_H = "no heterozygosity"
NO_LOCI = "loci not stated"
NO_FIT = "q, H and loci fit no whole loci"
TOO_FEW = "too few loci"
LEAST_INFORMATIVE_LOCI = 50  # asked for by Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131 [abstract]
SAME_Q = 0.0051  # a q printed in whole percent is that near to the one counted


@dataclass(frozen=True, slots=True)
class Generation:
    """What the loci of one fish allow to be said.

    low, high
        Support interval of q, ``drop`` log units deep; None without the number of loci.
    loci_by_alleles, counted_from
        Loci with 0, 1 and 2 alleles of the panel's taxon, and what they were counted from; None where they cannot
        be told.
    likelihoods
        Log-likelihood of each of the six classes, in the panel's words; None without these loci.
    likeliest, second, margin, aic_difference
        The two likeliest classes, the log units between them, and the AIC of the first minus that of free q and H.
    accepted
        The class the published rule accepts; None where it accepts none.
    why
        Why nothing is accepted, or why there is no likelihood; "" where a class is accepted.
    counted_q, counted_heterozygosity
        As recomputed from per-locus genotypes; None without them.
    """

    low: float | None
    high: float | None
    drop: float
    loci_by_alleles: tuple[int, int, int] | None
    counted_from: str | None
    miscall_rate: float
    likelihoods: dict[str, float] | None
    likeliest: str | None
    second: str | None
    margin: float | None
    aic_difference: float | None
    accepted: str | None
    why: str
    counted_q: float | None
    counted_heterozygosity: float | None

    @property
    def told(self) -> str:
        """The generation in a few words: the accepted class, or why there is none."""
        return self.accepted or self.why

    def counted_otherwise(self, q: float) -> bool:
        """Whether the genotypes that are believed give another q than the one that is in the numbers."""
        apart = self.counted_q is not None and abs(self.counted_q - q) > SAME_Q
        return apart and self.counted_from == FROM_GENOTYPES


def generation_of(
    q: float,
    heterozygosity: float | None,
    n_loci: int | None,
    *,
    genotypes: tuple[int, int, int] | None = None,
    believe_genotypes: bool = True,
    rule_set: RuleSet = DEFAULT_RULE_SET,
    taxon: str = FLORIDA,
    other_taxon: str = NORTHERN,
    miscall_rate: float = MISCALL_RATE,
    drop: float = HYBRID_INDEX_DROP,
) -> Generation:
    """Return the support interval of a fish's q, its six-class likelihoods and the generation they carry.

    Each parameter is one setting of the published method, given by name in notebooks.

    q, heterozygosity, n_loci
        As the lab gave them; the last two None where it gave none. From q alone there is no likelihood.
    genotypes
        Loci with 0, 1 and 2 alleles of ``taxon`` where the lab gave them locus by locus; these are used then.
        Otherwise the counts behind q, H and the loci, if these fit whole loci.
    believe_genotypes
        False where a person let the stated q and H stand against them: interval and classes are then of the stated
        values, and the genotypes are only counted beside them.
    rule_set
        Below its least number of loci no class is accepted, whatever the likelihoods are.
    taxon, other_taxon
        The panel's two taxa, in whose words the classes are named.
    miscall_rate, drop
        As for `accept_class` and `support_interval`.
    raises
        NumberFault for q, H or the rate outside 0 to 1, loci that are no whole numbers or none at all, or two taxa
        of one name.
    source
        Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131; interval as of `support_interval`.
    """
    q = proportion(q, "q")
    h = None if heterozygosity is None else proportion(heterozygosity, "heterozygosity")
    proportion(miscall_rate, "miscall rate")
    drop = positive(drop, "drop in log units")
    class_names(taxon, other_taxon)
    of_genotypes = None if genotypes is None else _genotype_counts(genotypes, taxon)
    loci: tuple[int, int, int] | None
    scored: int | None
    if of_genotypes is not None and believe_genotypes:
        loci, scored, counted_from, why = of_genotypes, sum(of_genotypes), FROM_GENOTYPES, ""
    else:
        loci, scored, why = _counts_behind(q, h, n_loci)
        counted_from = FROM_PRINTED
    limits = None
    if scored is not None:
        alleles = round(2 * scored * q) if loci is None else loci[1] + 2 * loci[2]
        limits = _interval(alleles, 2 * scored, drop)
    named = _accepted(*loci, miscall_rate, taxon, other_taxon) if loci else None
    accepted = None
    if named is not None:
        if scored is not None and scored < rule_set.least_loci:
            why = TOO_FEW
        elif named.accepted:
            accepted = named.name
        else:
            why = NOT_RESOLVED
    return Generation(
        low=limits.low if limits else None,
        high=limits.high if limits else None,
        drop=drop,
        loci_by_alleles=loci,
        counted_from=counted_from if loci else None,
        miscall_rate=miscall_rate,
        likelihoods=dict(named.likelihoods) if named else None,
        likeliest=named.best if named else None,
        second=named.second if named else None,
        margin=named.margin if named else None,
        aic_difference=named.aic_difference if named else None,
        accepted=accepted,
        why=why,
        counted_q=(of_genotypes[1] + 2 * of_genotypes[2]) / (2 * sum(of_genotypes)) if of_genotypes else None,
        counted_heterozygosity=of_genotypes[1] / sum(of_genotypes) if of_genotypes else None,
    )


def _genotype_counts(genotypes: Sequence[int], taxon: str) -> tuple[int, int, int]:
    """Return the loci with 0, 1 and 2 alleles of the taxon, checked."""
    if len(genotypes) != 3:
        raise NumberFault(
            f"genotypes: the loci with 0, 1 and 2 alleles are wanted, not {len(genotypes)} numbers"
        )
    n0, n1, n2 = (count(n, f"loci with {alleles} {taxon} alleles") for alleles, n in enumerate(genotypes))
    if not n0 + n1 + n2:
        raise NumberFault("genotypes: no locus is scored")
    return n0, n1, n2


def _counts_behind(
    q: float, h: float | None, n_loci: int | None
) -> tuple[tuple[int, int, int] | None, int | None, str]:
    """Return the genotype counts behind a printed q and H, the loci scored, and why there are no counts."""
    scored = None if n_loci is None else count(n_loci, "loci scored", least=1)
    if scored is None:
        return None, None, NO_LOCI
    if h is None:
        return None, scored, NO_H
    loci = genotype_counts(q, h, scored)
    return loci, scored, "" if loci else NO_FIT


# Fish with the same counts are many in a lake (a proportion is a whole number of alleles).
@lru_cache(maxsize=4096)
def _interval(n_alleles: int, of: int, drop: float) -> Limits:
    return support_interval(n_alleles, of, drop)


@lru_cache(maxsize=4096)
def _accepted(n0: int, n1: int, n2: int, miscall_rate: float, taxon: str, other_taxon: str) -> Accepted:
    return accept_class(n0, n1, n2, miscall_rate, taxon=taxon, other_taxon=other_taxon)
