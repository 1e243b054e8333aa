"""The vial code: two letters of the office, six characters of the serial, one check character.

Alphabet of the serial: Crockford's base 32, which leaves out I, L, O and U. Check: ISO/IEC 7064 MOD 37-2,
computed by python-stdnum; the check characters I, L, O, U and * are never minted. Every wrong character, all
swaps of two at any distance and all doubled pairs turned into another are caught. A code that checks is well
formed; it may still be the code of another fish.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from stdnum.iso7064 import mod_37_2

from geneticlog.errors import Refused

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
NEVER_MINTED = frozenset("ILOU*")  # check characters that look like others, or are outside the alphabet
LENGTH = 9
SERIALS = len(ALPHABET) ** 6

# Two letters that can begin a month's name: a spreadsheet may read a code that starts so as a date.
_MONTH_STARTS = frozenset({"JA", "FE", "MA", "AP", "JU", "AU", "SE", "OC", "NO", "DE"})
_LOOKS_LIKE = str.maketrans("OIL", "011")
_NOT_WRITTEN = re.compile(r"[\s\-\u00ad\u2010-\u2015\u200b-\u200f\u202a-\u202e\u2060-\u2069\u2212\ufeff]")
# Pairs that a smeared or hand-copied label confuses most; they only order the suggestions of nearest().
_ALIKE = frozenset(
    map(frozenset, ("8B", "5S", "2Z", "0Q", "0D", "17", "6G", "VY", "MN", "UV", "CG", "PR", "38", "49"))
)


class VialCodeError(Refused):
    """A text is not a vial code. ``reason`` is one of: wrong length, office, character, mistyped, serial."""

    def __init__(self, text: str, reason: str) -> None:
        self.reason = reason
        super().__init__(text)


def check_office(prefix: str) -> str:
    """Return the two letters of an office in upper case; raise VialCodeError for anything else."""
    letters = prefix.strip().upper()
    if not re.fullmatch("[A-Z]{2}", letters):
        raise VialCodeError(
            f"{prefix!r} cannot start a vial code: an office has two letters, A to Z", "office"
        )
    return letters


def office_doubt(prefix: str) -> str:
    """Return why two letters make a poor choice for an office, as a sentence, or the empty text."""
    letters = check_office(prefix)
    if unclear := [letter for letter in letters if letter in NEVER_MINTED]:
        return (
            f"{letters}: {unclear[0]} is easily misread on a label; choose letters other than I, L, O and U"
        )
    if letters in _MONTH_STARTS:
        return f"{letters} can begin a month's name, and a spreadsheet may turn such a code into a date"
    return ""


def mint(prefix: str, serial: int) -> str | None:
    """Return the vial code of one serial of an office, or None where the serial has to be skipped.

    prefix
        the two letters of the office.
    serial
        a whole number, 0 to 32**6 - 1 (``SERIALS``).
    returns
        nine characters; None when the check character would be one of I, L, O, U and *.
    raises
        VialCodeError for another prefix or serial.
    source
        ISO/IEC 7064 MOD 37-2 by python-stdnum; alphabet after Crockford's base 32.
    """
    office = check_office(prefix)
    if not 0 <= serial < SERIALS:
        raise VialCodeError(
            f"serial {serial} is outside 0 to {SERIALS - 1}: the codes of office {office} are used up",
            "serial",
        )
    digits = "".join(ALPHABET[serial >> shift & 31] for shift in range(25, -1, -5))
    check = str(mod_37_2.calc_check_digit(office + digits))
    return None if check in NEVER_MINTED else office + digits + check


def parse(text: str) -> str:
    """Return the vial code in a text that was scanned or typed.

    Spaces, hyphens and case do not matter; after the office's two letters O is read as 0, and I and L as 1.
    Whether the code is known, free, used or void only the database can say.

    raises
        VialCodeError, whose sentence holds the words "does not check".
    """
    code = _NOT_WRITTEN.sub("", text).upper()
    shown = repr(text.strip()) if code else "an empty text"
    if len(code) != LENGTH:
        raise VialCodeError(
            f"{shown} does not check: wrong length, {len(code)} characters where a vial code has {LENGTH};"
            " look at the label again.",
            "wrong length",
        )
    office, rest = code[:2], code[2:].translate(_LOOKS_LIKE)
    if not re.fullmatch("[A-Z]{2}", office):
        raise VialCodeError(
            f"{shown} does not check: it has to begin with two letters, the office; look at the label again.",
            "office",
        )
    if strange := [letter for letter in rest if letter not in ALPHABET]:
        raise VialCodeError(
            f"{shown} does not check: {strange[0]!r} is never in a vial code; look at the label again.",
            "character",
        )
    if not mod_37_2.is_valid(office + rest):
        raise VialCodeError(f"{shown} does not check: it is mistyped; look at the label again.", "mistyped")
    return office + rest


def printed(code: str) -> str:
    """Return a vial code grouped for people to read and copy: ``BG 4F7 Q2K R``."""
    code = parse(code)
    return f"{code[:2]} {code[2:5]} {code[5:8]} {code[8]}"


def nearest(text: str, codes: Iterable[str], most: int = 3) -> list[str]:
    """Return the codes nearest to a text that does not check, to be offered to a person and never assumed.

    Nearest is the fewest single slips: a wrong, missing or extra character, or two neighbours swapped. The
    codes with the fewest slips alone are offered, at most two slips away and at most ``most`` of them,
    those first whose wrong character looks like the right one (8 and B, 5 and S).
    """
    typed = _NOT_WRITTEN.sub("", text).upper()
    typed = typed[:2] + typed[2:].translate(_LOOKS_LIKE)
    distances: list[tuple[int, int, str]] = []
    for code in dict.fromkeys(codes):
        slips = _slips(typed, code)
        if slips <= 2:
            unlike = sum(
                a != b and frozenset((a, b)) not in _ALIKE for a, b in zip(typed, code, strict=False)
            )
            distances.append((slips, unlike, code))
    distances.sort()
    return [code for slips, _, code in distances if slips == distances[0][0]][:most]


def _slips(a: str, b: str) -> int:
    """Return the number of slips between two texts (optimal string alignment distance)."""
    if abs(len(a) - len(b)) > 2:
        return 3
    rows = [list(range(len(b) + 1))]
    for i, x in enumerate(a, start=1):
        row = [i]
        for j, y in enumerate(b, start=1):
            least = min(rows[i - 1][j] + 1, row[j - 1] + 1, rows[i - 1][j - 1] + (x != y))
            if i > 1 and j > 1 and x == b[j - 2] and a[i - 2] == y:
                least = min(least, rows[i - 2][j - 2] + 1)
            row.append(least)
        rows.append(row)
    return rows[-1][-1]
