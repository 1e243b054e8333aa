"""Names of clients, projects and waters that nobody here knows: a file that has one may be about other fish.

A lake of this database is known (other_lakes.py); what is asked about here is a name that is none of the shipment's
waters, of their owners, of the office or its people. A lab's own name, an address and a line of plain words are not.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from geneticlog.rules.lab_return.sheet.account_items import (
    ASKED,
    HARMLESS,
    HELD,
    Item,
    answers_about,
    rows_in_words,
)
from geneticlog.rules.lab_return.sheet.lines import LETTERHEAD
from geneticlog.rules.lab_return.sheet.reading import Column, Question, Reading, Row
from geneticlog.rules.lab_return.sheet.words_beside import GOOD, judge
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.vocabulary import HARMLESS_WORDS, words_of

MOST_NAMES = 4  # of a column that are asked about one by one; more are one question
_WATER_WORDS = "lake|pond|reservoir|river|creek|bayou|impoundment|lac|lago|étang"
_LABEL = re.compile(
    r"\s*(?:client|customer|cliente?|kunde|project|projet|projekt|proyecto|lake|lac|lago|water ?body|waters?|reservoir"
    r"|pond|river|impoundment)(?: (?:name|title))?\s*[:=|#–—-]+\s*(?P<name>.+)",
    re.IGNORECASE,
)
_WATER = re.compile(
    rf"(?<!\d )\b(?:(?:[A-Z][\w'’.\-]+ ){{1,3}}(?:{_WATER_WORDS.title()})"
    r"|(?:Lake|Lac|Lago)(?: [A-Z][\w'’.\-]+){1,3})\b"
)
_COLUMN = re.compile(
    r"(?:.*\b)?(?:client|customer|cliente?|kunde|project|projet|projekt|proyecto|waters?|water ?body"
    rf"|{_WATER_WORDS})(?: name| title)?"
)
_PLACES = re.compile(r"(?:.*\b)?(?:site|location|locality|place|population|origin)(?: name)?")
_NOT_OURS = re.compile(  # an address, or the lab itself
    r"\b(road|rd|street|st|avenue|ave|drive|dr|lane|ln|blvd|highway|hwy|suite|box|p ?o|zip|fax|phone|tel|genotyping"
    r"|genetics|genomics|laboratory|laboratories|lab|labs|university|institute|college|school|services|inc|llc|ltd|gmbh"
    r"|city|county|\d{5})\b"
)
_OF_PARTIES = re.compile(r"\b(county|city)\b")  # a word of many an office's name, and of an address
_PLAIN = LETTERHEAD | HARMLESS_WORDS | words_of(
    f"""
    {_WATER_WORDS.replace("|", " ")} study survey surveys monitoring sampling bass ancestry genetics stock population
    management program programme statewide annual fisheries biology unknown other various several none na n/a mixed
    public private small large big little upper lower north south east west northern southern eastern western florida
    hybrid largemouth micropterus salmoides
    """
)  # fmt: skip


@dataclass(frozen=True)
class Names:
    """What is known of the shipment by name, as written: its waters and their owners, the office and its people, the
    codes of surveys and of the shipment, the lab and the panel. Without a name nothing is asked about.

    other_labs
        names of the labs of the office's list that do not have these vials, in plain words.
    """

    known: frozenset[str] = field(default_factory=frozenset)
    other_labs: frozenset[str] = field(default_factory=frozenset)

    @cached_property
    def _words(self) -> tuple[frozenset[str], ...]:
        """The words of each name that say which it is."""
        words = (_telling(name) for name in self.known)
        return tuple(telling for telling in words if telling)

    def strange_in(self, text: str) -> bool:
        """Whether a text names something, and none of what is known of the shipment."""
        words = _telling(text)
        if not self._words or not words:
            return False
        return not any(name <= words or words <= name for name in self._words)

    def names_other_lab(self, words: str) -> bool:
        """Whether a line in plain words names another lab of the office's list, and not the one of the vials."""
        here = any(
            re.search(rf"\b{re.escape(one)}\b", words) for one in map(lab_name, self.known) if len(one) > 3
        )
        return not here and any(re.search(rf"\b{re.escape(one)}\b", words) for one in self.other_labs)

    def doubt_in(self, line: str) -> str:
        """Return what a line says of another client, project or water, in words, or the empty text."""
        label = _LABEL.match(line)
        words = plain(line)
        if self.names_other_lab(words):
            return "names another lab of yours than the one that has these vials"
        if label is not None:
            named = plain(label["name"])
            strange = self.strange_in(named) and not _NOT_OURS.search(_OF_PARTIES.sub("", named))
        else:
            water = _WATER.search(line)
            strange = water is not None and not _NOT_OURS.search(words) and self.strange_in(water[0])
            strange = strange and self.strange_in(line)
        return "names no water, client or project that is known of these vials" if strange else ""


