"""What a sheet of a workbook says beside the values of its cells, whatever program wrote it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from geneticlog.store.beside_cells import Note
from geneticlog.store.colour_rules import Rule


@dataclass
class Marks:
    """Hidden rows and columns, and by (row, column) from 1 the cells whose text and kind the value reader does not
    show, that are struck through, coloured or commented on; the rules by which cells are coloured; and what the
    sheet says in no cell."""

    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    cells: dict[tuple[int, int], tuple[str, str]] = field(default_factory=dict)
    struck: set[tuple[int, int]] = field(default_factory=set)
    colours: dict[tuple[int, int], str] = field(default_factory=dict)
    comments: dict[tuple[int, int], str] = field(default_factory=dict)
    rules: tuple[Rule, ...] = ()
    notes: tuple[Note, ...] = ()
    _formulas: dict[int, list[tuple[int, str, bool]]] = field(default_factory=lambda: defaultdict(list))

    def put_formula(self, row: int, column: int, formula: str, *, is_zero: bool) -> None:
        """Note a formula with its value; what a column of them comes to is seen at the end."""
        self._formulas[column].append((row, formula, is_zero))

    def settle(self) -> None:
        """Take for never calculated the formulas of a column whose values are 0 in every row.

        Programs that write workbooks without calculating them leave 0 as the value of each formula.
        """
        for column, formulas in self._formulas.items():
            if all(is_zero for _, _, is_zero in formulas):
                for row, formula, _ in formulas:
                    self.cells.setdefault((row, column), (f"={formula}", "formula"))


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
