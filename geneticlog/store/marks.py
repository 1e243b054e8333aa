"""What a sheet of a workbook says beside the values of its cells, whatever program wrote it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from geneticlog.rules.lab_return.cells.formulas import refers, relative
from geneticlog.store.beside_cells import Area, Note
from geneticlog.store.colour_rules import Rule

LONGEST_SHOWN = 200  # characters of a formula
A_NUMBER = "a number"  # the pattern of a formula that takes nothing from elsewhere, as =34/76


@dataclass
class Marks:
    """Hidden rows and columns, and by (row, column) from 1 the cells whose text and kind the value reader does not
    show, that are struck through, coloured or commented on; the rules by which cells are coloured; what the sheet says
    in no cell, and of ranges of cells; and its formulas, each run of cells down a column that were filled down as one
    (its first row and column, its last ones, the formula as seen from the cell, and as written in the first)."""

    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    cells: dict[tuple[int, int], tuple[str, str]] = field(default_factory=dict)
    struck: set[tuple[int, int]] = field(default_factory=set)
    colours: dict[tuple[int, int], str] = field(default_factory=dict)
    comments: dict[tuple[int, int], str] = field(default_factory=dict)
    rules: tuple[Rule, ...] = ()
    notes: tuple[Note, ...] = ()
    areas: tuple[Area, ...] = ()
    properties: tuple[Note, ...] = ()
    is_protected: bool = False
    formulas: tuple[tuple[int, int, int, int, str, str], ...] = ()
    _formulas: dict[int, list[tuple[int, str, bool, str]]] = field(default_factory=lambda: defaultdict(list))

    def put_formula(self, row: int, column: int, formula: str, *, is_zero: bool, seen: str = "") -> None:
        """Note a formula with its value; what a column of them comes to is seen at the end.

        seen
            the formula as seen from the cell, where it is known: a file may write only the first of those filled down.
        """
        if not seen:
            seen = relative(formula, row, column) if refers(formula) else A_NUMBER
        self._formulas[column].append((row, formula, is_zero, seen))

    def settle(self) -> None:
        """Take for never calculated the formulas of a column whose values are 0 in every row; put runs together.

        Programs that write workbooks without calculating them leave 0 as the value of each formula.
        """
        runs: list[tuple[int, int, int, int, str, str]] = []
        for column, formulas in self._formulas.items():
            for row, formula, _, seen in formulas:
                if runs and runs[-1][1:5] == (column, row - 1, column, seen):
                    runs[-1] = (runs[-1][0], column, row, column, seen, runs[-1][5])
                else:
                    runs.append((row, column, row, column, seen, formula[:LONGEST_SHOWN]))
            if all(is_zero for _, _, is_zero, _ in formulas):
                for row, formula, _, _ in formulas:
                    self.cells.setdefault((row, column), (f"={formula}", "formula"))
        self.formulas = tuple(runs)


def local(tag: str) -> str:
    """Return the name of an element without its namespace."""
    return tag.rpartition("}")[2]


def in_percent(value: str) -> str | None:
    """Return a number as a person sees it in a cell formatted as a percentage: 0.2105 is 21.05%."""
    try:
        moved = Decimal(value).scaleb(2)
    except InvalidOperation:
        return None
    return f"{moved:f}%" if moved.is_finite() else None