def names_known(names: Iterable[str | None], other_labs: Iterable[str] = ()) -> Names:
    """Return the names that are known of a shipment; those that are not given are left out.

    other_labs
        names of the labs that do not have its vials; of one word alone it may be a word of the trade.
    """
    known = frozenset(name for name in names if name)
    labs = {lab_name(name) for name in other_labs} - set(map(lab_name, known))
    return Names(known, frozenset(name for name in labs if " " in name))


def lab_name(name: str) -> str:
    """Return a name in plain words, without what is in brackets behind it."""
    return plain(re.sub(r"\(.*?\)", " ", name))


def account_of_names(
    reading: Reading, rows: Sequence[Row], names: Names, elsewhere: Callable[[str], bool]
) -> tuple[list[Item], list[Question]]:
    """Return a question for each strange name in a column of clients, projects or waters that is not used.

    elsewhere
        whether a text names a lake of this database that is not the vials': its rows are held, and nothing is asked.
    """
    items: list[Item] = []
    questions: list[Question] = []
    layout = reading.layout
    for column in reading.columns:
        if column.role or column.standing != HARMLESS or layout.silences(column.heading):
            continue
        strange = {
            text: its_rows
            for text, its_rows in _candidates(reading, rows, column).items()
            if names.strange_in(text) and not elsewhere(text) and judge(text, layout.taxa) != GOOD
        }
        if len(strange) > MOST_NAMES:
            first = next(iter(strange))[:60]
            asks = (
                f"column {column.heading} has {len(strange)} names not known of these vials (first {first!r})"
            )
            questions.append(Question(f"{asks}: is it about them?", answers_about(column.heading)))
            where, text = f"column {column.letter}", "; ".join(strange)[:500]
            items.append(Item("word", where, text, ASKED, "names not known here", questions[-1].options))
            continue
        for text, its_rows in strange.items():
            item, question = _of_name(reading, column, text, rows_in_words(reading, its_rows))
            items.append(item)
            questions += question
    return items, questions


def _of_name(reading: Reading, column: Column, text: str, at: str) -> tuple[Item, list[Question]]:
    """What becomes of one strange name, and the question about it where nobody has answered it."""
    where = f"column {column.letter}, {at}"
    if reading.layout.changes_nothing(text):
        why = "a person or the lab's layout says that it changes nothing"
        return Item("word", where, text, HARMLESS, why), []
    if reading.layout.casts_doubt(text):
        return Item("word", where, text, HELD, "a person says that it casts doubt on the values"), []
    asks = f"column {column.heading} says {text[:60]!r} in {at}, which is no water, client or project that is known of"
    question = Question(f"{asks} these vials: is it about them?", answers_about(text))
    return Item("word", where, text, ASKED, "a name not known here", question.options), [question]


def _candidates(reading: Reading, rows: Sequence[Row], column: Column) -> dict[str, list[int]]:
    """The rows by the text of a column that names clients, projects or waters, or by a water that it names among
    places.
    """
    heading = plain(column.heading)
    if _COLUMN.fullmatch(heading):
        return reading.rows_by_text(rows, column)
    if _PLACES.fullmatch(heading):
        return {text: its for text, its in reading.rows_by_text(rows, column).items() if _WATER.search(text)}
    return {}


def _telling(text: str) -> frozenset[str]:
    """The words of a text that say which client, project or water it is: no number, no letter alone, no plain word."""
    return frozenset(
        word for word in plain(text).split()
        if word not in _PLAIN and len(word) > 1 and not any(letter.isdigit() for letter in word)
    )  # fmt: skip
