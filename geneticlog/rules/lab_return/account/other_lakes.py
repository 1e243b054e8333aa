"""Names of lakes in a lab's file: a row or a title that names another lake than that of its vials is doubtful."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from geneticlog.rules.lab_return.account.doubtful_texts import rows_in_doubt
from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.words.headings import plain

_YEAR = re.compile(r"(?<![\d.,/-])20\d\d(?![\d.,/-])")
SHORTEST = 4  # letters of a name or a code that can stand in a text by itself
_WATERS = {"lake", "pond", "reservoir", "water", "waters", "site"}


@dataclass(frozen=True)
class Lakes:
    """The lakes of the vials that a file is about, and all others, by names and codes in plain lower case."""

    here: frozenset[str] = frozenset()
    others: frozenset[str] = frozenset()
    years: frozenset[int] = frozenset()  # in which the fish were caught

    def other_in(self, text: str) -> str:
        """Return the name of another lake that a text has, where it has none of the lakes here; else the empty text."""
        if self._others is None or not (found := self._others.search(said := plain(text))):
            return ""
        return "" if self._here is not None and self._here.search(said) else found[0]

    def year_in(self, text: str) -> int | None:
        """Return the one year that a text names beside a lake of these vials; None where it names none or several."""
        if self._here is None or not self._here.search(plain(text)):
            return None
        years = {int(one) for one in _YEAR.findall(text)}
        return years.pop() if len(years) == 1 else None

    @cached_property
    def _here(self) -> re.Pattern[str] | None:
        return _any_of(self.here)

    @cached_property
    def _others(self) -> re.Pattern[str] | None:
        return _any_of(self.others - self.here)


def lakes_by_name(here: Iterable[str], every: Iterable[str], years: Iterable[int] = ()) -> Lakes:
    """Return the lakes of a shipment, and all of the database, by their names and codes as written."""
    own = frozenset(map(plain, here))
    return Lakes(own, frozenset(map(plain, every)) - own, frozenset(years))


def rows_of_other_lakes(reading: Reading, rows: Sequence[Row], lakes: Lakes) -> dict[int, list[str]]:
    """Return, by row, in which unused column another lake is named; what a person called harmless is left out."""
    if not lakes.others:
        return {}
    return rows_in_doubt(
        reading, rows, lambda _, text: "another lake than the vial's" if lakes.other_in(text) else ""
    )


def line_of_other_lake(text: str, lakes: Lakes) -> str:
    """Return what a line says of another lake, or of another year of these, in words, or the empty text."""
    if lakes.other_in(text):
        return "names another lake than that of these vials"
    year = lakes.year_in(text)
    if year and lakes.years and year < min(lakes.years):
        return f"names the lake with the year {year}, and the fish were caught in {min(lakes.years)}"
    return ""


def _any_of(names: Iterable[str]) -> re.Pattern[str] | None:
    long = sorted(
        (name for name in names if len(name) >= SHORTEST and name not in _WATERS), key=len, reverse=True
    )
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, long))})\b") if long else None
