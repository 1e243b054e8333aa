"""Our vial codes in columns that are not the one of vials: a row, or the vial that is named there, is doubtful."""

from __future__ import annotations

import re
from collections.abc import Sequence
from contextlib import suppress

from geneticlog.rules.lab_return.sheet.reading import SHORTEST, Column, Reading, Row
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.vialcode import VialCodeError, parse, printed

LEAST_SHARE = (
    0.5  # of the samples: such a column names each row's vial once more; another one names a vial at times
)

_SAME_AS = re.compile(r"\b(replicate|duplicate|copy|re-?run|repeat|same)s?\b", re.IGNORECASE)


def other_codes(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, what a column that is not used says of another vial than the one the row is about.

    Where the column names a vial in most rows, the row in which it names another one is doubtful; where it names one
    at times, as in a block beside the table, it is the vial that is named there, and under "replicate of" the row too.
    """
    vial = reading.column(ColumnRole.VIAL)
    named = {column: found for column in reading.columns if (found := _named_in(reading, rows, column))}
    if vial is None or not named:
        return {}
    own = {n: _codes_in(vial.text_in(rows[n - 1])) for n in reading.data_rows}
    row_of = {code: n for n, codes in own.items() for code in codes}
    doubts: dict[int, list[str]] = {}
    for column, of_row in named.items():
        often = len(of_row) >= LEAST_SHARE * len(reading.data_rows)
        differ = sum(bool(own[n]) and not own[n] & codes for n, codes in of_row.items())
        settled = ColumnRole.VIAL in reading.layout.answered or reading.layout.silences(column.heading)
        if often and settled and differ > LEAST_SHARE * len(of_row):
            continue  # numbers of another kind, and a person said which column is ours, or that this one is not
        for n, codes in of_row.items():
            text = column.text_in(rows[n - 1])
            if not own[n] or own[n] & codes or reading.layout.changes_nothing(text):
                continue
            if often:
                shown = ", ".join(map(printed, sorted(codes)))
                doubts.setdefault(n, []).append(f"column {column.named} names {shown}")
                continue
            where = reading.sheet_rows.words([n])
            if _SAME_AS.search(column.heading):  # the row is no sample of its own vial then
                shown = ", ".join(map(printed, sorted(codes)))
                doubts.setdefault(n, []).append(f"column {column.named} names {shown}")
            for about in sorted({row_of[code] for code in codes if code in row_of}):
                words = f"row {where}, column {column.named}, says {text[:60]!r}"
                doubts.setdefault(about, []).append(words)
    return doubts


def _named_in(reading: Reading, rows: Sequence[Row], column: Column) -> dict[int, set[str]]:
    """The vial codes that an unused column names, by row."""
    if column.role:
        return {}
    by_text = reading.rows_by_text(rows, column)
    return {n: codes for text, its_rows in by_text.items() if (codes := _codes_in(text)) for n in its_rows}


def _codes_in(text: str) -> set[str]:
    """The vial codes in a text: the whole of it, or words of it."""
    codes = set()
    for word in (text, *re.split(r"[^0-9A-Za-z]+", text)):
        if len(word) >= SHORTEST:
            with suppress(VialCodeError):
                codes.add(parse(word))
    return codes
