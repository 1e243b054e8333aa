"""Codes and values that a spreadsheet program has changed: seen and told, never repaired.

Such changes are common: gene names were altered in about one paper in five (Ziemann et al. 2016,
doi 10.1186/s13059-016-1044-7) and in 30.9 % of 11,117 on repeat (Abeysooriya et al. 2021, doi
10.1371/journal.pcbi.1008984). What stood there before cannot be known from what stands there now.
"""

from __future__ import annotations

import re

_MONTH = r"(jan|feb|mar|apr|may|jun|jul|aug|sep|sept|oct|nov|dec)[a-z]*"
_DATES = re.compile(
    rf"\d{{1,4}}[-/ ]{_MONTH}([-/ ,]+\d{{2,4}})?|{_MONTH}[-/ ]\d{{1,4}}"
    r"|\d{4}-\d{2}-\d{2}([ T].*)?|\d{1,2}[/.]\d{1,2}[/.]\d{2,4}",
    re.IGNORECASE,
)


def mangled_code(text: str, kind: str = "text") -> str:
    """Return how a code has been changed by a spreadsheet program, in words, or the empty text.

    ``kind`` is the kind the cell has in the file: a code that arrives as a number or a date was turned into
    one.
    """
    plain = text.strip()
    if kind == "date" or _DATES.fullmatch(plain):
        return "it is a date now"
    if kind == "time" or re.fullmatch(r"\d{1,2}:\d{2}(:\d{2})?", plain):
        return "it is a time of day now"
    if kind == "boolean":
        return "it is TRUE or FALSE now"
    if re.fullmatch(r"[+-]?\d+([.,]\d+)?[eE][+-]?\d+", plain):
        return "it is a number with an exponent now"
    if re.fullmatch(r"\d+[.,]0+", plain):
        return "it has gained a decimal point"
    if kind == "number" or re.fullmatch(r"\d+", plain):
        return "it is a bare number, which has lost its letters or leading zeros"
    return ""


def mangled_value(text: str, kind: str = "text") -> str:
    """Return how a number has been changed by a spreadsheet program, in words, or the empty text."""
    plain = text.strip()
    if kind == "date" or _DATES.fullmatch(plain):
        return "it is a date now"
    if kind == "time":
        return "it is a time of day now"
    if kind == "boolean":
        return "it is TRUE or FALSE now"
    return ""
