"""Recognise the heading of a column: the one way from its text to what the column holds, for every file that we read.

A reader brings its own `Vocabulary` (field sheets: `rules/boat/sheet_columns`; what labs send:
`rules/lab_return/words/headings`). How a text is normalised, what two fitting meanings are, which words are left over
and which known heading is nearest to a slip is decided here.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from functools import lru_cache
from typing import Generic, TypeVar

from geneticlog.rules.sentences import nearest_names

Meaning = TypeVar("Meaning")
_INVISIBLE = re.compile(r"[\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")
_SEPARATORS = "_.,:;()[]/-"


def normalised(heading: str, also: str) -> str:
    """Return a heading in lower case, with separators and line breaks as single spaces.

    also
        Characters that separate words in this kind of file, beside those that do so in every one.
    """
    text = _INVISIBLE.sub("", unicodedata.normalize("NFKC", heading).casefold())
    return " ".join(text.translate(_to_spaces(also)).split())


@lru_cache(maxsize=8)  # asked of each cell
def _to_spaces(also: str) -> dict[int, str]:
    return dict.fromkeys(map(ord, _SEPARATORS + also), " ")


def words_in(words: str) -> list[str]:
    """Return the words of a plain heading; a percent or number sign parts words as a space does."""
    return re.sub("([%#])", r" \1 ", words).split()


def strange_words(words: str, known: Iterable[Set[str]]) -> tuple[str, ...]:
    """Return the words of a plain heading that are in none of the sets."""
    allowed = frozenset[str]().union(*known)
    return tuple(word for word in words_in(words) if word not in allowed)


@dataclass(frozen=True)
class Sense(Generic[Meaning]):
    """One thing that a heading may say: what the column then holds, and the pattern by which a plain heading says it.

    ``known`` are the words that may stand beside it and change nothing; None where any word may.
    """

    meaning: Meaning
    says: re.Pattern[str]
    known: frozenset[str] | None = None

    def strange(self, words: str) -> tuple[str, ...]:
        return () if self.known is None else strange_words(words, [self.known])


@dataclass(frozen=True)
class Answer(Generic[Meaning]):
    """What a vocabulary says of a plain heading: one sense (recognised), several (ambiguous) or none (unknown)."""

    words: str
    senses: tuple[Sense[Meaning], ...] = ()

    @property
    def meaning(self) -> Meaning | None:
        """What the column holds; None where the heading is ambiguous or unknown."""
        return self.senses[0].meaning if len(self.senses) == 1 else None

    @property
    def strange(self) -> tuple[str, ...]:
        """Words of a recognised heading that may make another thing of the column."""
        return self.senses[0].strange(self.words) if len(self.senses) == 1 else ()


class Vocabulary(Generic[Meaning]):
    """The senses of one kind of file, the surest first; those of one rank stand side by side.

    A heading has the meaning of the first rank in which a sense fits; where two of a rank fit, it is ambiguous.
    """

    def __init__(self, ranks: Iterable[Sequence[Sense[Meaning]]], phrases: Sequence[str] = ()) -> None:
        self.ranks = tuple(tuple(rank) for rank in ranks)
        self._phrases = tuple(phrases)

    @classmethod
    def in_order(cls, senses: Iterable[Sense[Meaning]]) -> Vocabulary[Meaning]:
        """Return a vocabulary in which the first sense that fits is the meaning."""
        return cls((sense,) for sense in senses)

    @classmethod
    def of_phrases(cls, phrases: Mapping[Meaning, Set[str]]) -> Vocabulary[Meaning]:
        """Return a vocabulary of whole headings: meaning -> the plain texts that say it, and nothing beside them."""
        senses = [
            Sense(meaning, re.compile(rf"^(?:{'|'.join(re.escape(text) for text in sorted(texts))})$"))
            for meaning, texts in phrases.items()
        ]
        return cls([senses], [text for texts in phrases.values() for text in sorted(texts)])

    def look(self, words: str) -> Answer[Meaning]:
        """Return what a plain heading says."""
        for rank in self.ranks:
            fitting = tuple(sense for sense in rank if sense.says.search(words))
            if fitting:
                return Answer(words, fitting)
        return Answer(words)

    def nearest(self, words: str) -> list[str]:
        """Return the known whole headings that a plain heading may be a slip of, nearest first."""
        return nearest_names(words, self._phrases)
