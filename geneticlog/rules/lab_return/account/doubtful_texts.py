"""Texts of a lab's file that are harmless by their place and doubtful by what they say: lines and unused columns."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

from geneticlog.rules.lab_return.sheet.account_items import (
    ASKED,
    HARMLESS,
    HELD,
    Account,
    Item,
    answers_about,
)
from geneticlog.rules.lab_return.sheet.reading import Column, Question, Reading, Row
from geneticlog.rules.lab_return.words.layout import Layout


def ask_about_lines(
    account: Account, reading: Reading, doubt_in: Callable[[str], str]
) -> tuple[Account, list[Question]]:
    """Return the account with a question for each line that was thought harmless and is doubtful.

    doubt_in
        what is doubtful in a line, in words that follow "which"; the empty text for nothing.
    """
    items, questions = [], []
    for item in account.items:
        doubt = doubt_in(item.text) if item.what == "line" and item.verdict == HARMLESS else ""
        if not doubt or reading.layout.changes_nothing(item.text):
            items.append(item)
            continue
        text = f"{item.where} says {item.text[:90]!r}, which {doubt}: does it change what the values mean?"
        questions.append(Question(text, answers_about(item.text)))
        items.append(replace(item, verdict=ASKED, why=f"it {doubt}", answers=questions[-1].options))
    return Account(tuple(items)), questions


def ask_about_names(
    account: Account, names: Sequence[tuple[str, str]], layout: Layout, doubt_in: Callable[[str], str]
) -> tuple[Account, list[Question]]:
    """Return the account with a question for each name of the file or of a sheet that is doubtful."""
    items, questions = list(account.items), list[Question]()
    for what, name in names:
        key = f"{what} {name}"
        doubt = doubt_in(re.sub(r"\.\w{2,5}$", "", name).replace("_", " "))
        if not doubt or any(item.what == "name" and item.text == name for item in items):
            continue
        if layout.changes_nothing(key) or layout.casts_doubt(key):
            verdict = HARMLESS if layout.changes_nothing(key) else HELD
            items.append(Item("name", what, name, verdict, "as a person or the lab's layout says"))
            continue
        text = f"the {what} is named {name!r}, which {doubt}: is it about them?"
        questions.append(Question(text, answers_about(key)))
        items.append(Item("name", what, name, ASKED, f"it {doubt}", questions[-1].options))
    return Account(tuple(items)), questions


def rows_in_doubt(
    reading: Reading,
    rows: Sequence[Row],
    doubt_in: Callable[[Column, str], str],
    *,
    whatever_its_role: bool = False,
) -> dict[int, list[str]]:
    """Return, by row, what is doubtful in its unused columns; what a person called harmless is left out.

    doubt_in
        what is doubtful in a text of a column, in words that follow the text; asked once of each text.
    whatever_its_role
        a column that a person calls harmless is looked at too: that says that it is no result, and not that all of it
        agrees with us.
    """
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        if column.role or (not whatever_its_role and reading.layout.silences(column.heading)):
            continue
        for text, its_rows in reading.rows_by_text(rows, column).items():
            doubt = doubt_in(column, text)
            if doubt and not reading.layout.changes_nothing(text):
                for n in its_rows:
                    doubts.setdefault(n, []).append(f"column {column.named} says {text[:60]!r}, {doubt}")
    return doubts
