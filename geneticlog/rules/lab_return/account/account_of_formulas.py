"""The formulas of a workbook in the account of a file: what one does with a value that a person would not expect.

A column that is calculated alike from top to bottom is as good as its formula; a row of it that is calculated
otherwise, or typed over, and a formula that guesses, draws lots or takes from elsewhere, are asked about.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from geneticlog.rules.lab_return.cells.formulas import (
    approximate_lookup,
    from_other_book,
    left_over,
    of_chance,
    other_rows,
    stand_in,
)
from geneticlog.rules.lab_return.sheet.account_items import (
    USED,
    Item,
    SheetMarks,
    has_value,
    put_answered,
    rows_in_words,
)
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import plain, taxa_named
from geneticlog.rules.lab_return.words.roles import ColumnRole

MIXED = "rows calculated otherwise in"  # how answers call them, before the column
TYPED = "a number"  # the pattern of a value that was typed
_VALUES = (
    ColumnRole.Q, ColumnRole.OTHER_Q, ColumnRole.THIRD_Q, ColumnRole.HETEROZYGOSITY, ColumnRole.N_LOCI,
)  # fmt: skip
_READ = (*_VALUES, ColumnRole.VIAL, ColumnRole.CALL_RATE, ColumnRole.LAB_CLASS, ColumnRole.FAILURE)


@dataclass(frozen=True)
class _Doubt:
    """Something about the formulas of a column: how answers call it, the rows, and the question."""

    key: str
    rows: tuple[int, ...]
    asks: str


def account_of_formulas(reading: Reading, rows: Sequence[Row], marks: SheetMarks, put: Any) -> None:
    """Put to the account each column that is calculated, with what is doubtful in its formulas."""
    if not marks.formulas:
        return
    for column, patterns in _calculated(reading, rows, marks):
        doubts = list(_doubts(reading, column, patterns, marks))
        for doubt in doubts:
            where = f"column {column.letter}, {rows_in_words(reading, doubt.rows)}"
            put_answered(put, reading.layout, doubt.key, where, doubt.key, doubt.asks)
        if not doubts:
            of = [row for row, pattern in patterns.items() if pattern != TYPED]
            where = f"column {column.letter}, {rows_in_words(reading, of)}"
            put(
                Item(
                    "formula",
                    where,
                    column.heading,
                    USED,
                    "its values are calculated alike, as they were saved",
                )
            )


def formulas_against(reading: Reading, rows: Sequence[Row], marks: SheetMarks) -> dict[int, list[str]]:
    """Return, by row, the formulas that a person says cast doubt on its value, in words."""
    out: dict[int, list[str]] = {}
    for column, patterns in _calculated(reading, rows, marks) if marks.formulas else ():
        for doubt in _doubts(reading, column, patterns, marks):
            if reading.layout.casts_doubt(doubt.key):
                for row in doubt.rows:
                    out.setdefault(row, []).append(doubt.key)
    return out


def _calculated(
    reading: Reading, rows: Sequence[Row], marks: SheetMarks
) -> Iterator[tuple[Column, dict[int, str]]]:
    """Each column that is read and has formulas, with the pattern of each of its samples' values."""
    samples = frozenset(reading.data_rows)
    for column in reading.columns:
        if column.role not in _READ:
            continue
        patterns: dict[int, str] = {}
        for top, left, bottom, right, pattern, _ in marks.formulas:
            if left <= column.number <= right:
                patterns |= dict.fromkeys(samples.intersection(range(top, bottom + 1)), pattern)
        if all(pattern == TYPED for pattern in patterns.values()):
            continue
        typed = [n for n in reading.data_rows if n not in patterns and has_value(rows[n - 1], column.number)]
        yield column, dict(sorted((patterns | dict.fromkeys(typed, TYPED)).items()))


