"""How one sheet of a lab's file is read: its columns, its rows, and what is still to be asked."""

from __future__ import annotations

import re
import string
from collections.abc import Sequence
from dataclasses import dataclass

from geneticlog.rules.lab_return.cells.cells import Number, number
from geneticlog.rules.lab_return.sheet.sheet_rows import ONE_TABLE, SheetRows
from geneticlog.rules.lab_return.words.layout import Layout, column_letter
from geneticlog.rules.lab_return.words.roles import ROLES, ColumnRole
from geneticlog.rules.result.result_states import Verdict
from geneticlog.rules.shell_words import quoted
from geneticlog.rules.vialcode import VialCodeError, parse

_WELL = re.compile(r"\s*[_\-. ]\s*\(?[A-H](0?[1-9]|1[0-2])\)?$|\s*\([A-H](0?[1-9]|1[0-2])\)$")
_JOINED = re.compile(r"[_\-./][A-Za-z0-9]{1,8}$")
_BEFORE = re.compile(r"^(?:[A-Za-z0-9]{1,16}\s*[_\-./:#|]\s*){1,3}")
_CHECKS = string.digits + string.ascii_uppercase
SHORTEST = 9  # characters of a vial code
Row = Sequence[tuple[str, str]]  # the (text, kind) of each cell, as store/sheets.py reads them


@dataclass(frozen=True)
class Column:
    """One column: its number from 1, its heading, its role (a key of ROLES, "" unused), why, and its unit.

    Where parts of the file are written in different units, ``unit`` says so in words, and ``own_units`` gives the unit
    of the rows from a first to a last one.
    """

    number: int
    heading: str
    role: ColumnRole
    why: str
    unit: str = ""
    evidence: str = ""
    standing: Verdict = Verdict.HARMLESS  # what the account of the file says of it
    own_units: tuple[tuple[int, int, str], ...] = ()

    @property
    def letter(self) -> str:
        return column_letter(self.number)

    @property
    def named(self) -> str:
        """The heading, or where there is none the letter."""
        return self.heading or self.letter

    def unit_at(self, row_number: int) -> str:
        """Return the unit in which a row is written."""
        return next((unit for first, last, unit in self.own_units if first <= row_number <= last), self.unit)

    def text_in(self, row: Row) -> str:
        """Return the text of this column in a row, empty where the row ends before it."""
        return row[self.number - 1][0].strip() if len(row) >= self.number else ""


@dataclass(frozen=True)
class Question:
    """Two readings are possible.

    ``choices`` are the answers: (setting, role, value), as on a command line.
    """

    text: str
    choices: tuple[tuple[str, str, str], ...]
    key: str = ""  # what of the file it is about, for its account

    @property
    def options(self) -> str:
        """The answers as options of the command."""
        return " or ".join(map(as_option, self.choices))


def as_option(choice: tuple[str, str, str]) -> str:
    """Return one answer (setting, role, value) as an option of the command."""
    setting, role, value = choice
    if "@" in role:
        return f"--{setting} {quoted(f'{role}={value}')}"
    return f"--{setting} {f'{role}=' if role else ''}{quoted(value)}"


@dataclass(frozen=True)
class Reading:
    """How one sheet is read. Row numbers count from 1 as in the sheet.

    ``other_rows`` are the rows that hold no sample (titles, notes, totals) with their text; ``doubts`` are
    sentences for a person; ``sheet_rows`` says which sheet a row is of, where several are read as one; while
    there are ``questions`` nothing can be stored.
    """

    file: str
    sheet: str
    layout: Layout
    heading_row: int
    heading_rows: int
    columns: tuple[Column, ...]
    decimal: str
    decimal_evidence: str
    data_rows: tuple[int, ...]
    other_rows: tuple[tuple[int, str], ...]
    missing: tuple[tuple[str, str, int], ...]
    questions: tuple[Question, ...]
    doubts: tuple[str, ...] = ()
    sheet_rows: SheetRows = ONE_TABLE

    def column(self, role: str) -> Column | None:
        """Return the column of a role, or None."""
        return next((column for column in self.columns if column.role == role), None)

    def number_in(self, row: Row, column: Column) -> Number | None:
        """Return the number of a column in a row, or None where there is none."""
        text, kind = row[column.number - 1] if len(row) >= column.number else ("", "empty")
        return number(text, "." if kind == "number" else self.decimal)

    def rows_by_text(self, rows: Sequence[Row], column: Column) -> dict[str, list[int]]:
        """Return the samples' rows by the text that they have in a column; rows without a text are left out."""
        by_text: dict[str, list[int]] = {}
        for n in self.data_rows:
            if text := column.text_in(rows[n - 1]):
                by_text.setdefault(text, []).append(n)
        return by_text


def roles_of_layout() -> tuple[str, ...]:
    """Return the roles that a layout can name a column for."""
    return tuple(role for role in ROLES if role not in (ColumnRole.NOT_USED, ColumnRole.MARKER))


def listed(headings: Sequence[str]) -> str:
    """Return the columns of a heading, letter and text, for a message."""
    shown = [
        f"{column_letter(i + 1)} {' '.join(text.split())}".strip() for i, text in enumerate(headings) if text
    ]
    return ", ".join(shown[:12]) + (", …" if len(shown) > 12 else "") or "without headings"


def texts_of(row: Row) -> list[str]:
    """Return the texts of a row."""
    return [text for text, _ in row]


def is_code(text: str) -> bool:
    """Return whether a text reads as a vial code."""
    return bool(code_in(text))


def code_in(text: str) -> str:
    """Return the vial code that a text is, perhaps with one word joined to it, or the empty text.

    The word is behind it (BG000001J_S12) or before it (ACME-BG000001J).
    """
    if len(text) < SHORTEST:
        return ""
    for bare in (without_well(text), _JOINED.sub("", text.strip()), _BEFORE.sub("", text.strip())):
        if len(bare) < SHORTEST:
            continue
        try:
            return parse(bare)
        except VialCodeError:
            continue
    return ""


def lacks_its_check(text: str) -> bool:
    """Return whether a text is a vial code without its last character, the one by which it is checked."""
    bare = text.strip()
    return len(bare) == SHORTEST - 1 and bare.isalnum() and any(is_code(bare + last) for last in _CHECKS)


def without_well(text: str) -> str:
    """Return a code without the well of a plate that a lab wrote behind it, as in BG000001J_A01.

    What is left is a code only if its check character says so.
    """
    return _WELL.sub("", text.strip()) if len(text) > 9 else text
