"""The faults a person can put right, each with the exit code that scripts may count on."""

from __future__ import annotations


class GeneticlogError(Exception):
    """A fault with one plain sentence for the person at the keyboard: what, where, and the way out."""

    exit_code = 1


class NotFound(GeneticlogError):
    """Something named by the person is not in the database, or not on the disk."""

    exit_code = 3


class Refused(GeneticlogError):
    """A rule of the trade refuses it."""

    exit_code = 4


class SheetFault(GeneticlogError):
    """A file brought in is at fault: the sentence names file, sheet, row and column as far as they are known.

    Raise it once with all the faults of a file (one a line) where that saves the person a second round.
    """

    exit_code = 5

    def __init__(
        self,
        problem: str,
        *,
        file: str | None = None,
        sheet: str | None = None,
        row: int | None = None,
        column: str | None = None,
        way_out: str | None = None,
    ) -> None:
        self.problem, self.file, self.sheet = problem, file, sheet
        self.row, self.column, self.way_out = row, column, way_out
        parts = [file, f"sheet {sheet}" if sheet else None]
        parts += [f"row {row}" if row is not None else None, f"column {column}" if column else None]
        where = ", ".join(part for part in parts if part)
        text = f"{where}: {problem}" if where else problem
        super().__init__(f"{text}; {way_out}" if way_out else text)


class StoreUnready(GeneticlogError):
    """The database is missing, unreachable, older or newer than this program."""

    exit_code = 6


class StoreReadOnly(StoreUnready):
    """The database can be read and not written: its medium, its folder or the account forbids it."""
