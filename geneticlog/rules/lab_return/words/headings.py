"""What a column's heading says it holds. Labs word their headings freely; each reading has its reason.

Every word of a heading has to be known for what the column is taken for: "Florida" is a share of alleles, "Florida
2024" and "Florida (all fish)" may be another one, so those words are ``strange`` and somebody is asked.
"""

from __future__ import annotations

import re
from collections.abc import Set
from dataclasses import dataclass, replace
from functools import lru_cache

from geneticlog.rules.column_headings import Answer, Sense, Vocabulary, normalised, strange_words
from geneticlog.rules.lab_return.words.other_languages import in_english
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.lab_return.words.vocabulary import (
    A_UNIT_OF_LENGTH,
    ALLELE_WORDS,
    COUNT_WORDS,
    FILLER_WORDS,
    FLORIDA_IN_A_HEADING,
    FLORIDA_WORDS,
    HARMLESS_WORDS,
    HETEROZYGOUS_WORDS,
    LATIN_WORDS,
    LOCI_WORDS,
    MARGIN_WORDS,
    NORTHERN_IN_A_HEADING,
    NORTHERN_WORDS,
    SCORED_WORDS,
    UNIT_WORDS,
    UNSCORED_WORDS,
    words_of,
)
from geneticlog.rules.lengths import WEIGHT_NAMES

SALMOIDES = "M. salmoides was the northern fish before 2022 and is the Florida fish since"
BARE_Q = "its heading does not say whose alleles it counts"
OF_THE_OTHER = "its heading names the other taxon"
# why a column is known not to be used; the code asks for these, so each is written once
MISSING_LOCI = "the number scored shows what is missing"
PANEL_LOCI = "loci of the panel, not those scored"
A_MARGIN = "a margin, not a share"
HOMOZYGOUS = "homozygous loci are what heterozygosity leaves"
_NOT_USED = [
    (r"\b(homozyg\w*|homo|hom)\b", HOMOZYGOUS),
    (r"\b(lower|upper|ci|ci9[059]|cl|confidence|interval|se|sd|std|error|variance|limit|credible|range)\b"
     r"|^(?=.*\b(90|95|99|2 5|97 5)\b).*\b(low|high)\b", A_MARGIN),
    (r"\b(missing|failed|dropped|null|uncalled|no[ -]?calls?|not (called|scored|typed))\b.*\b(loci|locus"
     r"|snps?|markers?|genotypes?|calls?|data)\b"
     r"|\b(loci|locus|snps?|markers?|genotypes?)\b.*\b(missing|failed|dropped|null|uncalled|not (called"
     r"|scored|typed))\b"
     r"|^(no|missing|failed|null) ?(calls?|data|snps?)$|^missing( data)?( %| percent)?$"
     r"|^% ?miss(ing)?( data)?$|^percent missing( data)?$",
     MISSING_LOCI),
    (r"\b(attempted|assayed|tested|targeted|designed|possible|available|offered)\b.*\b(loci|locus|snps?"
     r"|markers?)\b"
     r"|\b(loci|locus|snps?|markers?)\b.*\b(attempted|assayed|tested|targeted|designed|possible"
     r"|available|(on|in|of) (the )?panel)\b"
     r"|\bpanel (size|loci|snps|markers)\b|^total (loci|snps|markers)$",
     PANEL_LOCI),
    (r"\b(lab|laboratory|internal|our) ?(id|no|number|code|#|sample id|sample)\b", "the lab's own number"),
    (r"\b(accession|run|plate|well|position|box|row|batch|order|project|extraction|index|lane)\b", ""),
    (rf"\b(date|received|collected|species|length|len|{'|'.join(sorted(WEIGHT_NAMES))}|lake|water ?body|site"
     r"|location|county|reservoir|pond)\b", ""),
    (r"\b(age|gear|tissue|collector|contact|invoice|shipment|volume|concentration|ng|sex)\b", ""),
    (rf"\b(tl|fl|sl)\b.*{A_UNIT_OF_LENGTH}|^(tl|sl)$|\bfork\b", "a length"),
    (r"^(report|certificate|analyst|technician|operator)( (id|no|number|name|initials))?$", ""),
    (r"^(dna|reads|depth)\b|\b(qubit|nanodrop)\b|\ba?260 a?2[38]0\b", ""),
]  # fmt: skip
_MARKS = frozenset("*†?!")  # that a plain text leaves out
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

    @property
    def short_names(self) -> tuple[frozenset[str], frozenset[str]]:
        """The words by which labs shorten the first taxon and the other one; none of another pair than bass."""
        return (
            (FLORIDA_WORDS, NORTHERN_WORDS) if self.are_florida_and_northern else (frozenset(), frozenset())
        )

    @property
    def words(self) -> tuple[frozenset[str], frozenset[str]]:
        """The words of the first taxon's name and of the other's, with the short names."""
        short, other_short = self.short_names
        return short | words_of(self.taxon.casefold()), other_short | words_of(self.other_taxon.casefold())


