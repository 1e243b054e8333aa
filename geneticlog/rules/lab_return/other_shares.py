"""A second column of the same shares that is not used: rows in which it says another share are doubtful."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.lab_return.cells import Number
from geneticlog.rules.lab_return.headings import recognise
from geneticlog.rules.lab_return.reading import Reading, Row
from geneticlog.rules.lab_return.roles import ColumnRole

LEAST_ALIKE = 0.75  # of the rows with both: with fewer, the column is of another method or another year
LEAST_ROWS = 4


def other_shares(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, what another column of the share that is read says otherwise, perhaps in percent."""
    q, says_otherwise = reading.column(ColumnRole.Q), dict[int, list[str]]()
    if q is None:
        return says_otherwise
    for column in reading.columns:
        meant = recognise(column.heading, reading.layout.taxa)
        if (
            column.role
            or meant is None
            or meant.role != ColumnRole.Q
            or reading.layout.changes_nothing(column.heading)
        ):
            continue
        pairs = {
            n: (own, other)
            for n in reading.data_rows
            if (own := reading.number_in(rows[n - 1], q))
            and (other := reading.number_in(rows[n - 1], column))
        }
        unlike = min((_unlike(pairs, scale) for scale in (1.0, 100.0, 0.01)), key=len)
        if len(pairs) < LEAST_ROWS or len(unlike) > (1 - LEAST_ALIKE) * len(pairs):
            continue
        for n in unlike:
            text = f"column {column.heading} says {column.text_in(rows[n - 1])!r}"
            says_otherwise.setdefault(n, []).append(text)
    return says_otherwise


def _unlike(pairs: dict[int, tuple[Number, Number]], scale: float) -> list[int]:
    """The rows whose two numbers are not the same, the other one times ``scale``, at the digits written."""
    return [
        n
        for n, (own, other) in pairs.items()
        if abs(own.value - other.value * scale) > own.half_digit + other.half_digit * scale + 1e-9
    ]
