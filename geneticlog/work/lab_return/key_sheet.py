"""A sheet that says which of the lab's own numbers is which vial, and the results that go by these numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from geneticlog.rules.lab_return.reading import is_code
from geneticlog.store.sheets import EMPTY, Cell, Sheet
from geneticlog.work.lab_return.by_well import well_in

LEAST_KEYED = 0.8  # of the values of a column, that the key knows
FEWEST = 2


def with_codes(sheets: Sequence[Sheet]) -> list[Sheet]:
    """Return the sheets, those without a vial code having a column more with the codes that another sheet gives them.

    A number that the key does not know, or gives two vials, gets no code, and its row is then a finding.
    """
    if sum(sheet.filled for sheet in sheets) < 2:
        return list(sheets)
    keys = [(sheet, key) for sheet in sheets if not sheet.hidden for key in _keys(sheet)]
    if not keys:
        return list(sheets)
    return [sheet if _any_code(sheet) else _keyed(sheet, keys) for sheet in sheets]


def _number_in(text: str) -> str:
    """A number of the lab's, as it is; of a well, A1 and A01 are the same."""
    return well_in(text) or text.strip()


def _any_code(sheet: Sheet) -> bool:
    return any(is_code(cell.text) for row in sheet.rows for cell in row)


def _keys(sheet: Sheet) -> Iterator[tuple[str, dict[str, str]]]:
    """Each pair of columns of a sheet that names a vial for every number: the heading of the codes, and the pairs."""
    rows = [(n, row) for n, row in enumerate(sheet.rows) if any(is_code(cell.text) for cell in row)]
    width = max((len(row) for _, row in rows), default=0)
    codes = [i for i in range(width) if all(len(row) > i and is_code(row[i].text) for _, row in rows)]
    if len(rows) < FEWEST or len(codes) != 1:
        return
    code = codes[0]
    above = sheet.rows[rows[0][0] - 1] if rows[0][0] else []
    heading = above[code].text.strip() if len(above) > code else ""
    for i in range(width):
        pairs: dict[str, str] = {}
        doubled: set[str] = set()
        for _, row in rows:
            own = _number_in(row[i].text) if len(row) > i else ""
            if i == code or not own or (own in pairs and pairs[own] != row[code].text):
                doubled.add(own)
            pairs[own] = row[code].text
        if i != code and len(doubled) == 0 and len(pairs) == len(rows):
            yield heading or "Vial", pairs


def _keyed(sheet: Sheet, keys: Sequence[tuple[Sheet, tuple[str, dict[str, str]]]]) -> Sheet:
    width = max((len(row) for row in sheet.rows), default=0)
    matches = []
    for source, (heading, pairs) in keys:
        if source.name == sheet.name:
            continue
        for i in range(width):
            hits = [
                n for n, row in enumerate(sheet.rows) if len(row) > i and _number_in(row[i].text) in pairs
            ]
            below = (
                [row for row in sheet.rows[hits[0] :] if len(row) > i and row[i].kind != "empty"]
                if hits
                else []
            )
            if len(hits) >= FEWEST and len(hits) >= LEAST_KEYED * len(below):
                matches.append((source, heading, pairs, i, hits))
    if len(matches) != 1:
        return sheet  # no key, or two that may not say the same
    source, heading, pairs, i, hits = matches[0]
    top = max((n for n in range(hits[0]) if any(cell.kind != "empty" for cell in sheet.rows[n])), default=-1)
    rows = []
    for n, row in enumerate(sheet.rows):
        code = pairs.get(_number_in(row[i].text), "") if len(row) > i else ""
        text = f"{heading} (sheet {source.name})" if n == top else code if n in hits else ""
        padded = [*row, *[EMPTY] * (width - len(row))]
        rows.append([*padded, Cell(text, "text")] if text else row)
    return replace(sheet, rows=rows, keyed_by=source.name)
