"""Two tables of the same headings side by side: read as one, half of the vials would be lost."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.sheet.reading import is_code
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.layout import column_letter
from geneticlog.store.sheets import Cell, Sheet

MOST_ROWS = 1000  # of a sheet, in which tables that are side by side have begun


def refuse_side_by_side(sheet: Sheet, file: str) -> None:
    """Raise SheetFault where two columns of other vials have the same headings, with room between the tables."""
    first = next((i for i, row in enumerate(sheet.rows[:MOST_ROWS]) if _names_two(row)), 0)
    if not first:
        return
    heads = [plain(cell.text) for cell in sheet.rows[first - 1]]
    codes = [i for i, cell in enumerate(sheet.rows[first]) if is_code(cell.text) and i < len(heads)]
    for left, right in combinations(codes, 2):
        gap = next((i for i in range(left + 1, right) if not heads[i]), 0)
        block = heads[left : gap or right]
        same = bool(gap) and len(block) > 1 and heads[right : right + len(block)] == block
        if same and _codes(sheet.rows, left).isdisjoint(_codes(sheet.rows, right)):
            ends = [f"{column_letter(i + 1)} to {column_letter(i + len(block))}" for i in (left, right)]
            raise SheetFault(
                f"two tables are side by side, in columns {ends[0]} and {ends[1]}",
                file=file,
                sheet=sheet.name or None,
                row=first,
                way_out="put one below the other, or give each a file of its own",
            )


def _names_two(row: Sequence[Cell]) -> bool:
    return sum(is_code(cell.text) for cell in row) > 1


def _codes(rows: Sequence[Sequence[Cell]], i: int) -> set[str]:
    return {row[i].text.strip().upper() for row in rows if len(row) > i and is_code(row[i].text)}
