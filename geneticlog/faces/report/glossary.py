"""The ten words of the report that need explaining, and the links to them from the text."""

from __future__ import annotations

import re

from geneticlog.faces.report.blocks import Block
from geneticlog.work.report.facts import LakeFacts


def glossary(lake: LakeFacts) -> tuple[tuple[str, str, str], ...]:
    """Return the words: identity, word, explanation."""
    taxon, other = lake.taxon, lake.other_taxon
    return (
        ("share", "Share of ancestry, q", "Of the places in a fish's DNA where the two kinds differ, the share that "
         f"is of the {taxon} kind: 0 is all {other}, 1 all {taxon}."),
        ("range", "95 % interval", "The range in which the true value lies in 95 of 100 such surveys. A difference is "
         "more than chance where its interval leaves out 0 and, of several shown together, its p after Holm is below "
         "0.05."),
        ("points", "Points", "Percentage points: from 20 % to 30 % is 10 points."),
        ("weighted", "Weighted to the catch", "Every size counts as often as it was caught, not as often as it was "
         "swabbed, so that the number represents the lake."),
        ("young", "Young and adult", "Below and above the length at which the size classes of the survey call a fish "
         "adult."),
        ("heterozygosity", "Heterozygosity, H",
         f"The share of those places where a fish has one {taxon} and one {other} form."),
        ("first-cross", "F1", f"The young of a pure {taxon} and a pure {other} parent: half and half at every place."),
        ("intergrade", "Intergrade", "A fish of mixed ancestry that is not an F1."),
        ("undetected", "Could go undetected", "The largest part of the bass that a kind of fish could make up and, "
         "with a chance of 1 in 20, have no fish among those read."),
        ("wr", "Relative weight, Wr",
         "Weight as a percentage of the standard weight at that length; about 100 is plump."),
    )  # fmt: skip


# what in a text leads to which word; the longer before the shorter
LINKED = (
    ("weighted", r"weighted (?:to the catch|to the sizes caught|over the sizes)"),
    ("range", r"95 % interval|95 \u00a0?% interval|95\u00a0% interval"),
    ("undetected", r"[Cc]ould go undetected"),
    ("heterozygosity", r"[Hh]eterozygosity"),
    ("first-cross", r"\bF1\b"),
    ("intergrade", r"\bintergrades?\b"),
    ("wr", r"[Rr]elative weight"),
    ("share", r"allele proportion"),
    ("young", r"\b[Yy]oung\b"),
    ("points", r"\bpoints\b"),
)


def glossary_blocks(lake: LakeFacts) -> list[Block]:
    """Return the glossary as one block."""
    return [
        {
            "kind": "words",
            "items": [{"id": key, "word": word, "text": told} for key, word, told in glossary(lake)],
        }
    ]


def with_links(escaped: str) -> str:
    """Return an escaped text with the first of each word that needs explaining made a link to the glossary."""
    places: list[tuple[int, int, str]] = []
    for key, pattern in LINKED:
        one = re.search(pattern, escaped)
        if one and not any(start < one.end() and one.start() < end for start, end, _ in places):
            places.append((one.start(), one.end(), key))
    for start, end, key in sorted(places, reverse=True):
        escaped = f'{escaped[:start]}<a class="w" href="#word-{key}">{escaped[start:end]}</a>{escaped[end:]}'
    return escaped
