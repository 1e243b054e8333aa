"""A second column with our vial codes in it, inside longer names: rows in which it names another vial are doubtful."""

from __future__ import annotations

import re
from collections.abc import Sequence

from geneticlog.rules.lab_return.headings import plain
from geneticlog.rules.lab_return.reading import Column, Reading, Row, is_code, without_well
from geneticlog.rules.vialcode import parse, printed

LEAST_SHARE = 0.5  # of the samples: a column that names a vial now and then is one of remarks


def other_codes(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, what a column that is not used says of another vial than the one the row is about."""
    vial, found = reading.column("vial"), dict[int, list[str]]()
    if vial is None:
        return found
    for column in reading.columns:
        if column.role or plain(column.heading) in reading.layout.harmless:
            continue
        named = {n: codes for n in reading.data_rows if (codes := _codes_in(_text(rows[n - 1], column)))}
        if len(named) < LEAST_SHARE * len(reading.data_rows):
            continue
        for n, codes in named.items():
            own = _codes_in(_text(rows[n - 1], vial))
            if own and not own & codes:
                text = (
                    f"column {column.heading or column.letter} names {', '.join(map(printed, sorted(codes)))}"
                )
                found.setdefault(n, []).append(text)
    return found


def _text(row: Row, column: Column) -> str:
    return row[column.number - 1][0] if len(row) >= column.number else ""


def _codes_in(text: str) -> set[str]:
    """The vial codes in a text: the whole of it, or words of it."""
    words = [text, *re.split(r"[^0-9A-Za-z]+", text)]
    return {parse(without_well(word)) for word in words if is_code(word)}
