"""Shares that are other numbers of the fish: its length, its weight, or its number in our list."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_ROWS, LEAST_VALUES, NEARLY_ALL = (
    8,
    6,
    0.9,
)  # with both numbers, different ones, and those that are alike
INCH, POUND, OUNCE = 25.4, 453.59237, 28.349523125
_OF: dict[str, tuple[str, tuple[float, ...]]] = {
    "length_mm": ("the lengths of the fish", (1.0, 10.0, 1000.0, INCH, 12 * INCH)),
    "weight_g": ("the weights of the fish", (1.0, 1000.0, POUND, OUNCE)),
    "fish_number": ("the numbers of the fish", (1.0,)),
    "list_number": ("the numbers of the vials in our list", (1.0,)),
}
ROOM = 0.006  # of a length or weight that was measured in another unit, and rounded there


def own_numbers(reading: Reading, rows: Sequence[Row], known: Callable[[str], Mapping[int, Any]]) -> str:
    """Return what to ask where the column of shares has other numbers of the same fish, or the empty text.

    known
        by row, what we know of the fish: length_mm, weight_g, fish_number or list_number.
    """
    q = reading.column(ColumnRole.Q)
    if q is None:
        return ""
    figures = {n: figure for n in reading.data_rows if (figure := reading.number_in(rows[n - 1], q))}
    for what, (words, units) in _OF.items():
        own = known(what)
        both = [(figure, float(own[n])) for n, figure in figures.items() if n in own]
        if len(both) < LEAST_ROWS or len({number for _, number in both}) < LEAST_VALUES:
            continue
        for unit in units:
            room = 0.0 if what.endswith("number") else ROOM
            alike = sum(
                abs(figure.value - number / unit)
                <= figure.half_digit * (room > 0) + room * number / unit + 1e-9
                for figure, number in both
            )
            if alike >= NEARLY_ALL * len(both):
                return f"column {q.named} has {words} in {alike} of {len(both)} rows: was the wrong column copied"
    return ""
