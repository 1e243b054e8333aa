"""What a column's heading says it holds. Labs word their headings freely; each reading has its reason.

Every word of a heading has to be known for what the column is taken for: "Florida" is a share of alleles, "Florida
2024" and "Florida (all fish)" may be another one, so those words are ``strange`` and somebody is asked.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Set
from dataclasses import dataclass

from geneticlog.rules.lab_return.vocabulary import (
    ALLELE_WORDS,
    COUNT_WORDS,
    FILLER_WORDS,
    HARMLESS_WORDS,
    HETEROZYGOUS_WORDS,
    LOCI_WORDS,
    MARGIN_WORDS,
    SCORED_WORDS,
    UNIT_WORDS,
    UNSCORED_WORDS,
    words_of,
)

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
BARE_Q = "q alone does not say whose alleles it counts"
# why a column is known not to be used; the code asks for these, so each is written once
MISSING_LOCI = "the number scored shows what is missing"
PANEL_LOCI = "loci of the panel, not those scored"
A_MARGIN = "a margin, not a share"
HOMOZYGOUS = "homozygous loci are what heterozygosity leaves"
_NOT_USED = [
    (r"\b(homozyg\w*|homo|hom)\b", HOMOZYGOUS),
    (r"\b(lower|upper|ci|cl|confidence|interval|se|sd|std|error|variance|limit"
     r"|credible)\b", A_MARGIN),
    (r"\b(missing|failed|dropped|null|uncalled|no[ -]?calls?|not (called|scored|typed))\b.*\b(loci|locus"
     r"|snps?|markers?|genotypes?|calls?|data)\b"
     r"|\b(loci|locus|snps?|markers?|genotypes?)\b.*\b(missing|failed|dropped|null|uncalled|not (called"
     r"|scored|typed))\b"
     r"|^(no|missing|failed|null) ?(calls?|data|snps?)$|^missing( data)?( %| percent)?$"
     r"|^% ?missing( data)?$|^percent missing( data)?$",
     MISSING_LOCI),
    (r"\b(attempted|assayed|tested|targeted|designed|possible|available|offered)\b.*\b(loci|locus|snps?"
     r"|markers?)\b"
     r"|\b(loci|locus|snps?|markers?)\b.*\b(attempted|assayed|tested|targeted|designed|possible"
     r"|available|(on|in|of) (the )?panel)\b"
     r"|\bpanel (size|loci|snps|markers)\b|^total (loci|snps|markers)$",
     PANEL_LOCI),
    (r"\b(lab|laboratory|internal|our) ?(id|no|number|code|#|sample id|sample)\b", "the lab's own number"),
    (r"\b(accession|run|plate|well|position|box|row|batch|order|project|extraction|index|lane)\b", ""),
    (r"\b(date|received|collected|species|length|weight|lake|water ?body|site|location|county|reservoir"
     r"|pond)\b", ""),
    (r"\b(age|gear|tissue|collector|contact|invoice|shipment|volume|concentration|ng|sex)\b", ""),
    (r"\b(tl|fl|sl)\b.*\b(mm|cm|in|inch|inches)\b|^(tl|sl)$|\bfork\b", "a length"),
    (r"\b(wt)\b|^(dna|reads|depth)\b|\b(qubit|nanodrop)\b|\b260 280\b", ""),
]  # fmt: skip
_VIAL = [  # the surest first
    r"\bvial\b",
    r"\b(client|customer|your|submitter|sender|submitted|field)\b.*\b(id|no|number|code|name|sample|#)",
    r"\b(sample|tube|specimen|barcode|bar code|label|fish)\b",
    r"^(id|code|name|no|number|#|id number|ident\w*)$",
]
_REMARK = (
    r"\b(status|comments?|notes?|remarks?|results?|outcome|qc|qa|flags?|flagged|reason|failure|pass(ed)?"
    r"|ok|okay|confirmed|accepted"
    r"|valid|usable|quality|disposition|reviewed|approved|rejects?|rejected|contaminat\w*|failed|fail"
    r"|outliers?|mixed|re ?run|rerun|repeat|include|included|exclude|excluded|keep|use"
    r"|check|checked|verified|reliable)\b|^(final )?calls?$"
)


@dataclass(frozen=True)
class Taxa:
    """The two taxa a panel distinguishes; ``taxon`` is the one whose alleles q counts."""

    taxon: str = "Florida"
    other_taxon: str = "northern"

    @property
    def are_florida_and_northern(self) -> bool:
        return (self.taxon.casefold(), self.other_taxon.casefold()) == ("florida", "northern")


@dataclass(frozen=True)
class Said:
    """What a heading says: the role ("" for a column that is not used), why, and how sure (1 surest).

    ``strange`` are words that may make another thing of the column; ``known`` says that the heading is one of those
    that are known to be harmless.
    """

    role: str
    why: str
    tier: int = 1
    strange: tuple[str, ...] = ()
    known: bool = False


def plain(heading: str) -> str:
    """Return a heading in lower case, with separators and line breaks as single spaces."""
    text = unicodedata.normalize("NFKC", heading).casefold()
    text = re.sub(r"[\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]", "", text)
    return re.sub(r"\s+", " ", re.sub(r"[\s_.,:;()\[\]{}/\\\"'=?!*†\-]+", " ", text)).strip()


def _without_units(words: str) -> str:
    known = UNIT_WORDS | FILLER_WORDS
    return " ".join(word for word in re.sub("([%#])", r" \1 ", words).split() if word not in known)


def _strange(words: str, *known: Set[str]) -> tuple[str, ...]:
    """The words of a heading that belong to none of the sets; a percent sign parts words as a space does."""
    allowed = frozenset[str]().union(*known)
    return tuple(word for word in re.sub("([%#])", r" \1 ", words).split() if word not in allowed)


def strange_in(heading: str) -> tuple[str, ...]:
    """Return the words of a heading that are not those of a column known to be harmless."""
    return _strange(
        plain(heading),
        HARMLESS_WORDS,
        {"your", "customer", "sender", "submitted", "field", "barcode", "label"},
    )


def recognise(heading: str, taxa: Taxa, all_headings: str = "") -> Said | None:
    """Return what a heading says its column holds, or None where it says nothing known.

    ``all_headings`` (plain text) is needed for one Latin name that changed its meaning: *salmoides* is the
    northern fish beside *floridanus* and, since 2022, the Florida fish beside *nigricans*; alone it is
    neither (Kim, Taylor & Near 2022, Scientific Reports 12:9113).
    """
    words = plain(heading)
    if not words:
        return None
    if found := _of_a_measure(words):
        return found
    taxon = _taxon(words, taxa, all_headings)
    if found := _not_used(words, taxa, of_a_taxon=taxon is not None):
        return found
    if (re.search(r"\b(loci|locus|snps?|markers?)\b", words) and taxon is None) or words == "l":
        return Said("n_loci", "the heading names loci",
                    strange=_strange(words, LOCI_WORDS, SCORED_WORDS, COUNT_WORDS, FILLER_WORDS),
                    tier=1 if SCORED_WORDS & set(words.split()) else 2)  # fmt: skip
    return taxon or _of_a_sample(words)


def _of_a_measure(words: str) -> Said | None:
    """Heterozygosity, a class or a call rate, whatever taxon a heading names beside them."""
    if re.search(r"\b(hetero\w*|het|hets|ho|h obs|hobs|mlh)\b", words) or _without_units(words) == "h":
        return Said(
            "heterozygosity", "the heading names heterozygous loci",
            strange=_strange(
                words, HETEROZYGOUS_WORDS, LOCI_WORDS, SCORED_WORDS, UNIT_WORDS, COUNT_WORDS, FILLER_WORDS, {"mlh"}
            ),
        )  # fmt: skip
    if re.search(
        r"\b(class|category|assignment|assigned|designation|type|classification|hybrid status)\b", words
    ) and not re.search(r"\b(tissue|gear|sample) type\b", words):
        return Said("lab_class", "the heading names a class")
    if re.search(r"\bcall ?rate\b|\b(genotyping|success|completion) ?(rate)?\b|\bcompleteness\b", words) or (
        re.search(r"\b(called|scored|typed|genotyped)\b", words)
        and re.search(r"%|\b(percent|pct|rate|prop)", words)
    ):
        known = {"call", "callrate", "rate", "genotyping", "completion", "completeness"}
        return Said(
            "call_rate", "the heading names a call rate",
            strange=_strange(words, LOCI_WORDS, SCORED_WORDS, UNIT_WORDS, FILLER_WORDS, known),
        )  # fmt: skip
    return None


def _not_used(words: str, taxa: Taxa, *, of_a_taxon: bool) -> Said | None:
    """A column of which nothing is needed; None where the heading names a taxon first, or of the sample."""
    for pattern, why in _NOT_USED:
        if re.search(pattern, words):
            more = _words_beside(why, taxa)
            if of_a_taxon and not (more or why == "a length"):
                return None  # "Florida run 1" speaks of a taxon first, and of a run in its strange words
            strange = _strange(words, HARMLESS_WORDS, more)
            if strange and not more and re.search(_REMARK, words):
                return None  # "Species confirmed" is a word on the sample
            return Said("", why or "nothing of it is needed here", strange=strange, known=True)
    return None


def _words_beside(why: str, taxa: Taxa) -> Set[str]:
    """The words that may stand beside those by which a column is known not to be used."""
    if why in (MISSING_LOCI, PANEL_LOCI):
        return UNSCORED_WORDS
    both = UNIT_WORDS | FILLER_WORDS | _names(taxa)
    if why == A_MARGIN:
        return both | MARGIN_WORDS | ALLELE_WORDS | HETEROZYGOUS_WORDS
    if why == HOMOZYGOUS:
        homozygous = {"homozygous", "homozygosity", "homozygotes", "homo", "hom"}
        return both | LOCI_WORDS | COUNT_WORDS | homozygous
    return frozenset()


def _of_a_sample(words: str) -> Said | None:
    """A remark, a code or a bare q; None where a heading says nothing known."""
    if re.search(_REMARK, words):
        return Said("failure", "the heading announces a remark")
    for tier, pattern in enumerate(_VIAL, start=1):
        if re.search(pattern, words):
            return Said("vial", "the heading names a sample", tier)
    if words in ("q", "q value", "q score", "q values"):
        return Said("q", BARE_Q, 2)
    if not _strange(words, HARMLESS_WORDS):
        return Said("", "nothing of it is needed here", known=True)
    return None


def _names(taxa: Taxa) -> set[str]:
    """The words that name a taxon in a heading."""
    names = {*taxa.taxon.casefold().split(), *taxa.other_taxon.casefold().split(), "delta"}
    if taxa.are_florida_and_northern:
        names |= words_of(
            """
    flmb floridanus fl fla f fb nlmb nl nigricans n north m micropterus s salmoides
    """
        )
    return names


def taxa_named(words: str, taxa: Taxa) -> tuple[bool, bool]:
    """Return whether a plain text names the first taxon, and whether it names the other one."""

    def names(taxon: str) -> bool:
        return re.search(rf"\b{re.escape(taxon.casefold())}\b", words) is not None

    first, second = names(taxa.taxon), names(taxa.other_taxon)
    if taxa.are_florida_and_northern:
        first = first or re.search(r"\b(flmb|floridanus|fl|fla|f ?lmb|fb)\b", words) is not None
        second = second or re.search(r"\b(nlmb|nl|nigricans|n ?lmb|north)\b", words) is not None
    return first, second


def _taxon(words: str, taxa: Taxa, all_headings: str) -> Said | None:
    first, second = taxa_named(words, taxa)
    third = False
    if taxa.are_florida_and_northern:
        third = re.search(r"\bdelta\b", words) is not None
        if re.search(r"\bsalmoides\b", words) and not first and not second:
            first, second = "nigricans" in all_headings, "floridanus" in all_headings
            if first == second:
                return Said("", SALMOIDES, 9)
    if first + second + third != 1:
        return None
    strange = _strange(words, _names(taxa), UNIT_WORDS, COUNT_WORDS, ALLELE_WORDS, FILLER_WORDS)
    spelled = words.replace("%", " % ").split()
    if "fl" in spelled and not (ALLELE_WORDS | UNIT_WORDS) & set(spelled):
        strange = (*strange, "fl")  # Florida, or a fork length
    if first:
        return Said("q", f"the heading names {taxa.taxon}", strange=strange)
    if second:
        return Said("other_q", f"the heading names {taxa.other_taxon}", strange=strange)
    return Said("third_q", "the heading names the third lineage", strange=strange)
