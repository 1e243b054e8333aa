"""Samples that a line names by the lab's own numbers or by wells: "BG-003 and BG-004 were exchanged"."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.reading import Row

_ID = re.compile(r"\b(?=\w*[A-Za-z])[A-Za-z0-9]+(?:[-_./][A-Za-z0-9]+)*\b")
_TO = re.compile(r"\s*(?:to|through|thru|until|[-\u2013\u2014\u2026])\s*", re.IGNORECASE)


def named_by_lab_ids(text: str, drafts: Sequence[Draft], rows: Sequence[Row]) -> list[Draft]:
    """Return the drafts whose row has, in a column where no value is twice, a word of letters and digits of the text.

    Those between two of them too, where the text says "to". None where a word of the same shape is in no row: then the
    text may speak of others.
    """
    of_id = _ids(drafts, rows)
    words = [
        (word.casefold(), span)
        for match in _ID.finditer(text)
        for word, span in _ends(match, of_id)
        if any(map(str.isdigit, word))
    ]
    if not words:
        return []
    meant = [(of_id[word], span) for word, span in words if word in of_id]
    shapes = {_shape(word) for word, _ in words if word in of_id}
    if any(_shape(word) in shapes and word not in of_id for word, _ in words):
        return []
    places = {at for at, _ in meant}
    for (first, (_, end)), (last, (begin, _)) in pairwise(meant):
        if _TO.fullmatch(text[end:begin]):
            places |= set(range(min(first, last), max(first, last) + 1))
    return [drafts[at] for at in sorted(places)]


def _ends(match: re.Match[str], of_id: Mapping[str, int]) -> list[tuple[str, tuple[int, int]]]:
    """Return a word with its place, or both ends of what is no number of the lab but is from one to another."""
    word, begin = match.group(), match.start()
    first, dash, last = word.partition("-")
    if word.casefold() in of_id or not {first.casefold(), last.casefold()} <= of_id.keys():
        return [(word, match.span())]
    return [(first, (begin, begin + len(first))), (last, (begin + len(first) + len(dash), match.end()))]


def _ids(drafts: Sequence[Draft], rows: Sequence[Row]) -> dict[str, int]:
    """Return the place among the drafts by each text of the columns in which no text is twice."""
    of_id: dict[str, int] = {}
    for column in range(max((len(rows[draft.row - 1]) for draft in drafts), default=0)):
        texts = [
            row[column][0].strip().casefold() if len(row := rows[draft.row - 1]) > column else ""
            for draft in drafts
        ]
        filled = [text for text in texts if text]
        if filled and len(set(filled)) == len(filled):
            of_id |= {text: at for at, text in enumerate(texts) if _ID.fullmatch(text) and text not in of_id}
    return of_id


def _shape(word: str) -> str:
    return re.sub(r"[a-z]", "a", re.sub(r"\d", "9", word))
