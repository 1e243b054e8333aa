"""What a lab's file repeats of our own records, as the number of a fish, its site or tissue: a row that says another.

Where nearly all rows say what we wrote down, the two that do not may be tubes that were exchanged, or samples of
somebody else. A column in which many differ is numbered, or worded, by the lab in its own way.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import plain

MOSTLY_OURS = 0.9  # of the rows, those with the number of another fish, all moved alike
LEAST_ALIKE, LEAST_ROWS = 0.75, 6  # common practice, no source
_FISH = re.compile(r"\b(fish|specimen|sample|animal|item|list|manifest|field)\b|^(id|nr|no|number|#)$")
_YEAR = re.compile(
    r"((survey|sampling|sample|collection|field|project) )?(year|season)( (collected|sampled|caught))?"
)
FIRST_YEAR = 1980  # a smaller number in a column of years is none
_TISSUE = re.compile(r"\b(tissue|material|sample type|type of sample|swab or clip)\b")
_KINDS = {
    "mouth swab": re.compile(r"\b(swabs?|buccal|oral|mouth)\b"),
    "fin clip": re.compile(r"\b(fins?|clips?|caudal|pelvic)\b"),
    "scale": re.compile(r"\bscales?\b"),
    "muscle": re.compile(r"\b(muscle|fillets?|plug)\b"),
    "blood": re.compile(r"\bblood\b"),
}
_MEDIUM = re.compile(
    r"^(preserv\w+|medium|media|fluid|kept in|stored in|storage (medium|fluid|buffer))( used)?$"
)
_MEDIA = {
    "ethanol": re.compile(r"\b(ethanol|etoh|alcohol)\b"),
    "dry": re.compile(r"\b(dry|dried|silica|paper|envelopes?|cards?)\b"),
    "buffer": re.compile(r"\b(buffer|lysis|dmso|rnalater|tissue lyser)\b"),
    "frozen": re.compile(r"\b(frozen|freezer|ice|minus 80)\b"),
}
_SITE = re.compile(r"((sampling|collection|survey|catch|capture) )?(site|location|locality|station)( name)?")
Known = Callable[[str], Mapping[int, Any]]


def other_numbers(reading: Reading, rows: Sequence[Row], known: Known) -> dict[int, list[str]]:
    """Return, by row, a number in an unused column that is not its fish's, or not its vial's in our list, in words.

    known
        by row, the number of the fish within its survey (fish_number) or of the vial in our list (list_number).
    """
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        if column.role or not _FISH.search(plain(column.heading)):
            continue
        written = _whole_numbers(reading, rows, column)
        in_order = [written[n] for n in sorted(written)]
        if all(after - before == 1 for before, after in pairwise(in_order)):
            continue  # the rows are numbered as they come
        for what, words in (("fish_number", "its fish is"), ("list_number", "it is in our list")):
            own = known(what)
            if what == "fish_number" and _moved(written, own):
                order = f"column {column.named} has the numbers of our fish, moved"
                for n in own.keys() & written.keys():
                    text = f"{order}: it says {written[n]}, and {words} {own[n]}"
                    doubts.setdefault(n, []).append(text)
                continue
            for n in _unlike(written, own):
                text = f"column {column.named} says {written[n]}, and {words} {own[n]}"
                doubts.setdefault(n, []).append(text)
    return doubts


def other_years(reading: Reading, rows: Sequence[Row], known: Known) -> dict[int, list[str]]:
    """Return, by row, a year in an unused column that is before that in which its fish was caught, in words.

    known
        by row, the day on which the fish was caught (caught_on).
    """
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        if column.role or not _YEAR.fullmatch(plain(column.heading)):
            continue
        caught = known("caught_on")
        for n, year in _whole_numbers(reading, rows, column).items():
            if n in caught and FIRST_YEAR <= year < caught[n].year:
                text = f"column {column.named} says {year}, and its fish was caught on {caught[n]}"
                doubts.setdefault(n, []).append(text)
    return doubts


def other_tissues(reading: Reading, rows: Sequence[Row], known: Known) -> dict[int, list[str]]:
    """Return, by row, a tissue in an unused column that is not that of its vial, in words.

    known
        by row, the tissue in the vial, as a word for people.
    """
    return _of_another_kind(reading, rows, (_TISSUE, _KINDS), lambda: known("tissue"), "its vial has a")


def other_media(reading: Reading, rows: Sequence[Row], known: Known) -> dict[int, list[str]]:
    """Return, by row, what a vial is kept in by an unused column and not by our records, in words.

    known
        by row, the medium of the vial, as a word for people.
    """
    return _of_another_kind(reading, rows, (_MEDIUM, _MEDIA), lambda: known("medium"), "its vial was sent in")


def _of_another_kind(
    reading: Reading,
    rows: Sequence[Row],
    words_for: tuple[re.Pattern[str], Mapping[str, re.Pattern[str]]],
    known: Callable[[], Mapping[int, Any]],
    ours: str,
) -> dict[int, list[str]]:
    """Return, by row, what an unused column of such a heading says, where our record is of another kind, in words."""
    heading, kinds = words_for
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        if column.role or not heading.search(plain(column.heading)):
            continue
        own = _kinds_of(known(), kinds)
        for n in _unlike(_kinds_in(reading, rows, column, kinds), own):
            text = f"column {column.named} says {column.text_in(rows[n - 1])[:40]!r}, and {ours} {own[n]}"
            doubts.setdefault(n, []).append(text)
    return doubts


def other_sites(reading: Reading, rows: Sequence[Row], known: Known) -> dict[int, list[str]]:
    """Return, by row, a site in an unused column that is not that at which its fish was logged, in words.

    known
        by row, the site of the fish, as written.
    """
    doubts: dict[int, list[str]] = {}
    for column, written, own in _sites(reading, rows, known):
        for n in _unlike(written, own):
            text = (
                f"column {column.named} says {column.text_in(rows[n - 1])[:40]!r}, and its fish was logged at"
            )
            doubts.setdefault(n, []).append(f"{text} {known('site')[n]!r}")
    return doubts


def sites_of_others(reading: Reading, rows: Sequence[Row], known: Known) -> str:
    """Return in words that a column of sites names none at which we logged fish, but some like them, or ""."""
    for column, written, own in _sites(reading, rows, known):
        both = [n for n in written if n in own]
        alike = [n for n in both if set(written[n].split()) & set(own[n].split())]
        if len(both) >= LEAST_ROWS and len(alike) == len(both) and all(written[n] != own[n] for n in both):
            n = both[0]
            said = f"column {column.named} says {column.text_in(rows[n - 1])[:40]!r}"
            ours = f"we logged {known('site')[n]!r}; no site in it is ours"
            return f"{said}, and {ours}: are the vials those of these rows?"
    return ""


def tissues_of_others(reading: Reading, rows: Sequence[Row], known: Known) -> str:
    """Return in words that a column of tissues, or of media, names those of no vial, or ""."""
    for headings, kinds, what in ((_TISSUE, _KINDS, "tissue"), (_MEDIUM, _MEDIA, "medium")):
        for column in reading.columns:
            if column.role or not headings.search(plain(column.heading)):
                continue
            ours = known(what)
            written, own = _kinds_in(reading, rows, column, kinds), _kinds_of(ours, kinds)
            both = [n for n in written if n in own]
            if len(both) >= LEAST_ROWS and all(written[n] != own[n] for n in both):
                n = both[0]
                sent = (
                    f"we sent a {ours[n].replace('_', ' ')}"
                    if what == "tissue"
                    else f"we sent it in {ours[n]}"
                )
                said = f"column {column.named} says {column.text_in(rows[n - 1])[:40]!r}, and {sent}"
                return f"{said}; in no row is it ours: are the vials those that we sent?"
    return ""


def _sites(
    reading: Reading, rows: Sequence[Row], known: Known
) -> Iterator[tuple[Column, dict[int, str], dict[int, str]]]:
    """Yield each unused column of sites, with what it says and what we logged, by row, in plain words."""
    for column in reading.columns:
        if not column.role and _SITE.fullmatch(plain(column.heading)):
            written = {n: words for n in reading.data_rows if (words := plain(column.text_in(rows[n - 1])))}
            yield column, written, {n: plain(text) for n, text in known("site").items()}


def _kinds_in(
    reading: Reading, rows: Sequence[Row], column: Column, kinds: Mapping[str, re.Pattern[str]]
) -> dict[int, str]:
    return _kinds_of({n: column.text_in(rows[n - 1]) for n in reading.data_rows}, kinds)


def _kinds_of(texts: Mapping[int, str], kinds: Mapping[str, re.Pattern[str]]) -> dict[int, str]:
    return {n: kind for n, text in texts.items() if (kind := _kind(text, kinds))}


def _whole_numbers(reading: Reading, rows: Sequence[Row], column: Column) -> dict[int, int]:
    figures = {n: reading.number_in(rows[n - 1], column) for n in reading.data_rows}
    return {n: int(one.value) for n, one in figures.items() if one is not None and one.value.is_integer()}


def _kind(text: str, kinds: Mapping[str, re.Pattern[str]]) -> str:
    """The one kind that a text names, or the empty text."""
    named = [kind for kind, words in kinds.items() if words.search(plain(text))]
    return named[0] if len(named) == 1 else ""


def _moved(written: Mapping[int, int], own: Mapping[int, int]) -> bool:
    """Whether the numbers are those of our fish but moved: all by one amount, or to the row above or below."""
    both = sorted(written.keys() & own.keys())
    if len({own[n] for n in both}) < LEAST_ROWS:
        return False
    (step, times), *_ = Counter(written[n] - own[n] for n in both).most_common(1)
    above = sum(written[b] == own[a] for a, b in pairwise(both))
    below = sum(written[a] == own[b] for a, b in pairwise(both))
    return max(times if step else 0, above, below) >= MOSTLY_OURS * len(both)


def _unlike(written: Mapping[int, Any], own: Mapping[int, Any]) -> list[int]:
    """The rows that say something else than we know, where nearly all say what we know."""
    both = [n for n in written if n in own]
    unlike = [n for n in both if written[n] != own[n]]
    few = len(unlike) <= (1 - LEAST_ALIKE) * len(both)
    return unlike if few and len(both) - len(unlike) >= LEAST_ROWS else []
