"""Reference fish among the rows of a lab's file: a known pure one says whose alleles the column counts."""

from __future__ import annotations

import re
from collections.abc import Sequence

from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.words.headings import Taxa, plain, taxa_named
from geneticlog.rules.lab_return.words.vocabulary import CONTROL

_KNOWN = re.compile(rf"\b(refs?|references?|{CONTROL}|standards?|pure|known|hatchery|parents?|parental)\b")


def references_against(drafts: Sequence[Draft], taxa: Taxa) -> str:
    """Return what to ask where a reference fish of one taxon has the share of the other, or the empty text.

    A reference is a row without a vial of ours that names one taxon and says that it is known. Common practice, no
    source.
    """
    for draft in drafts:
        words = plain(draft.written)
        if draft.code or draft.q is None or not _KNOWN.search(words):
            continue
        first, second = taxa_named(words, taxa)
        if first != second and first == (draft.q < 0.5):
            return (
                f"{draft.written.strip()!r} has a {taxa.taxon} share of {draft.q:.3g}: does the column count"
                f" {taxa.other_taxon} alleles, in all rows or in some"
            )
    return ""