@dataclass(frozen=True)
class Said:
    """What a heading says: the role ("" for a column that is not used), why, and how sure (1 surest).

    ``strange`` are words that may make another thing of the column; ``known`` says that the heading is one of those
    that are known to be harmless.
    """

    role: ColumnRole
    why: str
    tier: int = 1
    strange: tuple[str, ...] = ()
    known: bool = False


def _names(taxa: Taxa) -> frozenset[str]:
    """The words that name a taxon in a heading."""
    more = LATIN_WORDS | {"f", "n", "fb"} if taxa.are_florida_and_northern else frozenset()
    return frozenset[str]({"delta"}).union(*taxa.words, more)


def _alone(word: str, beside: Set[str]) -> str:
    """A pattern for a word with nothing but the words beside it, in any order."""
    others = rf"(?:[ %]|(?:{'|'.join(sorted(map(re.escape, beside - {'%'})))})(?=[ %]|$))*"
    return rf"^{others}{word}(?=[ %]|$){others}$"


_NOTHING = "nothing of it is needed here"
_OF_LOCI = r"\b(loci|locus|snps?|markers?)\b"
_KNOWN_OF_LOCI = LOCI_WORDS | SCORED_WORDS | COUNT_WORDS | FILLER_WORDS | {"genotyping"}

_MEASURES = Vocabulary.in_order([
    Sense(
        Said(ColumnRole.HETEROZYGOSITY, "the heading names heterozygous loci"),
        re.compile(rf"\b(hetero\w*|het|hets|ho|h obs|hobs|mlh)\b|{_alone('h', UNIT_WORDS | FILLER_WORDS)}"),
        HETEROZYGOUS_WORDS | LOCI_WORDS | SCORED_WORDS | UNIT_WORDS | COUNT_WORDS | FILLER_WORDS | {"mlh"},
    ),
    Sense(
        Said(ColumnRole.LAB_CLASS, "the heading names a class"),
        re.compile(
            r"^(?!.*\b(tissue|gear|sample) type\b)"
            r".*\b(class|category|assignment|assigned|designation|type|classification|hybrid status)\b"
        ),
    ),
    Sense(
        Said(ColumnRole.CALL_RATE, "the heading names a call rate"),
        re.compile(
            r"\bcall ?rate\b|\b(genotyping|success|completion) rate\b|^(genotyping|success|completion)$"
            r"|\bcompleteness\b"
            r"|^(?=.*\b(called|scored|typed|genotyped)\b)(?=.*(%|\b(percent|pct|rate|prop)))"
        ),
        LOCI_WORDS | SCORED_WORDS | UNIT_WORDS | FILLER_WORDS
        | {"call", "callrate", "rate", "genotyping", "completion", "completeness"},
    ),
])  # fmt: skip
_LOCI = Vocabulary.in_order([  # the number scored is surer than a number that may be the panel's
    Sense(
        Said(ColumnRole.N_LOCI, "the heading names alleles scored, two a locus"),
        re.compile(r"^(?=.*\b(alleles|(gene|allele) copies)\b)(?=.*\b(total|all|scored|called|typed|counted)\b)"),
        SCORED_WORDS | COUNT_WORDS | FILLER_WORDS | {"allele", "alleles", "gene", "copies", "total", "all", "counted"},
    ),
    Sense(
        Said(ColumnRole.N_LOCI, "the heading names loci"),
        re.compile(rf"^(?=.*{_OF_LOCI}).*(?:^| )({'|'.join(sorted(SCORED_WORDS))})(?: |$)"),
        _KNOWN_OF_LOCI,
    ),
    Sense(Said(ColumnRole.N_LOCI, "the heading names loci", 2), re.compile(rf"{_OF_LOCI}|^l$"), _KNOWN_OF_LOCI),
    Sense(
        Said(ColumnRole.N_LOCI, "the heading names a number scored", 2),
        re.compile("^(n|number|no|num) (scored|called|typed|genotyped)$"),
        _KNOWN_OF_LOCI,
    ),
])  # fmt: skip
_SAMPLES = Vocabulary.in_order([
    Sense(Said(ColumnRole.FAILURE, "the heading announces a remark"), re.compile(_REMARK)),
    *(
        Sense(Said(ColumnRole.VIAL, "the heading names a sample", tier), re.compile(pattern))
        for tier, pattern in enumerate(_VIAL, start=1)
    ),
    Sense(Said(ColumnRole.Q, BARE_Q, 2), re.compile("^q( value| score| values)?$")),
])  # fmt: skip


