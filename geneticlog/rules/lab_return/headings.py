"""What a column's heading says it holds. Labs word their headings freely; each reading has its reason."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

# What a column can be taken for. The first group carries a result.
ROLES = {
    "vial": "our vial code",
    "q": "share of {taxon} alleles",
    "other_q": "share of {other_taxon} alleles",
    "third_q": "share of a third lineage",
    "heterozygosity": "share of heterozygous loci",
    "n_loci": "loci scored",
    "call_rate": "call rate",
    "lab_class": "the lab's class",
    "failure": "the lab's word on the sample",
    "marker": "genotype at one locus",
    "": "not used",
}
PROPORTIONS = ("q", "other_q", "third_q", "heterozygosity", "call_rate")

SALMOIDES = "M. salmoides was the northern fish before 2022 and is the Florida fish since"
_NOT_USED = [
    (r"\b(homozyg\w*|homo|hom)\b", "homozygous loci are what heterozygosity leaves"),
    (r"\b(lower|upper|ci|cl|confidence|interval|se|sd|std|error|variance|limit)\b", "a margin, not a share"),
    (r"(\b(number|count|no|num|n) (of )?|# ?)[\w ]*alleles?\b", "a count of alleles, not a share"),
    (r"\bmissing\b", "what is missing is told by what was scored"),
    (r"\b(lab|laboratory|internal|our) ?(id|no|number|code|#|sample id|sample)\b", "the lab's own number"),
    (r"\b(accession|run|plate|well|position|box|row|batch|order|project|extraction|index|lane|dna)\b", ""),
    (r"\b(date|received|collected|species|length|weight|lake|water ?body|site|location|county)\b", ""),
    (r"\b(age|gear|tissue|collector|contact|invoice|shipment|volume|concentration|ng|sex)\b", ""),
]
_VIAL = [  # the surest first
    r"\bvial\b",
    r"\b(client|customer|your|submitter|sender|submitted|field)\b.*\b(id|no|number|code|name|sample|#)",
    r"\b(sample|tube|specimen|barcode|bar code|label|fish)\b",
    r"^(id|code|name|no|number|#|id number|ident\w*)$",
]


@dataclass(frozen=True)
class Taxa:
    """The two taxa a panel tells apart; ``taxon`` is the one whose alleles q counts."""

    taxon: str = "Florida"
    other_taxon: str = "northern"

    @property
    def are_florida_and_northern(self) -> bool:
        return (self.taxon.casefold(), self.other_taxon.casefold()) == ("florida", "northern")


@dataclass(frozen=True)
class Said:
    """What a heading says: the role ("" for a column that is not used), why, and how sure (1 surest)."""

    role: str
    why: str
    tier: int = 1


def plain(heading: str) -> str:
    """Return a heading in lower case, with separators and line breaks as single spaces."""
    text = unicodedata.normalize("NFKC", heading).casefold()
    return re.sub(r"\s+", " ", re.sub(r"[\s_.,:;()\[\]{}/\\\"'=\-]+", " ", text)).strip()


def recognise(heading: str, taxa: Taxa, all_headings: str = "") -> Said | None:
    """Return what a heading says its column holds, or None where it says nothing known.

    ``all_headings`` (plain text) is needed for one Latin name that changed its meaning: *salmoides* is the
    northern fish beside *floridanus* and, since 2022, the Florida fish beside *nigricans*; alone it is
    neither (Kim, Taylor & Near 2022, Scientific Reports 12:9113).
    """
    words = plain(heading)
    if not words:
        return None
    if re.search(r"\b(hetero\w*|het|hets|ho|h obs|hobs)\b", words) or re.fullmatch(r"%? ?h ?%?", words):
        if re.search(r"\b(number|count|no|num|n)\b|#", words):
            return Said("", "a count of heterozygous loci, not a share")
        return Said("heterozygosity", "the heading names heterozygous loci")
    if re.search(
        r"\b(class|category|assignment|assigned|designation|type|classification|hybrid status)\b", words
    ):
        return Said("lab_class", "the heading names a class")
    if re.search(r"\bcall ?rate\b|\b(genotyping|success|completion) ?(rate)?\b|\bcompleteness\b", words) or (
        re.search(r"\b(called|scored|typed|genotyped)\b", words)
        and re.search(r"%|\b(percent|pct|rate|prop)", words)
    ):
        return Said("call_rate", "the heading names a call rate")
    for pattern, why in _NOT_USED:
        if re.search(pattern, words):
            return Said("", why or "nothing of it is needed here")
    if re.search(r"\b(loci|locus|snps?|markers?)\b", words) or words == "l":
        return Said("n_loci", "the heading names loci")
    if found := _taxon(words, taxa, all_headings):
        return found
    if re.search(r"\b(status|comments?|notes?|remarks?|result|outcome|qc|flag|reason|failure|pass)\b", words):
        return Said("failure", "the heading announces a remark")
    for tier, pattern in enumerate(_VIAL, start=1):
        if re.search(pattern, words):
            return Said("vial", "the heading names a sample", tier)
    if words in ("q", "q value", "q score"):
        return Said("q", f"q is the share of {taxa.taxon} alleles", 2)
    return None


def _taxon(words: str, taxa: Taxa, all_headings: str) -> Said | None:
    def names(taxon: str) -> bool:
        return re.search(rf"\b{re.escape(taxon.casefold())}\b", words) is not None

    first, second = names(taxa.taxon), names(taxa.other_taxon)
    third = False
    if taxa.are_florida_and_northern:
        first = first or re.search(r"\b(flmb|floridanus|fl|fla|f ?lmb|fb)\b", words) is not None
        second = second or re.search(r"\b(nlmb|nigricans|n ?lmb|north)\b", words) is not None
        third = re.search(r"\bdelta\b", words) is not None
        if re.search(r"\bsalmoides\b", words) and not first and not second:
            first, second = "nigricans" in all_headings, "floridanus" in all_headings
            if first == second:
                return Said("", SALMOIDES, 9)
    if first + second + third != 1:
        return None
    if first:
        return Said("q", f"the heading names {taxa.taxon}")
    if second:
        return Said("other_q", f"the heading names {taxa.other_taxon}")
    return Said("third_q", "the heading names the third lineage")
