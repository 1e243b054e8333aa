"""Lengths and weights of the fish in a lab's file, as a lab copies them from a manifest: a row with another fish's.

Where most rows agree with what was measured on the boat, the two that do not may be tubes that were exchanged.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from geneticlog.rules.lab_return.headings import plain
from geneticlog.rules.lab_return.reading import Column, Reading, Row
from geneticlog.rules.lab_return.roles import ColumnRole

LEAST_ALIKE, LEAST_ROWS, LEAST_KINDS = 0.75, 4, 3
MOST_UNLIKE = 2  # or the share that LEAST_ALIKE leaves
ROOM = 0.01  # of a measure, for what was rounded on the way
_LENGTH = re.compile(r"^(?!.*\b(fork|standard|fl|sl|read|fragment|allele|bp)\b).*\b(tl|length|size)\b")
_WEIGHT = re.compile(r"^(?!.*\b(dna|relative)\b).*\b(wt|weight|mass)\b")
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
