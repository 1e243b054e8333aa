"""A sheet with blocks of its cells in another place, all marks with them: so tables of one file become one table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from geneticlog.store.sheets import EMPTY, Cell, Sheet

Mark = TypeVar("Mark")


@dataclass(frozen=True)
class Block:
    """Rows of a sheet, the first and the last, and where their cells go, all counted from 1.

    columns
        new column by old one; a column that is not named is left out.
    down
        by how many rows they move.
    """

    first: int
    last: int
    columns: Mapping[int, int]
    down: int = 0

    def place(self, row: int, column: int) -> tuple[int, int] | None:
        """Return where a cell goes, or None for one that is not of the block."""
        if not self.first <= row <= self.last or column not in self.columns:
            return None
        return row + self.down, self.columns[column]


def rearranged(sheet: Sheet, blocks: Sequence[Block]) -> Sheet:
    """Return a sheet of these blocks of another one."""
    rows: list[list[Cell]] = []
    for block in blocks:
        width = max(block.columns.values(), default=0)
        for n in range(block.first, min(block.last, len(sheet.rows)) + 1):
            rows.extend([] for _ in range(n + block.down - len(rows)))
            new, old = rows[n + block.down - 1], sheet.rows[n - 1]
            new.extend(EMPTY for _ in range(width - len(new)))
            for column, to in block.columns.items():
                if len(old) >= column:
                    new[to - 1] = old[column - 1]

    def moved(places: Iterable[tuple[int, int]]) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
        for place in places:
            for block in blocks:
                if new := block.place(*place):
                    yield place, new

    def kept(marks: Mapping[tuple[int, int], Mark]) -> dict[tuple[int, int], Mark]:
        return {new: marks[old] for old, new in moved(marks)}

    hidden_rows = {
        n + block.down for n in sheet.hidden_rows for block in blocks if block.first <= n <= block.last
    }
    hidden_columns = {
        block.columns[c] for c in sheet.hidden_columns for block in blocks if c in block.columns
    }
    return replace(
        sheet,
        rows=rows,
        struck=frozenset(new for _, new in moved(sheet.struck)),
        colours=kept(sheet.colours),
        comments=kept(sheet.comments),
        merged=tuple(_ranges(sheet.merged, blocks)),
        rules=tuple(
            (*area, text)
            for *place, text in sheet.rules
            for area in _ranges([(place[0], place[1], place[2], place[3])], blocks)
        ),
        areas=tuple(_said(sheet.areas, blocks)),
        formulas=tuple(_said(sheet.formulas, blocks)),
        hidden_rows=frozenset(hidden_rows),
        hidden_columns=frozenset(hidden_columns),
    )


Said = tuple[int, int, int, int, str, str]  # an area, and two texts about it


def _said(areas: Iterable[Said], blocks: Sequence[Block]) -> Iterator[Said]:
    for top, left, bottom, right, what, text in areas:
        for place in _ranges([(top, left, bottom, right)], blocks):
            yield (*place, what, text)


def _ranges(
    areas: Iterable[tuple[int, int, int, int]], blocks: Sequence[Block]
) -> Iterator[tuple[int, int, int, int]]:
    """Each area of cells, column by column, where its cells have come to be."""
    for top, left, bottom, right in areas:
        for block in blocks:
            first, last = max(top, block.first), min(bottom, block.last)
            if first <= last:
                for column in sorted(c for c in block.columns if left <= c <= right):
                    to = block.columns[column]
                    yield first + block.down, to, last + block.down, to
