"""Lines of a lab's file that say nothing known: few are asked about one by one, many as one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from geneticlog.rules.lab_return.sheet.account_items import (
    ASKED,
    HARMLESS,
    HELD,
    Item,
    answers_about,
    rows_in_words,
)
from geneticlog.rules.lab_return.sheet.lines import condemns
from geneticlog.rules.lab_return.sheet.reading import Question, Reading
from geneticlog.rules.lab_return.words.layout import Layout

ABOVE, BELOW = "the other lines above", "the other lines below"  # what answers call them
MOST_LINES = 3  # above the samples, or below them, that are asked about one by one
SHOWN, LONGEST = 12, 70  # lines in one question, and characters of each


def answered(layout: Layout, key: str, where: str, text: str) -> Item | None:
    """Return what a person says of all such lines together, as it is put to the account; None where nobody does."""
    if layout.changes_nothing(key):
        return Item("line", where, text, HARMLESS, f"a person says that {key} change nothing")
    if layout.casts_doubt(key):
        return Item(
            "line",
            where,
            text,
            HELD,
            f"a person says that {key} change the values, which wait for a decision",
        )
    return None


def ask(reading: Reading, lines: Sequence[tuple[int, str, str]], key: str, put: Any) -> None:
    """Put each line (row, text, why it is asked about) to the account with its question, or all with one."""
    if len(lines) <= MOST_LINES:
        for row, text, why in lines:
            where = rows_in_words(reading, [row])
            asks = f"{where} says {text[:90]!r} ({why}): does it change what the values mean?"
            put(
                Item("line", where, text, ASKED, why),
                Question(asks, answers_about(text, hold_first=condemns(text))),
            )
        return
    where = rows_in_words(reading, [row for row, _, _ in lines])
    shown = "; ".join(repr(text[:LONGEST]) for _, text, _ in lines[:SHOWN])
    more = f" and {len(lines) - SHOWN} more (return preview shows each)" if len(lines) > SHOWN else ""
    asks = f"{len(lines)} lines hold words that are not known ({where}): {shown}{more}. Read them: does any of them"
    asks += " change what the values mean?"
    answers = answers_about(key, hold_first=any(condemns(text) for _, text, _ in lines))
    for n, (row, text, why) in enumerate(lines):
        question = Question(asks, answers) if not n else None
        item = Item(
            "line",
            rows_in_words(reading, [row]),
            text,
            ASKED,
            why,
            Question(asks, answers).options,
        )
        put(item, question)
