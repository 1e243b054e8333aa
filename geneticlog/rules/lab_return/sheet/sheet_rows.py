"""Row numbers as a person counts them, also where several sheets of one file are read as one return."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

COLUMNS = "columns "  # how the name of a table beside another one begins
LEAST_STEP = 1_000  # so that row 7 of the second sheet is 1007, of the third 2007
MOST_STEP = 100_000  # sheets longer than this are spaced by whole multiples of it


def rows_in_words(rows: Sequence[int], most: int = 12) -> str:
    """Return row numbers for people: ``3, 5 to 9, 12`` and, of very many, how many more."""
    runs: list[tuple[int, int]] = []
    for row in sorted(rows):
        if runs and row == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], row)
        else:
            runs.append((row, row))
    words = [str(a) if a == b else f"{a}, {b}" if b == a + 1 else f"{a} to {b}" for a, b in runs[:most]]
    left = sum(b - a + 1 for a, b in runs[most:])
    return ", ".join(words) + (f" and {left} more" if left else "")


def step_for(longest: int) -> int:
    """Return the spacing of the sheets of one return, given the rows of the longest: 1,000, 10,000, 100,000, …"""
    step = LEAST_STEP
    while step <= longest and step < MOST_STEP:
        step *= 10
    return step if longest < step else (longest // MOST_STEP + 1) * MOST_STEP


@dataclass(frozen=True)
class SheetRows:
    """How the rows of several sheets are numbered in one return: each sheet begins ``step`` after the one before.

    Without ``sheets`` there is one table, and its rows are as they are.
    """

    sheets: tuple[str, ...] = ()
    step: int = 0

    def number(self, sheet: int, row: int) -> int:
        """Return the number, in the return, of a row of the sheet at this place (from 0)."""
        return sheet * self.step + row

    def place(self, number: int) -> tuple[str | None, int]:
        """Return the sheet (None for one table) and the row in it."""
        if not self.sheets:
            return None, number
        sheet, row = divmod(number, self.step)
        return self.sheets[min(sheet, len(self.sheets) - 1)], row

    def words(self, numbers: Sequence[int]) -> str:
        """Return rows for people, each with its sheet: ``3, 5 to 9 of sheet Plate 1; 4 of sheet Plate 2``."""
        if not self.sheets:
            return rows_in_words(numbers)
        of_sheet: dict[str, list[int]] = {}
        for number in sorted(numbers):
            sheet, row = self.place(number)
            of_sheet.setdefault(sheet or "", []).append(row)
        return "; ".join(f"{rows_in_words(rows)} of {called(sheet)}" for sheet, rows in of_sheet.items())


def called(name: str) -> str:
    """Return what a part of a return is called: a sheet by its name, a table beside another one by its columns."""
    return name if name.startswith(COLUMNS) else f"sheet {name}"


ONE_TABLE = SheetRows()
