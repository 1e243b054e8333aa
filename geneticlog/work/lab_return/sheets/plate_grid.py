"""Sheets laid out as a plate (1 to 12 across, A to H down), turned into a table with a row for each well.

Row 5, column 3 of the sheet becomes row 503 of the table, so that a finding can be found in the file again.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from geneticlog.rules.lab_return.sheet.reading import is_code
from geneticlog.rules.lab_return.words.headings import Taxa, recognise
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.shipment.plates import LETTERS, well
from geneticlog.store.sheets import EMPTY, Cell, Sheet

STEP = 100  # rows of the table for each row of the sheet
MOST = 1_000_000  # rows and columns of any sheet
LAST_ROW = 500  # of a sheet, in which a plate is looked for
UNSAID = "Value in each well"  # of a plate that does not say what it shows
SIZES = {(8, 12), (9, 9), (10, 10)}  # rows and columns of what samples are sent in: rules/shipment/plates.py
_NUMBERED = re.compile(r"\b(?:plate|box|rack)\s*(?:no\.?|#)?\s*(\d{1,3})\b", re.IGNORECASE)
Mark = TypeVar("Mark")


@dataclass(frozen=True)
class Grid:
    """One plate in a sheet: the place of its corner (from 0), its size, what it shows and of which plate."""

    top: int
    left: int
    n_rows: int
    n_columns: int
    shows: str
    number: str
    title_row: int | None  # the row of its title, which is then no line of the file

    def wells(self) -> Iterator[tuple[str, int, int]]:
        """Each well with the place of its cell in the sheet, from 0."""
        for i in range(self.n_rows):
            for j in range(self.n_columns):
                yield well(i, j), self.top + 1 + i, self.left + 1 + j


def from_grids(sheets: Sequence[Sheet], taxa: Taxa) -> list[Sheet]:
    """Return the sheets, those that show plates as tables of wells and any other as it is."""
    return [_as_table(sheet, grids) if (grids := _grids(sheet, taxa)) else sheet for sheet in sheets]


def _grids(sheet: Sheet, taxa: Taxa) -> list[Grid]:
    grids: list[Grid] = []
    for top, row in enumerate(sheet.rows[:LAST_ROW]):
        for left, corner in enumerate(row):
            if corner.text.strip() in ("1", "01") or left + 1 >= len(row):
                continue
            size = _size(sheet.rows, top, left)
            if size is not None:
                above = max((one.top + one.n_rows for one in grids if one.top < top), default=-1)
                grids.append(_titled(sheet, top, left, size, above, taxa))
    if len({(one.shows, one.number) for one in grids}) < len(grids):
        return []  # two plates of which nothing says how they differ
    return grids


def _size(rows: Sequence[Sequence[Cell]], top: int, left: int) -> tuple[int, int] | None:
    """The rows and columns of a plate with its corner here, or None where there is none."""
    across = 0
    while left + 1 + across < len(rows[top]) and _is_number(rows[top][left + 1 + across].text, across + 1):
        across += 1
    down = 0
    while top + 1 + down < len(rows) and down < len(LETTERS):
        line = rows[top + 1 + down]
        if len(line) <= left or line[left].text.strip().upper() != LETTERS[down]:
            break
        down += 1
    return (down, across) if (down, across) in SIZES else None


def _is_number(text: str, wanted: int) -> bool:
    return re.fullmatch(rf"(col(umn)?\s*)?0*{wanted}(\.0)?", text.strip(), re.IGNORECASE) is not None


def _titled(sheet: Sheet, top: int, left: int, size: tuple[int, int], above: int, taxa: Taxa) -> Grid:
    """The plate with what its corner, the line above it or the name of its sheet says that it shows."""
    cells = [row[left + 1 : left + 1 + size[1]] for row in sheet.rows[top + 1 : top + 1 + size[0]]]
    codes = any(is_code(cell.text) for row in cells for cell in row)
    corner = sheet.rows[top][left].text.strip()
    titles: list[tuple[str, int | None]] = [(corner, None)]
    for i in range(top - 1, max(above, top - 4), -1):
        filled = [cell.text.strip() for cell in sheet.rows[i] if cell.kind != "empty"]
        if len(filled) == 1:
            titles.append((filled[0], i))
    titles.append((sheet.name, None))
    number = next((found[1] for text, _ in titles if (found := _NUMBERED.search(text))), "")
    shows, row = ("Vial", None) if codes else ("", None)
    for text, at in titles:
        rest = " ".join(_NUMBERED.sub(" ", text).strip(" -–—:,;").split())
        recognised = recognise(rest, taxa)
        if (
            recognised is not None
            and recognised.role
            and recognised.role != ColumnRole.FAILURE
            and (recognised.role == ColumnRole.VIAL) == codes
        ):
            shows, row = rest, at
            break
        if not rest and at is not None and row is None:
            row = at  # it says the number of the plate and nothing else
    return Grid(top, left, *size, shows or corner or UNSAID, number, row)


def _as_table(sheet: Sheet, grids: Sequence[Grid]) -> Sheet:
    """The sheet as a table: plate where there are several, well, and a column for each thing that plates show."""
    numbers = list(dict.fromkeys(one.number for one in grids))
    shown = list(dict.fromkeys(one.shows for one in grids))
    head = [*(["Plate"] if len(numbers) > 1 or numbers != [""] else []), "Well", *shown]
    top = min(one.top for one in grids)
    table: dict[int, list[Cell]] = {top: [Cell(text, "text") if text else EMPTY for text in head]}
    within = {i for one in grids for i in range(one.top, one.top + one.n_rows + 1)}
    within |= {one.title_row for one in grids if one.title_row is not None}
    table |= {i: _without_blanks(line) for i, line in enumerate(sheet.rows) if i not in within and i != top}
    new_place: dict[tuple[int, int], tuple[int, int]] = {}  # of each cell, from 0
    for number in numbers:
        its = [one for one in grids if one.number == number]
        for at in range(its[0].n_rows * its[0].n_columns):
            places = [list(one.wells())[at] if at < one.n_rows * one.n_columns else None for one in its]
            name, row, column = places[0] or ("", 0, 0)
            values = [EMPTY] * len(shown)
            for grid, place in zip(its, places, strict=True):
                if place is None:
                    continue
                line, i = sheet.rows[place[1]], shown.index(grid.shows)
                values[i] = line[place[2]] if len(line) > place[2] else EMPTY
                new_place[place[1], place[2]] = (STEP * (row + 1) + column, len(head) - len(shown) + i)
            if all(value.kind == "empty" for value in values):
                continue
            lead = [Cell(number, "text")] if head[0] == "Plate" else []
            table[STEP * (row + 1) + column] = [*lead, Cell(name, "text"), *values]
    return _with_marks(replace(sheet, rows=_laid_out(table), grid=True, merged=()), sheet, new_place)


def _without_blanks(row: Sequence[Cell]) -> list[Cell]:
    last = max((i for i, cell in enumerate(row) if cell.kind != "empty"), default=-1)
    return list(row[: last + 1])


def _laid_out(table: Mapping[int, list[Cell]]) -> list[list[Cell]]:
    rows: list[list[Cell]] = [[] for _ in range(max(table) + 1)]
    for i, row in table.items():
        rows[i] = row
    return rows


def _with_marks(made: Sheet, sheet: Sheet, new_place: Mapping[tuple[int, int], tuple[int, int]]) -> Sheet:
    """The table with the marks of the plate where its cells have come to be."""

    def moved(places: Iterable[tuple[int, int]]) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
        for row, column in places:
            new = new_place.get((row - 1, column - 1))
            yield (row, column), (new[0] + 1, new[1] + 1) if new else (row, column)

    def kept(marks: Mapping[tuple[int, int], Mark]) -> dict[tuple[int, int], Mark]:
        return {new: marks[old] for old, new in moved(marks)}

    def hidden(out_of_sight: Collection[int], axis: int) -> set[int]:
        return {new[0] + 1 for old, new in new_place.items() if old[axis] + 1 in out_of_sight}

    return replace(
        made,
        struck=frozenset(new for _, new in moved(sheet.struck)),
        colours=kept(sheet.colours),
        comments=kept(sheet.comments),
        hidden_rows=frozenset(hidden(sheet.hidden_rows, 0) | hidden(sheet.hidden_columns, 1)),
        rules=tuple(
            (1, 1, MOST, MOST, text) for *_, text in sheet.rules
        ),  # wherever its cells have come to be
        hidden_columns=frozenset(),
    )
