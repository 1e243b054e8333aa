"""What a cell of a lab's file says: a number, a word for no result, or something that is neither."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

# What labs write where there is no result, and what it means. Compared without case and outer spaces.
_WORDS = {
    "failed": """fail, failed, failure, no amp, no amplification, did not amplify, dna failed, no dna,
        low dna, poor dna, insufficient dna, degraded, contaminated, bad sample, no product, undetermined,
        unresolved, échec, echec, fallido, fallida, fehlgeschlagen""",
    "not run": """nr, not run, not tested, not typed, not received, missing, lost, empty, empty vial,
        no sample""",
    "below call rate": """low call, low call rate, below threshold, below call rate, low quality,
        low coverage, excluded""",
    "no result": """nd, n.d., na, n/a, n.a., nan, none, null, nil, no data, no result, no call, nc, -, --, ---,
        –, —, ., .., *, **, ***, ?, x, sans résultat, pas de résultat, sin resultado, sin datos,
        kein ergebnis, ohne ergebnis""",
}
MISSING_WORDS: dict[str, str] = {
    "": "no result",
    **{word.strip(): meaning for meaning, words in _WORDS.items() for word in words.split(",")},
}

_RATIO = re.compile(r"(\d{1,5}) ?(?:/|of|out of) ?(\d{1,5})")
_MARGIN = re.compile(
    r"([+-]?[\d.,]+ ?%?) ?(?:(?:±|\+/-|\+-) ?[\d.,]+ ?%?|[(\[][\d.,]+ ?%? ?(?:-|–|,|;|to) ?[\d.,]+ ?%?[)\]])"
)
_ERROR = re.compile(
    r"([+-]?\d*[.,]\d+) ?[(\[]\d*[.,]\d+[)\]]"
)  # 0.58 (0.02); 12 (0.5) may be a count with its share
_ENDS = re.compile(
    r"[(\[]?\s*(\d*[.,]?\d+ ?%?)\s*(?:-|–|—|;|to|\.\.\.?|, |,(?=\d*\.))\s*(\d*[.,]?\d+ ?%?)\s*[)\]]?"
)
_NUMBER = re.compile(r"([+-]?)(\d+\.?\d*|\.\d+)(?:[eE]([+-]?\d{1,3}))?")


# marks as keyboards of other scripts write them, and the true minus sign
_OTHER_MARKS = str.maketrans("\uff0c\uff0e\uff05\u2212\u00b7", ",.%-.")


class Number(NamedTuple):
    """A number as written: its value, whether a percent sign stood behind it, and half its last digit.

    ``of`` is what a ratio such as 34/76 is counted out of; its value is the share.
    """

    value: float
    signed: bool
    half_digit: float
    plain: str
    of: int | None = None

    def as_fraction(self, percent: bool) -> tuple[float, float]:
        """Return the number as a share of one, and half its last digit, the decimal point moved exactly."""
        if self.of is not None or not (percent or self.signed):
            return self.value, self.half_digit
        moved = float(f"{self.plain}e-2") if "e" not in self.plain.lower() else self.value / 100
        return moved, self.half_digit / 100

    def halved(self) -> Number:
        """Return half of a count, or a ratio out of half as many."""
        if self.of is not None:
            return self._replace(of=self.of // 2)
        return self._replace(value=self.value / 2)


def missing_meaning(text: str, own: frozenset[str] = frozenset()) -> str | None:
    """Return failed, not run, below call rate or no result for a word that stands for no result; else None.

    ``own`` are further words of one lab (lower case), which mean failed.
    """
    word = text.strip().casefold()
    if word in own:
        return MISSING_WORDS.get(word, "failed")
    if word in MISSING_WORDS:
        return MISSING_WORDS[word]
    # "fail – low DNA", "no amp (2x)": a failure with its reason
    opening = re.split(r"\s*[–—:;,(]\s*|\s+-\s+", word, maxsplit=1)[0].strip(" .!")
    if opening != word and re.search("[a-z]", opening) and not re.search(r"\d\.\d", word):
        meaning = MISSING_WORDS.get(opening)
        return meaning if meaning in ("failed", "not run") else None
    return None


def number(text: str, decimal: str = ".") -> Number | None:
    """Return the number in a cell's text, or None where it is no plain number.

    Words that Python's float() takes (nan, inf, 1_000) are no numbers here; a percent sign is noted, not
    applied; ``decimal`` is the one decimal mark of the file, and the other mark makes the text unreadable.
    """
    plain = _without_margin(text.strip().translate(_OTHER_MARKS))
    signed = plain.endswith("%")
    if signed:
        plain = plain[:-1].rstrip()
    if decimal == ",":
        if "." in plain:
            return None
        plain = plain.replace(",", ".", 1)
    if (ratio := _RATIO.fullmatch(plain)) and not signed:
        part, of = int(ratio[1]), int(ratio[2])
        return Number(part / of, False, 1e-9, plain, of) if of and part <= of else None
    match = _NUMBER.fullmatch(plain)
    if match is None:
        return None
    value = float(plain)
    if not -1e300 < value < 1e300:
        return None
    decimals = len(match[2].partition(".")[2]) - int(match[3] or 0)
    # Sixteen digits are a binary fraction written out in full, not the precision of a measurement.
    half_digit = 0.5 * 10.0 ** -max(decimals, -300) if decimals < 12 else 1e-9
    return Number(value, signed, half_digit, plain)


def number_of_other_mark(text: str, decimal: str) -> Number | None:
    """Return a number written with the other decimal mark than the file's, where it can be read in one way only.

    1,234 may be a thousand and more; 0,123 and 15,79 may not.
    """
    other = number(text, "," if decimal == "." else ".")
    if other is None or not re.search(r"[.,\uff0c\uff0e]", text):
        return None
    whole, _, broken = other.plain.partition(".")
    return None if len(broken) == 3 and whole.lstrip("+-") not in ("", "0") else other


def has_margin(text: str) -> bool:
    """Return whether a text is a number with a margin or an interval behind it."""
    bare = text.strip().translate(_OTHER_MARKS)
    return any(form.fullmatch(bare) for form in (_MARGIN, _ERROR))


def ends_of(text: str, decimal: str = ".") -> tuple[Number, Number] | None:
    """Return the two ends of an interval such as 0.18-0.25 or (18 %, 25 %); None for any other text."""
    found = _ENDS.fullmatch(text.strip().translate(_OTHER_MARKS))
    ends = [number(part, decimal) for part in found.groups()] if found else []
    if len(ends) != 2 or ends[0] is None or ends[1] is None or ends[0].value > ends[1].value:
        return None
    return ends[0], ends[1]


def _without_margin(text: str) -> str:
    """A number without the margin that a lab prints behind it: 0.21 ± 0.03, 0.21 (0.18-0.25), 0.21 (0.03)."""
    found = _MARGIN.fullmatch(text) or _ERROR.fullmatch(text)
    return found[1].rstrip() if found else text


def decimal_mark(texts: Mapping[str, int]) -> tuple[str, str]:
    """Return the decimal mark of columns of numbers, "." or ",", and the evidence; texts with how often
    each."""
    bare = [(_without_margin(text.strip().translate(_OTHER_MARKS)), n) for text, n in texts.items()]
    comma = sum(n for text, n in bare if re.fullmatch(r"\s*[+-]?\d{1,3},\d+\s*%?\s*", text))
    point = sum(n for text, n in bare if re.fullmatch(r"\s*[+-]?\d*\.\d+\s*%?\s*", text))
    if comma > point:
        return ",", f"{comma} of {comma + point} decimals are written with a comma"
    if point:
        return ".", f"{point} of {comma + point} decimals are written with a point"
    return ".", "there are no decimals"
