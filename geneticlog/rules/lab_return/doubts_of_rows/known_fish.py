"""Fish of known kind among the rows of a return: what the lab read of them, against what they are known to be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scipy.special import bdtrc

from geneticlog.rules.genetics.miscalls import ASSUMED_RATE, FEWEST_LOCI
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.words.headings import Taxa

F1 = "F1"
LEAST_CHANCE = 0.001  # that misreading at the rate judged by explains a fish of known kind


def misread_of_known(
    kind: str, taxa: Taxa, q: float, heterozygosity: float | None, n_loci: int
) -> tuple[int, int] | None:
    """Return how many alleles were read of a fish of known kind, and how many of them misread.

    Of a pure fish each allele of the other taxon is misread; of an F1 with H each locus that is not heterozygous, and
    without H as many alleles as q is away from one half. None for a kind that the panel does not tell.

    kind
        One of the two taxa, or F1.
    """
    alleles = 2 * n_loci
    if kind == taxa.other_taxon:
        return alleles, round(alleles * q)
    if kind == taxa.taxon:
        return alleles, alleles - round(alleles * q)
    if kind == F1:
        away = abs(round(alleles * q) - n_loci)
        return alleles, away if heterozygosity is None else max(away, n_loci - round(n_loci * heterozygosity))
    return None


def contradicts_kind(
    kind: str, taxa: Taxa, q: float, heterozygosity: float | None, n_loci: int | None
) -> str:
    """Return, in words, that misreading does not explain what was read of a fish of known kind, or the empty text.

    Judged at the upper limit of the rate that is assumed of a panel, not at the panel's own: a panel whose known fish
    are all read wrongly would excuse them. Binomial, chance at most .001 in a fish that is what it is known to be.
    """
    counts = misread_of_known(kind, taxa, q, heterozygosity, n_loci or FEWEST_LOCI)
    if counts is None:
        return ""
    read, misread = counts
    if not misread or bdtrc(misread - 1, read, ASSUMED_RATE.high) > LEAST_CHANCE:
        return ""
    return f"it is known to be {kind}, and q {q:.3g} is not explained by misread alleles"


def known_against(drafts: Sequence[Draft], kinds: Mapping[int, str], taxa: Taxa) -> dict[int, list[str]]:
    """Return by row what speaks against the value of a fish of known kind.

    kinds
        the known kind by row.
    """
    against: dict[int, list[str]] = {}
    for draft in drafts:
        kind = kinds.get(draft.row)
        if kind and draft.q is not None:
            words = contradicts_kind(kind, taxa, draft.q, draft.heterozygosity, draft.n_loci)
            if words:
                against[draft.row] = [words]
    return against


def known_turned_round(drafts: Sequence[Draft], kinds: Mapping[int, str], taxa: Taxa) -> str:
    """Return what to ask where most pure known fish have the share of the other taxon, or the empty text."""
    pure = [
        (draft, kinds[draft.row])
        for draft in drafts
        if draft.q is not None and kinds.get(draft.row) in (taxa.taxon, taxa.other_taxon)
    ]
    turned = [(draft, kind) for draft, kind in pure if (kind == taxa.taxon) == ((draft.q or 0.0) < 0.5)]
    if not turned or 2 * len(turned) <= len(pure):
        return ""
    draft, kind = turned[0]
    which = (
        f"{len(turned)} of {len(pure)} fish known to be pure have"
        if len(pure) > 1
        else "the fish known to be pure has"
    )
    return (
        f"{which} the share of the other taxon ({draft.code or draft.written}, {kind}, has a {taxa.taxon} share of"
        f" {draft.q:.3g}): does the column count {taxa.other_taxon} alleles"
    )
