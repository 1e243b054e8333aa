"""The controls that a laboratory puts on a plate, by their names: those without DNA, and pure fish of a taxon."""

from __future__ import annotations

import re

from geneticlog.rules.lab_return.words.headings import Taxa, plain, taxa_named
from geneticlog.rules.lab_return.words.vocabulary import BLANK, CONTROL

ROOM = 0.1  # of the share of a pure fish, for alleles misread; common practice, no source
CONTROL_TYPED = (
    "; it seems to be a negative control of the lab, and gave a result: ask whether the plate is contaminated"
)
# common practice, no source
_NEGATIVE = re.compile(rf"^(?!.*\b(pos|positive)).*\b({BLANK}|{CONTROL}|neg|negative|water|h2o)\w*")
_POSITIVE = re.compile(rf"\b({CONTROL}|pos|positive|reference|ref)\b")


def doubt_of_control(name: str, q: float, taxa: Taxa) -> str:
    """Return what the share of a row without a vial says against its plate, by the row's name; empty for nothing.

    q
        The share of the first taxon's alleles, of one.
    """
    words = plain(name)
    named = taxa_named(words, taxa)
    if named[0] != named[1] and _POSITIVE.search(words) and not re.search(r"\bneg\w*", words):
        own, taxon = (q, taxa.taxon) if named[0] else (1 - q, taxa.other_taxon)
        if own >= 1 - ROOM:
            return ""
        return (
            f"; it seems to be a control of pure {taxon} fish, and q is {q:.3g}: ask the lab about the plate"
        )
    return CONTROL_TYPED if _NEGATIVE.search(words) else ""
