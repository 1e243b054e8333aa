"""What is said beside the numbers of single fish: the interval, the six classes, and how far both carry."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.faces.app.numbers_in_words import NONE
from geneticlog.rules.genetics.generation import (
    FROM_GENOTYPES,
    LEAST_INFORMATIVE_LOCI,
    NO_FIT,
    NO_H,
    NO_LOCI,
    TOO_FEW,
)
from geneticlog.rules.genetics.hybrid_classes import LEAST_MARGIN, NOT_RESOLVED
from geneticlog.rules.genetics.rule_set import RuleSet
from geneticlog.rules.lab_return.columns.value_checks import LEAST_CALL_RATE
from geneticlog.work.report.facts import FishResult
from geneticlog.work.result.called_loci import OF_MARKERS, OF_PANEL, STATED

SOURCE_OF_CLASSES = (
    "Six classes of single fish and the rule that accepts one: Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131; "
    "support interval of q: Buerkle CA (2005) Molecular Ecology Notes 5:684-687."
)
WITHOUT_LIKELIHOOD = {
    NO_H: "no heterozygosity was given, so there are no six classes and an F1 is never named",
    NO_LOCI: "the number of loci was not given, so there are no interval and no six classes, and the class "
    "was not tested against the least number of loci",
    NO_FIT: "q and H fit no whole loci (missing calls, rounding, another number of loci), so there are no six classes",
}


def length_in(fish: FishResult, unit: str) -> str:
    """Return a fish's total length as it was measured and judged, never rounded over a class limit.

    A fish measured in another unit than that of the column keeps its own, named.
    """
    if fish.length is None:
        return NONE
    return f"{fish.length:.10g}{'' if fish.length_unit == unit else f' {fish.length_unit}'}"


def too_few_loci(fish: Sequence[FishResult], rule_set: RuleSet) -> list[FishResult]:
    """Return the fish scored at fewer loci than the rule set asks for, which it leaves undetermined."""
    return [one for one in fish if one.n_loci is not None and one.n_loci < rule_set.least_loci]


def notes(fish: Sequence[FishResult], rule_set: RuleSet, taxon: str, other_taxon: str) -> list[str]:
    """Return the sentences that stand beside the numbers of single fish."""
    sentences = [rule_set.sentence(taxon, other_taxon)]
    with_interval = [one for one in fish if one.generation.low is not None]
    if with_interval:
        drop = with_interval[0].generation.drop
        sentences.append(
            f"Interval of q: every q whose log-likelihood is within {drop:g} log units of the best (a support "
            "interval). It describes the loci scored in this fish only, not the lake."
        )
    classed = [one for one in fish if one.generation.likelihoods is not None]
    if classed:
        sentences.append(_six_classes(classed))
    few = too_few_loci(fish, rule_set)
    if few:
        listed = ", ".join(f"{one.number} ({one.n_loci})" for one in few)
        sentences.append(
            f"Scored at fewer than {rule_set.least_loci} loci, and so undetermined whatever their q: fish {listed}."
        )
    called = [one for one in fish if one.call_rate is not None]
    if called:
        sentences.append(_call_rates(called))
    for why, words in WITHOUT_LIKELIHOOD.items():
        these = [one.number for one in fish if one.generation.why == why]
        if these:
            sentences.append(f"Fish {', '.join(map(str, these))}: {words}.")
    apart = [one for one in fish if one.generation.counted_otherwise(one.q)]
    if apart:
        listed = ", ".join(
            f"{one.number} (q {one.q:.3f}, counted {one.generation.counted_q:.3f})" for one in apart
        )
        sentences.append(
            f"The genotypes give another q than the one in the numbers, and interval and classes follow the "
            f"genotypes: fish {listed}."
        )
    settled = [f"fish {one.number}: {one.settled}" for one in fish if one.settled]
    if settled:
        sentences.append(f"Decided where the lab's value and its genotypes differ: {'; '.join(settled)}.")
    doubtful = [one.number for one in fish if one.doubtful]
    if doubtful:
        sentences.append(f"Doubtful until a finding is decided: fish {', '.join(map(str, doubtful))}.")
    return sentences


def _call_rates(called: Sequence[FishResult]) -> str:
    sources = dict.fromkeys(one.call_rate_from for one in called)
    words = {STATED: "as the lab stated it", OF_MARKERS: "markers called of those in its file",
             OF_PANEL: "loci scored of the panel's"}  # fmt: skip
    sentence = f"Call rate: {' or '.join(words[source] for source in sources if source)}."
    low = [one for one in called if (one.call_rate or 0) < LEAST_CALL_RATE - 1e-9]
    if low:
        listed = ", ".join(f"{one.number} ({100 * (one.call_rate or 0):.0f} %)" for one in low)
        sentence += f" Below {100 * LEAST_CALL_RATE:.0f} %, and to be read with care: fish {listed}."
    return sentence


def _six_classes(classed: Sequence[FishResult]) -> str:
    first = classed[0].generation
    by_genotypes = sum(one.generation.counted_from == FROM_GENOTYPES for one in classed)
    counted = (
        "the genotypes of each locus"
        if by_genotypes == len(classed)
        else "q, H and the loci scored"
        if not by_genotypes
        else f"the genotypes of each locus in {by_genotypes} fish, from q, H and the loci scored in the others"
    )
    few = sum(sum(one.generation.loci_by_alleles or ()) < LEAST_INFORMATIVE_LOCI for one in classed)
    asked = (
        "every one of these has fewer"
        if few == len(classed)
        else f"{few} of these {len(classed)} {'has' if few == 1 else 'have'} fewer"
    )
    return (
        f"Generation: six classes, counted from {counted}, with {first.miscall_rate:g} of alleles taken to be "
        f"misread. One is named only where it beats the next by {LEAST_MARGIN:g} log units or more and is better by "
        f"AIC than free q and H (a class counts as one parameter, free q and H as two); otherwise "
        f"“{NOT_RESOLVED}”. This is another rule than that of the class and may "
        "differ from it. Read a named one as “consistent with”: six classes mislead for wild hybrids of later "
        "generations (Fitzpatrick 2012; the young of two F2 look like F2), and at least "
        f"{LEAST_INFORMATIVE_LOCI} informative loci are asked for: "
        f"{asked if few else 'all of these have them'}. About one true F2 in three stays unresolved by this rule."
    )


def generation_words(fish: FishResult) -> str:
    """Return the generation of a fish for a table: the class accepted, else why there is none."""
    named = fish.generation.told
    return {
        NOT_RESOLVED: "not resolved",
        NO_H: "no H",
        NO_FIT: "no fit",
        TOO_FEW: TOO_FEW,
    }.get(named, named)
