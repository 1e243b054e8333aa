"""Columns that a lab's kept layout calls harmless: what they say now and did not say when they were kept."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.lab_return.sheet.account_items import (
    ASKED,
    HARMLESS,
    HELD,
    Item,
    answers_about,
    beside_shares,
    rows_in_words,
)
from geneticlog.rules.lab_return.sheet.reading import Column, Question, Reading, Row
from geneticlog.rules.lab_return.words.headings import answer_key
from geneticlog.rules.lab_return.words.layout import Layout

MOST_WORDS = 6  # different texts of a column; one with more holds numbers or names, each of which may be new


def words_seen(reading: Reading, rows: Sequence[Row]) -> dict[str, tuple[str, ...]]:
    """Return, by heading, the few texts of each column that a person or the layout calls harmless, to be kept."""
    seen = {}
    for column in reading.columns:
        key = answer_key(column.heading)
        if column.role or not key or key not in reading.layout.harmless:
            continue
        texts = {answer_key(text) for text in reading.rows_by_text(rows, column)}
        texts |= set(reading.layout.seen.get(key, ()))
        if len(texts) <= MOST_WORDS:
            seen[key] = tuple(sorted(texts))
    return seen


def account_of_kept(reading: Reading, rows: Sequence[Row]) -> tuple[list[Item], list[Question]]:
    """Return a question for each text of a kept column that it did not have in the file with which it was kept."""
    items: list[Item] = []
    questions: list[Question] = []
    layout = reading.layout
    for column in reading.columns:
        key = answer_key(column.heading)
        if column.role or key not in layout.kept or key not in layout.seen:
            continue
        new = {
            text: its_rows
            for text, its_rows in beside_shares(reading, rows, column).items()
            if answer_key(text) not in layout.seen[key]
        }
        if len(new) > MOST_WORDS:
            new = {next(iter(new)): [n for its_rows in new.values() for n in its_rows]}
        for text, its_rows in new.items():
            item, question = _of_word(column, text, rows_in_words(reading, sorted(its_rows)), layout)
            items.append(item)
            questions += question
    return items, questions


def _of_word(column: Column, text: str, at: str, layout: Layout) -> tuple[Item, list[Question]]:
    where = f"column {column.letter}, {at}"
    if layout.changes_nothing(text):
        return Item("word", where, text, HARMLESS, "a person says that it changes nothing"), []
    if layout.casts_doubt(text):
        return Item("word", where, text, HELD, "a person says that it casts doubt on the values"), []
    asks = (
        f"column {column.heading} was kept as harmless, and says {text[:60]!r} in {at}, which it did not say then: does"
        " it cast doubt on the value?"
    )
    question = Question(asks, answers_about(text))
    return Item("word", where, text, ASKED, "new in a kept column", question.options), [question]