@lru_cache(maxsize=64)
def _unused(taxa: Taxa) -> Vocabulary[Said]:
    """The columns of which nothing is needed, each with the words that may stand beside what says so."""
    both = UNIT_WORDS | FILLER_WORDS | _names(taxa)
    homozygous = {"homozygous", "homozygosity", "homozygotes", "homo", "hom"}
    more = {
        MISSING_LOCI: UNSCORED_WORDS,
        PANEL_LOCI: UNSCORED_WORDS,
        A_MARGIN: both | MARGIN_WORDS | ALLELE_WORDS | HETEROZYGOUS_WORDS,
        HOMOZYGOUS: both | LOCI_WORDS | COUNT_WORDS | homozygous,
    }
    return Vocabulary.in_order(
        Sense(
            Said(ColumnRole.NOT_USED, why or _NOTHING, known=True),
            re.compile(pattern),
            HARMLESS_WORDS | more.get(why, set()),
        )
        for pattern, why in _NOT_USED
    )


@lru_cache(maxsize=64)
def _taxa(taxa: Taxa) -> Vocabulary[Said]:
    """The taxa side by side, for a heading that names two of them is ambiguous: the first, the other, a third."""
    known = _names(taxa) | UNIT_WORDS | COUNT_WORDS | ALLELE_WORDS | FILLER_WORDS
    first, other = (rf"\b{re.escape(name.casefold())}\b" for name in (taxa.taxon, taxa.other_taxon))
    third = r"(?!)"
    if taxa.are_florida_and_northern:
        short, other_short = ("|".join(sorted(names)) for names in taxa.short_names)
        first += rf"|\b({short}|{FLORIDA_IN_A_HEADING})\b"
        other += rf"|\b({other_short}|{NORTHERN_IN_A_HEADING})\b"
        third = r"\bdelta\b"
    return Vocabulary([[
        Sense(Said(ColumnRole.Q, f"the heading names {taxa.taxon}"), re.compile(first), known),
        Sense(Said(ColumnRole.OTHER_Q, f"the heading names {taxa.other_taxon}"), re.compile(other), known),
        Sense(Said(ColumnRole.THIRD_Q, "the heading names the third lineage"), re.compile(third), known),
    ]])  # fmt: skip


def plain(heading: str) -> str:
    """Return a lab's heading in lower case, with separators and line breaks as single spaces."""
    return normalised(heading, also="{}\\\"'=?!*†")


@lru_cache(maxsize=64)  # asked of each row
def counted_in_alleles(heading: str) -> bool:
    """Return whether a heading of what was scored counts alleles, two a locus."""
    return re.search(r"\balleles\b|\b(gene|allele) copies\b", plain(heading)) is not None


def answer_key(text: str) -> str:
    """Return a text as answers about it are kept: plain, with the marks that make another text of it.

    "Pass*" and "Pass?" are not "Pass": who holds the first holds no row that says the second.
    """
    marks = "".join(letter for letter in text if letter in _MARKS)
    return f"{plain(text)} {marks}".strip() if marks else plain(text)


def strange_in(heading: str) -> tuple[str, ...]:
    """Return the words of a heading that are not those of a column known to be harmless."""
    also = {"your", "customer", "sender", "submitted", "field", "barcode", "label"}
    return strange_words(_whole_words(heading), [HARMLESS_WORDS, also])


def _whole_words(heading: str) -> str:
    """A plain heading, its words apart where capitals or an n part them: FloridaPct, nloci."""
    words = plain(_CAPITAL_WITHIN.sub(" ", heading))
    return re.sub(r"\bn(loci|locus|snps?|markers?)\b", r"n \1", words)


_CAPITAL_WITHIN = re.compile(r"(?<=[a-z][a-z])(?=[A-Z][a-z])|(?<=[A-Z][A-Z])(?=[A-Z][a-z]{2})")


