"""A table with a column for each sample, turned so that it has a row for each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import zip_longest

from geneticlog.rules.lab_return.sheet.reading import is_code
from geneticlog.store.sheets import EMPTY, Sheet

LEAST_CODES, LEAST_SHARE = 3, 0.8  # codes in one row, and their share of its filled cells behind the first
MOST = 1_000_000  # rows and columns of any sheet
SEARCHED, MOST_ROWS = (
    30,
    400,
)  # rows in which such a row is looked for, and that a table lying on its side can have


def turned(sheet: Sheet) -> Sheet:
    """Return a sheet whose codes are all in one row with rows and columns exchanged, any other as it is.

    Row 4 of the result is column D of the file.
    """
    if not 1 < len(sheet.rows) <= MOST_ROWS:
        return sheet
    codes = [sum(is_code(cell.text) for cell in row) for row in sheet.rows[:SEARCHED]]
    best = max(range(len(codes)), key=codes.__getitem__)
    filled = sum(cell.kind != "empty" for cell in sheet.rows[best][1:])
    elsewhere = sum(is_code(cell.text) for i, row in enumerate(sheet.rows) if i != best for cell in row)
    if codes[best] < LEAST_CODES or codes[best] < LEAST_SHARE * filled or elsewhere:
        return sheet
    rows = [list(column) for column in zip_longest(*sheet.rows[best:], fillvalue=EMPTY)]
    # what is above the codes speaks of the whole table, and stays above
    above = [[cell] for row in sheet.rows[:best] for cell in row if cell.kind != "empty"]
    down = len(above)

    def places(marked: Iterable[tuple[int, int]]) -> dict[tuple[int, int], tuple[int, int]]:
        return {(row, column): (column + down, row - best) for row, column in marked if row > best}

    return replace(
        sheet,
        rows=[*above, *rows],
        turned=True,
        merged=(),
        struck=frozenset(places(sheet.struck).values()),
        colours={new: sheet.colours[old] for old, new in places(sheet.colours).items()},
        comments={new: sheet.comments[old] for old, new in places(sheet.comments).items()},
        hidden_rows=frozenset(column + down for column in sheet.hidden_columns),
        rules=tuple(
            (1, 1, MOST, MOST, text) for *_, text in sheet.rules
        ),  # wherever its cells have come to be
        hidden_columns=frozenset(row - best for row in sheet.hidden_rows if row > best),
    )
