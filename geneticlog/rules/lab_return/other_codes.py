"""Our vial codes in columns that are not the one of vials: a row, or the vial that is named there, is doubtful."""

from __future__ import annotations

import re
from collections.abc import Sequence
from contextlib import suppress

from geneticlog.rules.lab_return.headings import plain
from geneticlog.rules.lab_return.reading import Column, Reading, Row
from geneticlog.rules.lab_return.roles import ColumnRole
from geneticlog.rules.vialcode import VialCodeError, parse, printed

SHORTEST = 9  # characters of a code
LEAST_SHARE = (
    0.5  # of the samples: such a column names each row's vial once more; another one names a vial at times
)


def other_codes(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, what a column that is not used says of another vial than the one the row is about.

    Where the column names a vial in most rows, the row in which it names another one is doubtful; where it names one
    at times, as in a block beside the table, it is the vial that is named there.
    """
    vial, doubts = reading.column(ColumnRole.VIAL), dict[int, list[str]]()
    if vial is None:
        return doubts
    own = {n: _codes_in(_text(rows[n - 1], vial)) for n in reading.data_rows}
    row_of = {code: n for n, codes in own.items() for code in codes}
    for column in reading.columns:
        if column.role:
            continue
        texts = {n: _text(rows[n - 1], column) for n in reading.data_rows}
        named = {n: codes for n, text in texts.items() if (codes := _codes_in(text))}
        name, often = column.heading or column.letter, len(named) >= LEAST_SHARE * len(texts)
        if often and plain(column.heading) in reading.layout.harmless:
            continue
        for n, codes in named.items():
            if not own[n] or own[n] & codes or plain(texts[n]) in reading.layout.harmless:
                continue
            if often:
                shown = ", ".join(map(printed, sorted(codes)))
                doubts.setdefault(n, []).append(f"column {name} names {shown}")
                continue
            where = reading.sheet_rows.words([n])
            for about in sorted({row_of[code] for code in codes if code in row_of}):
                doubts.setdefault(about, []).append(f"row {where}, column {name}, says {texts[n][:60]!r}")
    return doubts


def _text(row: Row, column: Column) -> str:
    return row[column.number - 1][0].strip() if len(row) >= column.number else ""


def _codes_in(text: str) -> set[str]:
    """The vial codes in a text: the whole of it, or words of it."""
    codes = set()
    for word in (text, *re.split(r"[^0-9A-Za-z]+", text)):
        if len(word) >= SHORTEST:
            with suppress(VialCodeError):
                codes.add(parse(word))
    return codes
