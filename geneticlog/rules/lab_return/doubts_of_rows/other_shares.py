"""A second column of the same shares that is not used: rows in which it says another share are doubtful."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.lab_return.cells.cells import Number
from geneticlog.rules.lab_return.cells.percent_or_fraction import COUNT, FRACTION, PERCENT
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import counted_in_alleles, recognise
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_ALIKE = 0.75  # of the rows with both: with fewer, the column is of another method or another year
LEAST_ROWS = 4


def other_shares(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, what another column of the share that is read says otherwise, perhaps in percent."""
    q, says_otherwise = reading.column(ColumnRole.Q), dict[int, list[str]]()
    if q is None:
        return says_otherwise
    for column in reading.columns:
        meant = recognise(column.heading, reading.layout.taxa)
        if not column.role and meant is not None and meant.role == ColumnRole.Q:
            for n in _counts_unlike(reading, rows, q, column):
                verb = "says" if q.unit == COUNT else "counts"
                text = f"column {column.heading} {verb} {column.text_in(rows[n - 1])!r}"
                says_otherwise.setdefault(n, []).append(text)
        if (
            column.role
            or meant is None
            or meant.role != ColumnRole.Q
            or reading.layout.silences(column.heading)
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


def _counts_unlike(reading: Reading, rows: Sequence[Row], q: Column, column: Column) -> list[int]:
    """The rows whose count of alleles is not the share of those scored, where nearly all others are.

    One of the two columns is what the other was worked out from, whichever a person names as the share.
    """
    scored = reading.column(ColumnRole.N_LOCI)
    if scored is None or q.unit not in (PERCENT, FRACTION, COUNT):
        return []
    steps = 1 if counted_in_alleles(scored.heading) else 2
    counts, shares = (q, column) if q.unit == COUNT else (column, q)
    written = [one for n in reading.data_rows if (one := reading.number_in(rows[n - 1], shares))]
    percent = q.unit == PERCENT or (q.unit == COUNT and any(one.value > 1 for one in written))
    unlike, n_rows = [], 0
    for n in reading.data_rows:
        own, count, of = (reading.number_in(rows[n - 1], each) for each in (shares, counts, scored))
        if own is None or count is None or of is None or of.value <= 0 or not count.value.is_integer():
            continue
        n_rows += 1
        share, half = own.as_fraction(percent)
        if abs(count.value / (steps * of.value) - share) > half + 1e-9:
            unlike.append(n)
    return unlike if n_rows >= LEAST_ROWS and len(unlike) <= (1 - LEAST_ALIKE) * n_rows else []


def _unlike(pairs: dict[int, tuple[Number, Number]], scale: float) -> list[int]:
    """The rows whose two numbers are not the same, the other one times ``scale``, at the digits written."""
    return [
        n
        for n, (own, other) in pairs.items()
        if abs(own.value - other.value * scale) > own.half_digit + other.half_digit * scale + 1e-9
    ]
