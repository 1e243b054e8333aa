"""What the account of a lab's file holds: each thing in it, what became of it and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from geneticlog.rules.lab_return.sheet.reading import Column, Question, Reading, Row
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.result.result_states import Verdict

USED, HARMLESS, HELD, ASKED = Verdict.USED, Verdict.HARMLESS, Verdict.HELD, Verdict.ASKED


@dataclass(frozen=True)
class Item:
    """One thing that the file holds: what kind, where, its text, what became of it and why.

    ``answers`` are the options that settle it while it is asked about.
    """

    what: str  # column, line, word, mark, comment, hidden rows, hidden sheet, sheet, numbers
    where: str
    text: str
    verdict: Verdict
    why: str
    answers: str = ""


@dataclass(frozen=True)
class Account:
    """Everything the file holds; plain values only, so that it can be kept, sent and shown again."""

    items: tuple[Item, ...]

    @property
    def open(self) -> tuple[Item, ...]:
        return tuple(item for item in self.items if item.verdict == ASKED)

    def count(self, verdict: Verdict) -> int:
        return sum(item.verdict == verdict for item in self.items)

    def as_plain(self) -> list[dict[str, Any]]:
        return [asdict(item) for item in self.items]


def account_from(plain_items: Sequence[Mapping[str, Any]]) -> Account:
    """Return the account that ``as_plain`` wrote."""
    return Account(tuple(Item(**item) for item in plain_items))


@dataclass(frozen=True)
class SheetMarks:
    """What a sheet shows beside its values, by (row, column) from 1, and the other sheets of the file.

    ``colours``: the colour of a cell or its text; ``formulas``: cells whose formula was never calculated.
    """

    struck: frozenset[tuple[int, int]] = frozenset()
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    colours: Mapping[tuple[int, int], str] = field(default_factory=dict)
    comments: Mapping[tuple[int, int], str] = field(default_factory=dict)
    merged: tuple[tuple[int, int, int, int], ...] = ()  # first row and column, last row and column
    rules: tuple[tuple[int, int, int, int, str], ...] = ()  # ranges coloured where a condition holds
    other_sheets: tuple[tuple[str, bool, tuple[str, ...]], ...] = ()  # name, hidden, its lines
    names: tuple[tuple[str, str], ...] = ()  # of the file and of the sheets that are read: what, and its name
    notes: tuple[tuple[str, str], ...] = ()  # what the sheet says in no cell: where, and the text
    areas: tuple[
        tuple[int, int, int, int, str, str], ...
    ] = ()  # ranges: what says something of them, and the text
    properties: tuple[tuple[str, str], ...] = ()  # what the file says of itself: where, and the text
    formulas: tuple[
        tuple[int, int, int, int, str, str], ...
    ] = ()  # runs: as seen from the cell, and as written
    is_protected: bool = False


def lines_of(account: Account) -> list[str]:
    """Return the lines of a file that are no rows of samples, as they are written."""
    return [item.text for item in account.items if item.what == "line"]


def answers_about(key: str, *, hold_first: bool = False) -> tuple[tuple[str, str, str], ...]:
    """Return the two answers to a question about a text; ``hold_first``: the text itself speaks against values."""
    answers = (("harmless", "", key), ("hold", "", key))
    return answers[::-1] if hold_first else answers


def rows_in_words(reading: Reading, rows: Sequence[int]) -> str:
    """Rows for people, with the word that fits their number."""
    return f"row{'s' * (len(rows) > 1)} {reading.sheet_rows.words(rows)}"


def has_value(row: Row, column: int) -> bool:
    return len(row) >= column and any(letter.isdigit() for letter in row[column - 1][0])


def beside_shares(reading: Reading, rows: Sequence[Row], column: Column) -> dict[str, list[int]]:
    """Return the rows with a share, or all where no column is read as one, by the text of a column."""
    q = reading.column(ColumnRole.Q)
    with_share = {
        text: [n for n in its_rows if q is None or has_value(rows[n - 1], q.number)]
        for text, its_rows in reading.rows_by_text(rows, column).items()
    }
    return {text: its_rows for text, its_rows in with_share.items() if its_rows}


def put_answered(
    put: Any, layout: Layout, key: str, where: str, text: str, asks: str, *, hold_first: bool = False
) -> None:
    if layout.changes_nothing(key):
        put(Item("mark", where, text, HARMLESS, "a person or the lab's layout says that it changes nothing"))
    elif layout.casts_doubt(key):
        put(Item("mark", where, text, HELD, "a person says that it casts doubt on the values"))
    else:
        put(Item("mark", where, text, ASKED, "nobody said what it means"),
            Question(asks, answers_about(key, hold_first=hold_first)))  # fmt: skip
