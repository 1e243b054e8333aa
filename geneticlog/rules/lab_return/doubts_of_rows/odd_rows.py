"""Rows whose shipment, year or batch is not that of all the others, though the column of it is not used."""

from __future__ import annotations

import re
from collections.abc import Sequence

from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.words.headings import plain

LEAST_ROWS = 8
MOST_ODD, MOST_ODD_SHARE = 2, 0.1  # rows; where more differ, the column varies. Common practice, no source
_SAME_FOR_ALL = re.compile(r"\b(shipment|submission|order|job|batch|lot|year|season)\b")


def odd_rows(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, what it says in an unused column that says one other thing in nearly all rows.

    What a person called harmless is left out. Where a few rows of one shipment name another year or another order,
    they may be about other samples.
    """
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        if column.role or not _SAME_FOR_ALL.search(plain(column.heading)):
            continue
        if reading.layout.silences(column.heading):
            continue
        by_text: dict[str, list[int]] = {}
        for text, its_rows in reading.rows_by_text(rows, column).items():
            by_text.setdefault(plain(text), []).extend(its_rows)
        n_rows = sum(map(len, by_text.values()))
        usual = max(by_text, key=lambda text: len(by_text[text]), default="")
        odd = sorted(n for text, its_rows in by_text.items() if text != usual for n in its_rows)
        if n_rows < LEAST_ROWS or len(odd) > max(MOST_ODD, MOST_ODD_SHARE * n_rows):
            continue
        others = column.text_in(rows[by_text[usual][0] - 1])[:40]
        for n in odd:
            text = (
                f"column {column.named} says {column.text_in(rows[n - 1])[:40]!r}, and the others {others!r}"
            )
            doubts.setdefault(n, []).append(text)
    return doubts
