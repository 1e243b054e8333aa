"""What a lab's file repeats of our own records, the number of a fish or its tissue: a row that says another one.

Where nearly all rows say what we wrote down, the two that do not may be tubes that were exchanged, or samples of
somebody else. A column in which many differ is numbered, or worded, by the lab in its own way.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import Any

from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import plain

MOSTLY_OURS = 0.9  # of the rows, those with the number of another fish, all moved alike
LEAST_ALIKE, LEAST_ROWS = 0.75, 6  # common practice, no source
_FISH = re.compile(r"\b(fish|specimen|sample|animal|item|list|manifest|field)\b|^(id|nr|no|number|#)$")
_YEAR = re.compile(
    r"((survey|sampling|sample|collection|field|project) )?(year|season)( (collected|sampled|caught))?"
)
FIRST_YEAR = 1980  # a smaller number in a column of years is none
_TISSUE = re.compile(r"\b(tissue|material|sample type|type of sample|swab or clip)\b")
_KINDS = {
    "mouth swab": re.compile(r"\b(swabs?|buccal|oral|mouth)\b"),
    "fin clip": re.compile(r"\b(fins?|clips?|caudal|pelvic)\b"),
    "scale": re.compile(r"\bscales?\b"),
    "muscle": re.compile(r"\b(muscle|fillets?|plug)\b"),
    "blood": re.compile(r"\bblood\b"),
}
Known = Callable[[str], Mapping[int, Any]]


def other_numbers(reading: Reading, rows: Sequence[Row], known: Known) -> dict[int, list[str]]:
    """Return, by row, a number in an unused column that is not its fish's, or not its vial's in our list, in words.

    known
        by row, the number of the fish within its survey (fish_number) or of the vial in our list (list_number).
    """
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        if column.role or not _FISH.search(plain(column.heading)):
            continue
        written = _whole_numbers(reading, rows, column)
        in_order = [written[n] for n in sorted(written)]
        if all(after - before == 1 for before, after in pairwise(in_order)):
            continue  # the rows are numbered as they come
        for what, words in (("fish_number", "its fish is"), ("list_number", "it is in our list")):
            own = known(what)
            if what == "fish_number" and _moved(written, own):
                order = f"column {column.named} has the numbers of our fish, moved"
                for n in own.keys() & written.keys():
                    text = f"{order}: it says {written[n]}, and {words} {own[n]}"
                    doubts.setdefault(n, []).append(text)
                continue
            for n in _unlike(written, own):
                text = f"column {column.named} says {written[n]}, and {words} {own[n]}"
                doubts.setdefault(n, []).append(text)
    return doubts


def other_years(reading: Reading, rows: Sequence[Row], known: Known) -> dict[int, list[str]]:
    """Return, by row, a year in an unused column that is before that in which its fish was caught, in words.

    known
        by row, the day on which the fish was caught (caught_on).
    """
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        if column.role or not _YEAR.fullmatch(plain(column.heading)):
            continue
        caught = known("caught_on")
        for n, year in _whole_numbers(reading, rows, column).items():
            if n in caught and FIRST_YEAR <= year < caught[n].year:
                text = f"column {column.named} says {year}, and its fish was caught on {caught[n]}"
                doubts.setdefault(n, []).append(text)
    return doubts


def other_tissues(reading: Reading, rows: Sequence[Row], known: Known) -> dict[int, list[str]]:
    """Return, by row, a tissue in an unused column that is not that of its vial, in words.

    known
        by row, the tissue in the vial, as a word for people.
    """
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        if column.role or not _TISSUE.search(plain(column.heading)):
            continue
        kinds = {n: kind for n in reading.data_rows if (kind := _kind(column.text_in(rows[n - 1])))}
        own = {n: kind for n, text in known("tissue").items() if (kind := _kind(text))}
        for n in _unlike(kinds, own):
            text = f"column {column.named} says {column.text_in(rows[n - 1])[:40]!r}, and its vial has a {own[n]}"
            doubts.setdefault(n, []).append(text)
    return doubts


def _whole_numbers(reading: Reading, rows: Sequence[Row], column: Column) -> dict[int, int]:
    figures = {n: reading.number_in(rows[n - 1], column) for n in reading.data_rows}
    return {n: int(one.value) for n, one in figures.items() if one is not None and one.value.is_integer()}


def _kind(text: str) -> str:
    """The one kind of tissue that a text names, or the empty text."""
    kinds = [kind for kind, words in _KINDS.items() if words.search(plain(text))]
    return kinds[0] if len(kinds) == 1 else ""


def _moved(written: Mapping[int, int], own: Mapping[int, int]) -> bool:
    """Whether the numbers are those of our fish but moved: all by one amount, or to the row above or below."""
    both = sorted(written.keys() & own.keys())
    if len({own[n] for n in both}) < LEAST_ROWS:
        return False
    (step, times), *_ = Counter(written[n] - own[n] for n in both).most_common(1)
    above = sum(written[b] == own[a] for a, b in pairwise(both))
    below = sum(written[a] == own[b] for a, b in pairwise(both))
    return max(times if step else 0, above, below) >= MOSTLY_OURS * len(both)


def _unlike(written: Mapping[int, Any], own: Mapping[int, Any]) -> list[int]:
    """The rows that say something else than we know, where nearly all say what we know."""
    both = [n for n in written if n in own]
    unlike = [n for n in both if written[n] != own[n]]
    few = len(unlike) <= (1 - LEAST_ALIKE) * len(both)
    return unlike if few and len(both) - len(unlike) >= LEAST_ROWS else []
