"""Names of lakes in a lab's file: a row or a title that names another lake than that of its vials is doubtful."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from geneticlog.rules.lab_return.account_items import ASKED, HARMLESS, Account, answers_about
from geneticlog.rules.lab_return.headings import plain
from geneticlog.rules.lab_return.reading import Question, Reading, Row

SHORTEST = 4  # letters of a name or a code that can stand in a text by itself
_WATERS = {"lake", "pond", "reservoir", "water", "waters", "site"}


@dataclass(frozen=True)
class Lakes:
    """The lakes of the vials that a file is about, and all others, by names and codes in plain lower case."""

    here: frozenset[str] = frozenset()
    others: frozenset[str] = frozenset()

    def other_in(self, text: str) -> str:
        """Return the name of another lake that a text has, where it has none of the lakes here; else the empty text."""
        if self._others is None or not (found := self._others.search(said := plain(text))):
            return ""
        return "" if self._here is not None and self._here.search(said) else found[0]

    @cached_property
    def _here(self) -> re.Pattern[str] | None:
        return _any_of(self.here)

    @cached_property
    def _others(self) -> re.Pattern[str] | None:
        return _any_of(self.others - self.here)


def lakes_by_name(here: Iterable[str], every: Iterable[str]) -> Lakes:
    """Return the lakes of a shipment, and all of the database, by their names and codes as written."""
    own = frozenset(map(plain, here))
    return Lakes(own, frozenset(map(plain, every)) - own)


def rows_of_other_lakes(reading: Reading, rows: Sequence[Row], lakes: Lakes) -> dict[int, list[str]]:
    """Return, by row, in which unused column another lake is named; what a person called harmless is left out."""
    doubts: dict[int, list[str]] = {}
    if not lakes.others:
        return doubts
    for column in reading.columns:
        if column.role or plain(column.heading) in reading.layout.harmless:
            continue
        named: dict[str, str] = {}  # the same text stands in many rows
        for n in reading.data_rows:
            row = rows[n - 1]
            text = row[column.number - 1][0].strip() if len(row) >= column.number else ""
            if text not in named:
                named[text] = lakes.other_in(text)
            if named[text] and plain(text) not in reading.layout.harmless:
                doubts.setdefault(n, []).append(
                    f"column {column.heading or column.letter} says {text[:60]!r}, another lake than the vial's"
                )
    return doubts


def ask_about_lakes(account: Account, reading: Reading, lakes: Lakes) -> tuple[Account, list[Question]]:
    """Return the account with a question for each line that names another lake and was thought harmless."""
    items, questions = [], []
    for item in account.items:
        other = lakes.other_in(item.text) if item.what == "line" and item.verdict == HARMLESS else ""
        if not other or plain(item.text) in reading.layout.harmless:
            items.append(item)
            continue
        question = Question(
            f"{item.where} says {item.text[:90]!r}, which names another lake than that of these vials: does it change"
            " what the values mean?",
            answers_about(item.text),
        )
        questions.append(question)
        items.append(
            replace(item, verdict=ASKED, why=f"it names another lake: {other}", answers=question.options)
        )
    return Account(tuple(items)), questions


def _any_of(names: Iterable[str]) -> re.Pattern[str] | None:
    long = sorted(
        (name for name in names if len(name) >= SHORTEST and name not in _WATERS), key=len, reverse=True
    )
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, long))})\b") if long else None
