"""Columns that say how a sample was typed: harmless where all rows say the same, asked about where they differ."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from geneticlog.rules.lab_return.sheet.account_items import (
    ASKED,
    HARMLESS,
    HELD,
    Item,
    answers_about,
    beside_shares,
    rows_in_words,
)
from geneticlog.rules.lab_return.sheet.reading import Question, Reading, Row
from geneticlog.rules.lab_return.sheet.words_beside import AGAINST, judge
from geneticlog.rules.lab_return.words.headings import PANEL_LOCI, plain
from geneticlog.rules.lab_return.words.vocabulary import words_of

_HOW = re.compile(
    r"\b(assay|panel|method|chip|array|version|protocol|primers?|pipeline|software|test|tissue|material|matrix|medium)\b"
)
_TISSUES = words_of(
    "mouth buccal oral swab swabs fin clip clips tissue pelvic anal caudal ethanol dry buffer lmb bass"
)
MOST_WAYS = 6  # that are asked about one by one; more are one question


def account_of_assays(reading: Reading, rows: Sequence[Row], put: Any) -> None:
    """Ask about each assay, panel or method that is not the one of most rows, or that is another species'."""
    layout = reading.layout
    for column in reading.columns:
        heading = plain(column.heading)
        if (
            column.role
            or column.standing != HARMLESS
            or column.why == PANEL_LOCI
            or layout.changes_nothing(column.heading)
        ):
            continue
        if not _HOW.search(heading):
            continue
        ways = beside_shares(reading, rows, column)
        most = max(ways, key=lambda text: len(ways[text]), default="")
        others = [
            text
            for text in ways
            if (text != most and not set(plain(text).split()) <= _TISSUES)
            or judge(text, layout.taxa) == AGAINST
        ]
        if len(others) > MOST_WAYS:
            asks = f"column {column.heading} says {len(ways)} different things: does that change what the shares mean?"
            put(Item("word", f"column {column.letter}", "; ".join(others)[:500], ASKED, "not the same in all rows"),
                Question(asks, answers_about(column.heading)))  # fmt: skip
            continue
        for text in others:
            at = rows_in_words(reading, ways[text])
            if layout.changes_nothing(text):
                put(
                    Item(
                        "word",
                        f"column {column.letter}, {at}",
                        text,
                        HARMLESS,
                        "a person says that it changes nothing",
                    )
                )
            elif layout.casts_doubt(text):
                put(
                    Item(
                        "word",
                        f"column {column.letter}, {at}",
                        text,
                        HELD,
                        "a person says that it changes the values",
                    )
                )
            else:
                beside = f", and {most!r} in most others" if text != most else ""
                asks = f"column {column.heading} says {text[:60]!r} in {at}{beside}: does it change what shares mean?"
                put(Item("word", f"column {column.letter}, {at}", text, ASKED, "not as in most rows"),
                    Question(asks, answers_about(text)))  # fmt: skip
