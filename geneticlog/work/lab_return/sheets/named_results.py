"""Lists in which each row names what was measured, the same in all: Vial, Analyte, Result, Unit."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from geneticlog.rules.lab_return.columns.unit_columns import of_units
from geneticlog.rules.lab_return.sheet.reading import is_code
from geneticlog.rules.lab_return.words.headings import plain, recognise
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.store.sheets import EMPTY, Cell, Sheet

SEARCHED = 100  # rows in which such a heading is looked for
_KEY = re.compile(
    r"(?:analyte|parameter|test|measure(?:ment|d)?|determination|component|variable|trait)(?: name)?"
)
_RESULT = re.compile(
    r"(?:test |reported |final |numeric )?(?:results?|values?|test results?)(?: value| reported)?"
)


def with_named_results(sheet: Sheet, layout: Layout) -> Sheet:
    """Return a list whose every row names the same share with that as the heading of its results; others as they are.

    A list whose columns a person or the lab's layout speaks of is left as it is.
    """
    for top, row in enumerate(sheet.rows[:SEARCHED]):
        heads = [plain(cell.text) for cell in row]
        keys = [i for i, text in enumerate(heads) if _KEY.fullmatch(text)]
        results = [i for i, text in enumerate(heads) if _RESULT.fullmatch(text)]
        if len(keys) == len(results) == 1 and not any(is_code(cell.text) for cell in row):
            return _named(sheet, top, keys[0], results[0], layout)
    return sheet


def _named(sheet: Sheet, top: int, key: int, result: int, layout: Layout) -> Sheet:
    head = sheet.rows[top]
    own = {plain(head[i].text) for i in (key, result)}
    if own & set(map(plain, layout.columns.values())) or any(
        layout.changes_nothing(head[i].text) or layout.casts_doubt(head[i].text) for i in (key, result)
    ):
        return sheet
    samples = [n for n, row in enumerate(sheet.rows) if n > top and any(is_code(cell.text) for cell in row)]
    names = {_text(sheet.rows[n], key) for n in samples}
    name = names.pop() if len(names) == 1 else ""
    meant = recognise(name, layout.taxa) if name else None
    shares = (ColumnRole.Q, ColumnRole.OTHER_Q)
    if meant is None or meant.role not in shares or meant.strange or meant.tier != 1:
        return sheet
    if any(meant.role == _role(cell.text, layout) for cell in head):
        return sheet
    rows = [list(row) for row in sheet.rows]
    rows[top][result] = Cell(name, "text")
    for n in (top, *samples):
        if len(rows[n]) > key:
            rows[n][key] = EMPTY
    where = f"columns {head[key].text.strip()} and {head[result].text.strip()}"
    why = f"each row says {name!r}, and its result is read under that heading"
    return replace(sheet, rows=rows, put_together=(*sheet.put_together, (where, why)))


def _role(heading: str, layout: Layout) -> str:
    meant = recognise(heading, layout.taxa)
    return meant.role if meant and not of_units(heading) else ""


def _text(row: Sequence[Cell], i: int) -> str:
    return row[i].text.strip() if len(row) > i else ""
