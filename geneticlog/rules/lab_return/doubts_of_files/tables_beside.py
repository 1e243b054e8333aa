"""Vial codes and shares that may stand in two tables side by side, each in an order of its own."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.layout import column_letter
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_IDS = 3  # samples named in both columns; fewer may be alike by chance. Common practice, no source


def tables_beside(reading: Reading, rows: Sequence[Row]) -> str:
    """Return why the vials and the shares of this table may not be of the same rows, or the empty text.

    Either an empty column parts them and the vials come last or the shares have ids of their own, or two columns hold
    the same ids, each of them once, in another order: the one beside the shares and the other beside the vials, as in
    a key that stands in the same sheet.

    rows
        all rows of the sheet; row 1 is the first of them.
    """
    vial, q = reading.column(ColumnRole.VIAL), reading.column(ColumnRole.Q)
    if vial is None or q is None or len(reading.data_rows) < LEAST_IDS:
        return ""
    gap = _empty_between(reading, rows, vial, q)
    if gap and (gap < vial.number or _ids(reading, rows, beyond=gap)):
        return (
            f"column {column_letter(gap)} is empty and separates the vials (column {vial.named}) from the shares"
            f" (column {q.named}), as when two tables are side by side, each in an order of its own: is each row about"
            " one sample? If not, put the vials on a sheet of their own"
        )
    if both := _same_ids(reading, rows):
        one, other = (column.letter for column in both)
        return (
            f"columns {one} and {other} hold the same ids in another order, as when the key is beside the results:"
            " is each row about one sample? If not, put the key on a sheet of its own"
        )
    return ""


def _empty_between(reading: Reading, rows: Sequence[Row], vial: Column, q: Column) -> int:
    """The number of the first column between two that has neither a heading nor a cell of a sample; 0 for none."""
    low, high = sorted((vial.number, q.number))
    headed = {column.number for column in reading.columns if column.heading}
    for number in range(low + 1, high):
        if number in headed:
            continue
        if not any(_text(rows[n - 1], number) for n in reading.data_rows):
            return number
    return 0


def _ids(reading: Reading, rows: Sequence[Row], beyond: int = 0) -> list[tuple[Column, list[str]]]:
    """The unused columns that name samples, each once, with their texts; those after a column where it is given."""
    named: list[tuple[Column, list[str]]] = []
    for column in reading.columns:
        if column.role or column.number <= beyond:
            continue
        texts = [_text(rows[n - 1], column.number) for n in reading.data_rows]
        filled = [text for text in texts if text]
        if len(filled) >= LEAST_IDS and len(set(filled)) == len(filled):
            named.append((column, texts))
    return named


def _same_ids(reading: Reading, rows: Sequence[Row]) -> tuple[Column, Column] | None:
    """Two unused columns that name the same samples, each once, and not in the same rows."""
    for (first, left), (second, right) in combinations(_ids(reading, rows), 2):
        shared = set(left) & set(right) - {""}
        if 2 * len(shared) > len(set(left) - {""}) and len(shared) >= LEAST_IDS:
            moved = sum(a in shared and b in shared and a != b for a, b in zip(left, right, strict=True))
            if moved:
                return first, second
    return None


def _text(row: Row, number: int) -> str:
    return row[number - 1][0].strip() if len(row) >= number else ""
