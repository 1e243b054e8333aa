"""The lab's class beside our own: what its words mean, and whether the two agree."""

from __future__ import annotations

import re
from collections.abc import Collection
from functools import lru_cache

from geneticlog.rules.finding.finding_kinds import FindingKind, Noted
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet
from geneticlog.rules.lab_return.cells.cells import missing_meaning
from geneticlog.rules.lab_return.columns.value_checks import says_f1
from geneticlog.rules.lab_return.sheet.words_beside import GOOD, judge
from geneticlog.rules.lab_return.words.headings import Taxa, plain

_MIXED = re.compile(
    r"\b(fx|f2|f3|f4|bc\w*|back ?cross\w*|hybrid|intergrade|mixed|cross|other cross|introgressed)\b"
)


def in_full(lab_classes: Collection[str], taxa: Taxa) -> dict[str, str]:
    """Return, by letter as written, the taxon that it stands for in a column that names both by one letter."""
    letters = {taxa.taxon[:1].casefold(): taxa.taxon, taxa.other_taxon[:1].casefold(): taxa.other_taxon}
    written = {
        text: letters[text.strip().casefold()] for text in lab_classes if text.strip().casefold() in letters
    }
    return written if len(set(written.values())) == 2 else {}


@lru_cache(maxsize=1024)  # asked of each row, and a lab has few words for its classes
def class_meant(lab_class: str, taxa: Taxa) -> str | None:
    """Return the ancestry class that a lab's words mean, or None where that is not plain.

    The words of labs are common practice, no source: a pure taxon by its name, F1, and Fx, hybrid or cross
    for every later mixture.
    """
    words = lab_class.strip().casefold().replace("_", " ").replace("-", " ")
    if says_f1(lab_class):
        return "F1"
    first, second = taxa.taxon.casefold() in words, taxa.other_taxon.casefold() in words
    first, second = (
        named or bool(short & set(plain(lab_class).split()))
        for named, short in zip((first, second), taxa.short_names, strict=True)
    )
    if _MIXED.search(words) or (first and second):
        return "intergrade"
    if first != second:
        return taxa.taxon if first else taxa.other_taxon
    return None


def of_classes(texts: Collection[str], taxa: Taxa) -> bool:
    """Return whether words are those of ancestry classes and no others, a pure taxon's and another one among them."""
    written = {text.strip() for text in texts if missing_meaning(text) is None}
    meant = {class_meant(text, taxa) for text in written}
    return (
        None not in meant
        and len(meant) > 1
        and bool(meant & {taxa.taxon, taxa.other_taxon})
        and all(judge(text, taxa, is_class=True) == GOOD for text in written)
    )


FARTHEST_F1 = (
    0.25  # of q from one half: an F1 has one half at every locus, and errors of reading move it little
)


def no_cross(meant: str | None, q: float, half_digit: float, n_loci: int | None) -> bool:
    """Return whether a fish that a lab calls a cross, by its class as ``class_meant`` gives it, cannot be one.

    An F1 has a share near one half; no cross has a share of exactly 0 or 1 where the digits written would show one
    allele of the other taxon. Common practice, no source.
    """
    if meant == "F1":
        return abs(q - 0.5) > FARTHEST_F1
    one_allele = 1 / (2 * n_loci) if n_loci else 0.01
    return meant == "intergrade" and min(q, 1 - q) < 1e-9 and half_digit < one_allele


def compare_classes(
    lab_class: str,
    q: float,
    heterozygosity: float | None,
    n_loci: int | None,
    taxa: Taxa,
    rule_set: RuleSet = DEFAULT_RULE_SET,
) -> list[Noted]:
    """Return whether the lab's class is another than ours by a rule set.

    Where either is not determined, or the lab tells its classes from what we have not (an F1 without H),
    there is nothing to compare.
    """
    meant = class_meant(lab_class, taxa)
    if meant is None:
        return []
    n_loci = rule_set.least_loci if n_loci is None else n_loci  # unstated, their number is not tested
    from geneticlog.rules.ancestry import ancestry_class  # scipy: only where a lab names classes

    own = ancestry_class(q, heterozygosity, n_loci, rule_set, taxon=taxa.taxon, other_taxon=taxa.other_taxon)
    if own in (meant, "undetermined") or (heterozygosity is None and meant == "F1"):
        return []
    with_h = "" if heterozygosity is None else f", H {heterozygosity:.4g}"
    facts = {"lab_class": lab_class, "q": q, "with_h": with_h, "own_class": own}
    return [Noted(FindingKind.CLASS_DISAGREES, {**facts, "rule_set": rule_set.label})]
