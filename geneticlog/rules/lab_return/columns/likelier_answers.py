"""Which answer about a column that is not known is put first: the one that a careful person would give."""

from __future__ import annotations

import re
from collections.abc import Sequence

from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.sheet.reading import Row
from geneticlog.rules.lab_return.sheet.words_beside import speaks_against
from geneticlog.rules.lab_return.words.headings import plain

APART = (
    0.1  # of a share, between two readings of one fish that cannot both be right. Common practice, no source
)
_INSTEAD = re.compile(
    r"\b(correct(ed|ion)|revised|amended|updated|replac(es|ed|ement)|use( this| instead)?|instead)\b"
)
_AGAIN = re.compile(r"\b(dup(licate)?s?|rep(s|eat(ed)?|licates?)?|re ?run|second( run)?|run 2)\b")
_ACCEPTS = re.compile(r"\b(final|valid(ated)?|released|approved|accepted|pass(ed)?|reportable|usable|keep)\b")
Choices = tuple[tuple[str, str, str], ...]


def likelier_first(choices: Choices, heading: str, rows: Sequence[Row], i: int, q: int | None) -> Choices:
    """Return the answers about a column, to hold first where it speaks against values or has others than the share.

    i, q
        The places of the column and of the share, from 0.
    """
    words = plain(heading)
    holding = [choice for choice in choices if choice[0] == "hold"]
    of_odd_rows = [choice for choice in holding if choice is not holding[0]]
    first: tuple[str, str, str] | None = None
    if speaks_against(heading) or _ACCEPTS.search(words):
        first = of_odd_rows[-1] if of_odd_rows else None
    elif holding and q is not None and _other_shares(words, rows, i, q):
        first = holding[0]
    return (first, *(choice for choice in choices if choice != first)) if first else choices


def _other_shares(words: str, rows: Sequence[Row], i: int, q: int) -> bool:
    """Whether a column of corrected or repeated values has one that is not that of the share."""
    room = 0.0 if _INSTEAD.search(words) else APART if _AGAIN.search(words) else None
    pairs = [
        (share.value, other.value)
        for row in rows
        if len(row) > max(i, q) and (share := number(row[q][0])) and (other := number(row[i][0]))
    ]
    whole = 100.0 if any(max(pair) > 1 for pair in pairs) else 1.0
    return room is not None and any(abs(share - other) > room * whole + 1e-9 for share, other in pairs)
