"""Values that lost their decimal point: whole numbers far above all others of a column that has decimals."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import log10

from geneticlog.rules.lab_return.cells.percent_or_fraction import FRACTION, PERCENT
from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_ROWS, MOSTLY = 8, 0.6  # values with decimals, and their part of all
LEAST_ABOVE = 2  # whole numbers above all these; one may be the highest of the lake
FAR = 1.15  # times the highest
LEAST_PADDED, MOST_BARE = (
    3,
    0.15,
)  # whole values with their decimals, as 25.0, and the part of all that has none


def lost_points(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, that a whole number may have lost its point, in words.

    Of a column with decimals a tenth is whole by itself. Where two of these are above all others, and a point put back
    brings them among them, each of them is doubtful; and so is each where the lab writes whole values with their
    decimals.
    """
    q = reading.column(ColumnRole.Q)
    if q is None or q.unit not in (PERCENT, FRACTION):
        return {}
    whole_share = 100.0 if q.unit == PERCENT else 1.0
    figures = {n: figure for n in reading.data_rows if (figure := reading.number_in(rows[n - 1], q))}
    decimals = {n: round(-log10(2 * one.half_digit)) for n, one in figures.items() if one.half_digit > 0}
    with_point = [figures[n].value for n, digits in decimals.items() if digits > 0]
    whole = {
        n: figures[n].value
        for n, digits in decimals.items()
        if digits == 0 and figures[n].value not in (0.0, whole_share)
    }
    if len(with_point) < LEAST_ROWS or len(with_point) < MOSTLY * len(figures):
        return {}
    usual = Counter(digits for digits in decimals.values() if digits > 0).most_common(1)[0][0]
    top = max(value for value in with_point if value < whole_share) if min(with_point) < whole_share else 0.0
    above = [value for value in whole.values() if value > FAR * top and value / 10**usual <= top]
    padded = sorted(
        figures[n].value for n, digits in decimals.items() if digits and figures[n].value.is_integer()
    )
    bare = {n: value for n, value in whole.items() if rows[n - 1][q.number - 1][1] == "text"}
    if (
        len(above) < LEAST_ABOVE
        and bare
        and len(bare) <= MOST_BARE * len(figures)
        and len(padded) >= LEAST_PADDED
    ):
        one = f"{padded[-1]:.{usual}f}"
        return {
            n: [f"it has no decimals, and {one} beside it has: a decimal point may be lost"] for n in bare
        }
    if len(above) < LEAST_ABOVE:
        return {}
    words = (
        f"it has no decimals, and {len(above)} such values are above all others (the highest of these is {top:g}): a"
        " decimal point may be lost"
    )
    return {n: [words] for n in whole}