def recognise(heading: str, taxa: Taxa, all_headings: str = "") -> Said | None:
    """Return what a heading says its column holds, or None where it says nothing known.

    ``all_headings`` (plain text) is needed for one Latin name that changed its meaning: *salmoides* is the
    northern fish beside *floridanus* and, since 2022, the Florida fish beside *nigricans*; alone it is
    neither (Kim, Taylor & Near 2022, Scientific Reports 12:9113).
    """
    words = in_english(_whole_words(heading))
    if not words:
        return None
    if measure := _said(_MEASURES.look(words)):
        return measure  # heterozygosity, a class or a call rate, whatever taxon the heading names beside it
    taxon = _taxon(words, taxa, all_headings)
    if unused := _not_used(words, taxa, of_a_taxon=taxon is not None):
        return unused
    if (taxon is None or words == "l") and (loci := _said(_LOCI.look(words))):
        return loci
    return taxon or _said(_SAMPLES.look(words)) or _harmless(words)


def without_margin_words(heading: str) -> str:
    """Return a heading without the words of a margin or an interval: Florida of "Florida (95 % CI)"."""
    words = plain(heading).replace("%", " % ").split()
    kept = [word for i, word in enumerate(words) if word not in MARGIN_WORDS
            and not (word == "%" and i and words[i - 1] in MARGIN_WORDS)]  # fmt: skip
    return " ".join(kept)


def _not_used(words: str, taxa: Taxa, *, of_a_taxon: bool) -> Said | None:
    """A column of which nothing is needed; None where the heading names a taxon first, or of the sample."""
    unused = _said(_unused(taxa).look(words))
    if unused is None:
        return None
    explained = unused.why in (MISSING_LOCI, PANEL_LOCI, A_MARGIN, HOMOZYGOUS)
    if of_a_taxon and not (explained or unused.why == "a length"):
        return None  # "Florida run 1" speaks of a taxon first, and of a run in its strange words
    if unused.strange and not explained and re.search(_REMARK, words):
        return None  # "Species confirmed" is a word on the sample
    return unused


def _harmless(words: str) -> Said | None:
    """A heading of known words, none of which says a result; None where a word of it is not known."""
    return None if strange_words(words, [HARMLESS_WORDS]) else Said(ColumnRole.NOT_USED, _NOTHING, known=True)


def taxa_named(words: str, taxa: Taxa) -> tuple[bool, bool]:
    """Return whether a plain text names the first taxon, and whether it names the other one."""
    words = in_english(words)
    first, second = (sense.says.search(words) is not None for sense in _taxa(taxa).ranks[0][:2])
    return first, second


def turns_round(words: str) -> bool:
    """Return whether a heading (plain) may name what a taxon's share leaves: non-Florida, 1 - Florida."""
    words = re.sub(r"\b(rep|repl|replicate|run|repeat|reading|plate) ?1\b", " ", in_english(words))
    turned = re.search(r"\b(non|not|minus|inver\w*|revers\w*|complement\w*|opposite|without)\b", words)
    return turned is not None or ("1" in words.split() and "0" not in words.split())


def _taxon(words: str, taxa: Taxa, all_headings: str) -> Said | None:
    if any(taxa_named(words, taxa)):  # a cluster that is named is that taxon's
        words = " ".join(re.sub(r"\b(cluster|component) ?\d\b", " ", words).split())
    answer = _taxa(taxa).look(words)
    if (
        taxa.are_florida_and_northern
        and re.search(r"\bsalmoides\b", words)
        and not any(taxa_named(words, taxa))
    ):
        florida, northern = "nigricans" in all_headings, "floridanus" in all_headings
        if florida == northern:
            return Said(ColumnRole.NOT_USED, SALMOIDES, 9)
        answer = replace(answer, senses=(*answer.senses, _taxa(taxa).ranks[0][0 if florida else 1]))
    taxon = _said(answer)
    if taxon is None:
        return None
    spelled = words.replace("%", " % ").split()
    if turns_round(words) and not taxon.strange:
        return replace(
            taxon, strange=("1",)
        )  # "1 - Florida" is what Florida leaves; "Florida (0-1)" is its share
    if "fl" in spelled and not (ALLELE_WORDS | UNIT_WORDS) & set(spelled):
        return replace(taxon, strange=(*taxon.strange, "fl"))  # Florida, or a fork length
    return taxon


def _said(answer: Answer[Said]) -> Said | None:
    """What a heading says with the words that may change its meaning; None where it is unknown or ambiguous."""
    if answer.meaning is None:
        return None
    return replace(answer.meaning, strange=answer.strange)
