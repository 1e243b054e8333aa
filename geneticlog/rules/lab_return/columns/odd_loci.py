"""Columns of genotypes that are perhaps no loci of the panel: a sex marker, another species, mitochondria."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from geneticlog.rules.lab_return.sheet.reading import Column, Question
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

KEY = "loci named otherwise"
LEAST_ALIKE, SHARE_ALIKE = (
    8,
    0.8,
)  # loci whose names begin alike, and their share of all, to call the rest odd
MOST_NAMED = 6
# what tells sex, maternal lineage or species and no nuclear share: common practice, no source
_NO_LOCUS = re.compile(
    r"\b(sex|gender|male|female|mt|mito\w*|mtdna|cyt ?b|coi|nd[1-6]|d ?loop|haplo\w*|spp|species)"
)


def odd_loci(headings: Sequence[str]) -> list[str]:
    """Return those headings of genotype columns that are named otherwise than the rest, or name no nuclear locus."""
    begins = [_beginning(heading) for heading in headings]
    ((usual, n),) = Counter(begins).most_common(1) or [("", 0)]
    alike = n >= LEAST_ALIKE and n >= SHARE_ALIKE * len(headings) and usual
    return [
        heading
        for heading, beginning in zip(headings, begins, strict=True)
        if _NO_LOCUS.search(_words(heading)) or (alike and beginning != usual)
    ]


def ask_about_odd_loci(columns: Sequence[Column], layout: Layout) -> list[Question]:
    """Ask whether genotype columns of odd names are loci of the panel; with a marker table there is nothing to ask.

    A person who says that the key changes nothing says that all are loci; a heading that is harmless is left out.
    """
    loci = [column for column in columns if column.role == ColumnRole.MARKER]
    if layout.markers or layout.changes_nothing(KEY):
        return []
    odd = odd_loci([column.heading for column in loci])
    if not odd:
        return []
    named = ", ".join(odd[:MOST_NAMED]) + (
        f" and {len(odd) - MOST_NAMED} more" if len(odd) > MOST_NAMED else ""
    )
    text = (
        f"{len(odd)} of {len(loci)} columns of genotypes ({named}) {'is' if len(odd) == 1 else 'are'} named otherwise"
        " than the rest: leave out what is no locus of the panel, as a sex marker; or all of them are loci"
    )
    leave_out = tuple(("harmless", "", heading) for heading in odd[:MOST_NAMED])
    return [Question(text, (*leave_out, ("harmless", "", KEY)), KEY)]


def _words(heading: str) -> str:
    """A heading in words: SexID as sex id."""
    return plain(re.sub(r"(?<=[a-z])(?=[A-Z])|_", " ", heading))


def _beginning(heading: str) -> str:
    found = re.match(r"[^\W\d_]*", plain(heading))
    return found.group() if found else ""
