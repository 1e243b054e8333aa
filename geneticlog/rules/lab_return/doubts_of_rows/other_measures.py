"""Lengths and weights of the fish in a lab's file, as a lab copies them from a manifest: a row with another fish's.

Where most rows agree with what was measured on the boat, the two that do not may be tubes that were exchanged; where
the measures do not even rise and fall with ours, the codes may be those of other rows, or the fish others.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from statistics import correlation

from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.lab_return.words.vocabulary import A_UNIT_OF_LENGTH, OTHER_LENGTHS
from geneticlog.rules.lengths import LENGTH_NAMES, WEIGHT_NAMES

LEAST_ALIKE, LEAST_ROWS, LEAST_KINDS = 0.75, 4, 3
MOST_UNLIKE = 2  # or the share that LEAST_ALIKE leaves
LEAST_COMPARED, LEAST_SPREAD = (
    8,
    1.2,
)  # rows, and how much longer our longest fish is than our shortest, to compare
LEAST_ALONG, NEAR_ONE = 0.4, 0.98  # correlations; eight pairs of other fish reach the first in 1 of 6 files
ROOM = 0.01  # of a measure, for what was rounded on the way
_OTHER = "|".join(sorted(OTHER_LENGTHS))
_LENGTH = re.compile(
    rf"^(?!.*\b({_OTHER}|read|fragment|allele|bp)\b).*\b({'|'.join(sorted(LENGTH_NAMES))}|size)\b"
)
_FORK = re.compile(rf"\bfork length\b|\b(fl|sl)\b.*{A_UNIT_OF_LENGTH}")
_WEIGHT = re.compile(rf"^(?!.*\b(dna|relative)\b).*\b({'|'.join(sorted(WEIGHT_NAMES))})\b")
_IN_MM = (1.0, 10.0, 25.4, 304.8)  # mm, cm, in, ft
_IN_G = (1.0, 1000.0, 453.59237, 28.349523)  # g, kg, lb, oz


def other_measures(
    reading: Reading, rows: Sequence[Row], known: Callable[[str], Mapping[int, float]]
) -> dict[int, list[str]]:
    """Return, by row, the length or weight in a column that is not used and not the fish's, in words.

    known
        what was measured of the fish of each row, by the word for it: length_mm or weight_g.
    """
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        heading = plain(column.heading)
        if column.role != ColumnRole.NOT_USED or reading.layout.silences(column.heading):
            continue
        for pattern, what, scales, unit in (
            (_LENGTH, "length_mm", _IN_MM, "mm"),
            (_WEIGHT, "weight_g", _IN_G, "g"),
        ):
            if not pattern.search(heading):
                continue
            measured = known(what)
            for n in _unlike(reading, rows, column, measured, scales):
                text = f"column {column.named} says {column.text_in(rows[n - 1])[:30]!r}"
                doubts.setdefault(n, []).append(f"{text}, and its fish has {measured[n]:.4g} {unit}")
    return doubts


def measures_of_others(
    reading: Reading, rows: Sequence[Row], known: Callable[[str], Mapping[int, float]]
) -> str:
    """Return in words that lengths or weights beside the shares are not those of the rows' fish, or the empty text.

    A column in another unit, or of the fork length, rises and falls with what was measured on the boat: only one that
    does not is doubted, where our fish differ in size.
    """
    for column in reading.columns:
        heading = plain(column.heading)
        for patterns, what in (((_LENGTH, _FORK), "length_mm"), ((_WEIGHT,), "weight_g")):
            if column.role != ColumnRole.NOT_USED or not any(one.search(heading) for one in patterns):
                continue
            own = known(what)
            figures = {n: one.value for n in own if (one := reading.number_in(rows[n - 1], column))}
            written = {n: value for n, value in figures.items() if value > 0}
            if _along(written, own) < LEAST_ALONG:
                words = f"column {column.named} does not rise and fall with what we measured of the {len(written)} fish"
                return f"{words}{_of_which_row(written, own)}: are the codes those of these rows?"
    return ""


def _along(written: Mapping[int, float], own: Mapping[int, float]) -> float:
    """The correlation of what is written with our own measures, of the rows that have both; 1 where it cannot tell."""
    both = [(one, own[n]) for n, one in written.items() if n in own]
    theirs, mine = [one for one, _ in both], [one for _, one in both]
    if len(both) < LEAST_COMPARED or len(set(theirs)) < LEAST_KINDS or max(mine) < LEAST_SPREAD * min(mine):
        return 1.0
    return correlation(theirs, mine)


def _of_which_row(written: Mapping[int, float], own: Mapping[int, float]) -> str:
    """In words, whether the measures are those of the row above or below, or the empty text."""
    for step, words in ((-1, "above"), (1, "below")):
        moved = {n: own[n + step] for n in written if n + step in own}
        if len(moved) >= LEAST_COMPARED - 1 and _along(written, moved) > NEAR_ONE:
            return f", but with that of the fish in the row {words}"
    return ""


def _unlike(
    reading: Reading, rows: Sequence[Row], column: Column, known: Mapping[int, float], scales: Sequence[float]
) -> list[int]:
    """The rows whose number is not the fish's, in the unit in which most are; none where most are not in any."""
    figures = {n: one for n in known if (one := reading.number_in(rows[n - 1], column))}
    if len(figures) < LEAST_ROWS or len({known[n] for n in figures}) < LEAST_KINDS:
        return []
    off = {n: (one, known[n], ROOM * known[n]) for n, one in figures.items()}
    unlike = min(
        (
            [
                n
                for n, (one, own, room) in off.items()
                if abs(one.value * scale - own) > scale * one.half_digit + room
            ]
            for scale in scales
        ),
        key=len,
    )
    few = len(unlike) <= max(MOST_UNLIKE, (1 - LEAST_ALIKE) * len(figures))
    return unlike if few and len(figures) - len(unlike) >= LEAST_ROWS else []
