"""What a formula of a spreadsheet does that a person would want to know before they believe its value.

Formulas are texts as OpenXML writes them, English names of functions and commas between their arguments. Only what is
written is looked at; nothing is calculated.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

_REFERENCE = re.compile(r"(?<![\w.$])(\$?)([A-Za-z]{1,3})(\$?)(\d{1,7})(?![\w(.])")
_LETTER = re.compile(r"[A-Za-z_]")
_QUOTED = re.compile(r'("[^"]*")')
_OTHER_BOOK = re.compile(r"\[\d+\]|\[[^\[\]]+\.(?:xl\w*|ods|csv)\]|\bfile:", re.IGNORECASE)
_OF_CHANCE = re.compile(r"\b(RAND|RANDBETWEEN|RANDARRAY)\s*\(", re.IGNORECASE)
_NUMBER = r"[-+]?\d+(?:\.\d+)?(?:E[-+]?\d+)?%?"
_MEAN = re.compile(r"\b(AVERAGE|AVERAGEIFS?|MEDIAN|MODE|GEOMEAN|TRIMMEAN)\s*\(", re.IGNORECASE)
_INSIDE = re.compile(r"R(?:\{(-?\d+)\}|\d+)C(?:\{(-?\d+)\}|\d+)")
_YES = ("TRUE", "TRUE()", "1", "1.0", "-1", "-1.0")


def relative(formula: str, row: int, column: int) -> str:
    """Return a formula with its references as seen from its cell: B3 in D3 is R{0}C{-2}, $B$3 is R3C2.

    Two cells have the same one where a person filled the one down into the other.
    """
    if '"' not in formula:
        return _REFERENCE.sub(lambda found: _seen_from(found, row, column), formula)
    parts = _QUOTED.split(formula)
    return "".join(
        part if i % 2 else _REFERENCE.sub(lambda found: _seen_from(found, row, column), part)
        for i, part in enumerate(parts)
    )


def _seen_from(found: re.Match[str], row: int, column: int) -> str:
    fixed_column, letters, fixed_row, digits = found.groups()
    number = _column(letters)
    of_row = digits if fixed_row else f"{{{int(digits) - row}}}"
    return f"R{of_row}C{number}" if fixed_column else f"R{of_row}C{{{number - column}}}"


@lru_cache(maxsize=1000)
def _column(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


def refers(pattern: str) -> bool:
    """Return whether a formula takes anything from elsewhere; ``=34/76`` is a number that was typed."""
    return _LETTER.search(_QUOTED.sub("", pattern) if '"' in pattern else pattern) is not None


def from_other_book(formula: str) -> bool:
    """Return whether a formula takes its value from another workbook, whose values are kept as they were once."""
    return _OTHER_BOOK.search(_QUOTED.sub("", formula)) is not None


def of_chance(formula: str) -> bool:
    """Return whether a formula draws random numbers."""
    return _OF_CHANCE.search(formula) is not None


def approximate_lookup(formula: str) -> str:
    """Return the function that looks a value up and takes the nearest where there is none, or ""."""
    for name, arguments in _calls(formula, "VLOOKUP|HLOOKUP|MATCH|LOOKUP|XLOOKUP|XMATCH"):
        kind = {"VLOOKUP": 3, "HLOOKUP": 3, "MATCH": 2, "XLOOKUP": 4, "XMATCH": 2}.get(name)
        if kind is None:  # LOOKUP(2,1/(…),…) finds the last that is alike
            if not (len(arguments) > 1 and arguments[1].startswith("1/")):
                return name
        elif len(arguments) > kind:
            if arguments[kind].upper() in _YES:
                return name
        elif not name.startswith("X"):  # left out, it is TRUE
            return name
    return ""


def stand_in(formula: str) -> str:
    """Return what a formula puts in place of a value that it does not find: a number or a mean, or ""."""
    for name, arguments in _calls(formula, "IFERROR|IFNA|IF|IFS|CHOOSE|SWITCH"):
        choices = arguments[1:]
        if name == "IF" and re.match(r"(ISERROR|ISNA|ISERR|ISBLANK)\s*\(", arguments[0], re.IGNORECASE):
            choices = arguments[1:2]
        for one in choices:
            if re.fullmatch(_NUMBER, one) or _MEAN.match(one):
                return f"{name}(…, {one})"
    return ""


def left_over(pattern: str) -> tuple[bool, int] | None:
    """Return of a relative formula that is 1 (or 100) minus one cell whether that is in another sheet or row, and how
    many columns away it is; None for any other formula.
    """
    bare = pattern.replace(" ", "").strip("()")
    found = re.fullmatch(r"(?:1|1\.0|100|100\.0|100%)-(.*!)?R\{(-?\d+)\}C\{(-?\d+)\}", bare)
    return (bool(found[1] or int(found[2])), int(found[3])) if found else None


def other_rows(pattern: str) -> int:
    """Return how many rows away a relative formula takes something from its own sheet; 0 for its own row."""
    for reference in _INSIDE.finditer(pattern):
        before = pattern[: reference.start()]
        if reference[1] and int(reference[1]) and not before.endswith("!") and not _ends_range(before):
            return int(reference[1])
    return 0


def _ends_range(before: str) -> bool:
    """Whether a reference is the end of a range of another sheet."""
    return re.search(r"!R[{}\d-]*C[{}\d-]*:$", before) is not None


def _calls(formula: str, names: str) -> Iterator[tuple[str, list[str]]]:
    """Each call of these functions in a formula, with its arguments, spaces left out."""
    for found in re.finditer(rf"(?<![\w.])(?:_xlfn\.)?({names})\s*\(", formula, re.IGNORECASE):
        yield found[1].upper(), _arguments(formula[found.end() :])


def _arguments(rest: str) -> list[str]:
    """The arguments up to the bracket that closes a call."""
    made, now, depth, quoted = list[str](), "", 0, False
    for letter in rest:
        quoted ^= letter == '"'
        if not quoted:
            if letter in ")]}" and not depth:
                break
            if letter == "," and not depth:
                made.append(now.strip())
                now = ""
                continue
            depth += letter in "([{"
            depth -= letter in ")]}"
        now += letter
    return [*made, now.strip()]
