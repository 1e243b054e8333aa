"""Words in a cell that is merged over several samples: they speak of each of them, not of the first alone."""

from __future__ import annotations

from dataclasses import replace

from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.sheet.reading import is_code
from geneticlog.store.sheets import EMPTY, Sheet


def with_merged_words(sheet: Sheet) -> Sheet:
    """Return a sheet with the words of each merged cell in all its rows, from the first vial's row on.

    So does a vial's code: its rows are one vial's, and where they differ they wait for a decision. A value is one
    row's, whatever it is merged over; that is asked about.
    """
    down = [place for place in sheet.merged if place[2] > place[0]]
    first = next((i for i, row in enumerate(sheet.rows, 1) if any(is_code(cell.text) for cell in row)), 0)
    if not down or not first:
        return sheet
    rows = [list(row) for row in sheet.rows]
    for top, left, bottom, _ in down:
        cell = rows[top - 1][left - 1] if len(rows) >= top and len(rows[top - 1]) >= left else EMPTY
        if top < first or cell.kind != "text" or number(cell.text):
            continue
        for row in rows[top : min(bottom, len(rows))]:
            row.extend(EMPTY for _ in range(left - len(row)))
            if row[left - 1].kind == "empty":
                row[left - 1] = cell
    return replace(sheet, rows=rows)