def _doubts(
    reading: Reading, column: Column, patterns: dict[int, str], marks: SheetMarks
) -> Iterator[_Doubt]:
    named = column.named
    written: dict[str, str] = {}
    for _, left, _, right, pattern, text in marks.formulas:
        if left <= column.number <= right:
            written.setdefault(pattern, text)
    for key, rows, wording in _by_what_it_does(reading, column, patterns):
        first = written.get(patterns[rows[0]], "")
        shown = f"={first[:60]}" if first else "a formula"
        where = rows_in_words(reading, rows)
        yield _Doubt(f"{key} in {named}", tuple(rows), f"column {named} ({where}, {shown}) {wording}")
    if column.role == ColumnRole.VIAL:
        return
    usual, n_usual = Counter(patterns.values()).most_common(1)[0]
    other = [row for row, pattern in patterns.items() if pattern != usual]
    if other:
        is_typed = [row for row in other if patterns[row] == TYPED]
        how = "typed" if len(is_typed) == len(other) else "calculated otherwise"
        most = "typed" if usual == TYPED else f"calculated (={written.get(usual, '')[:40]})"
        first = written.get(patterns[other[0]], "")
        shown = f", as ={first[:40]}" if first and patterns[other[0]] != TYPED else ""
        yield _Doubt(
            f"{MIXED} {named}",
            tuple(other),
            f"column {named} is {most} in {n_usual} rows and {how} in {rows_in_words(reading, other)}{shown}: were"
            " these values put there by hand, and are they right?",
        )


def _by_what_it_does(
    reading: Reading, column: Column, patterns: dict[int, str]
) -> Iterator[tuple[str, list[int], str]]:
    """What formulas of a column do, with their rows: the key of the answer, the rows, and the rest of the question."""
    by_key: dict[str, tuple[str, list[int]]] = {}
    judged = {
        pattern: list(_judged(reading, column, pattern)) for pattern in set(patterns.values()) - {TYPED}
    }
    for row, pattern in patterns.items():
        for key, wording in judged.get(pattern, ()):
            by_key.setdefault(key, (wording, []))[1].append(row)
    for key, (wording, rows) in by_key.items():
        yield key, rows, wording


_ASKS = {
    "an approximate lookup": "looks its value up with {}, which takes that of another line where its own is missing: do"
    " all of these values belong to their samples?",
    "another workbook": "takes its value from another workbook, as it was when this one was saved: is that the right"
    " one, and its last state?",
    "random numbers": "draws random numbers: are these values measured?",
    "values put in place": "puts a value of its own where there is none or where a condition holds, {}: are all of"
    " these values measured?",
    "another row": "takes something from another row than its own ({}): does each value belong to its sample?",
    "1 minus a share": "is 1 minus {}: is it the share that its heading says?",
}


def _judged(reading: Reading, column: Column, pattern: str) -> Iterator[tuple[str, str]]:
    """The key and the question of each thing that one formula does."""
    if name := approximate_lookup(pattern):
        yield _asks("an approximate lookup", name)
    if from_other_book(pattern):
        yield _asks("another workbook")
    if column.role not in _VALUES:
        return
    if of_chance(pattern):
        yield _asks("random numbers")
    if put := stand_in(pattern):
        yield _asks("values put in place", put)
    if (rest := left_over(pattern)) and (of := _left_by(reading, column, *rest)):
        yield _asks("1 minus a share", of)
    elif away := other_rows(pattern):
        yield _asks("another row", f"{abs(away)} {'below' if away > 0 else 'above'}")


def _asks(key: str, more: str = "") -> tuple[str, str]:
    return key, _ASKS[key].format(more)


def _left_by(reading: Reading, column: Column, is_elsewhere: bool, away: int) -> str:
    """What a column of 1 minus another one is taken from; "" where that is the share of the other taxon."""
    taxa = reading.layout.taxa
    of = next((one for one in reading.columns if one.number == column.number + away), None)
    if of is None or is_elsewhere:
        return "a value that is not of this table"
    first, other = taxa_named(plain(of.heading), taxa)
    shares = {ColumnRole.Q: other and not first, ColumnRole.OTHER_Q: first and not other}
    return "" if shares.get(column.role) else f"column {of.named}"
