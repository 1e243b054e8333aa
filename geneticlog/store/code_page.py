"""Which one-byte code page a text was written in, where both of western office software could be read.

Windows and classic Mac OS put their accents in other places: read by the wrong one, échec is Èchec and à is ‡. The
right one leaves its accents as letters within words, small ones among small letters.
"""

from __future__ import annotations

import re
import unicodedata

# What western office software writes; a wider search takes a short accented text for Polish, Turkish or Baltic.
CODE_PAGES = ("cp1252", "mac_roman")
MOST_LOOKED_AT = 200_000  # characters
_BEYOND_ASCII = re.compile(r"[^\x00-\x7f]")
_QUOTES = "‘’“”«»‚„–—"  # that touch letters in any text


def code_page_of(content: bytes) -> str | None:
    """Return the code page in which the accents of a text make the likelier words; None where they say nothing."""
    scores: dict[str, int] = {}
    for page in CODE_PAGES:
        try:
            scores[page] = _score(content.decode(page)[:MOST_LOOKED_AT])
        except UnicodeDecodeError:
            continue
    if not scores or (len(scores) > 1 and len(set(scores.values())) == 1):
        return None
    return max(scores, key=lambda page: scores[page])


def _score(text: str) -> int:
    """How many accents of a text are letters where letters are expected, less those that are none."""
    score = 0
    for accent in _BEYOND_ASCII.finditer(text):
        i, letter = accent.start(), accent[0]
        before, after = text[i - 1 : i], text[i + 1 : i + 2]
        if unicodedata.category(letter) in ("Lu", "Ll"):  # a mark such as ˆ counts as a letter, too
            score += (
                -1 if letter.isupper() and (before.islower() or (after.islower() and before.isupper())) else 1
            )
            score -= letter.isupper() and after.islower()  # a capital begins few words
        elif letter in _QUOTES:
            score += -1 if letter != "’" and before.isalpha() and after.isalpha() else 1
        elif (after.isalpha() or after == " ") and not before.isdigit():
            score -= 1
    return score
