"""Find the vial codes in one line of the log, as scanners and people write them."""

from __future__ import annotations

import re

from geneticlog.rules.vialcode import LENGTH, VialCodeError, parse

# A code is replaced in the rest of the line by one sign of Unicode's private use, so that what stood left and
# right of it is never read as one number.
FIRST_SIGN = 0xE000
SIGN = re.compile("[\ue000-\ue0ff]")

# The symbology identifier that a scanner can be set to send before each symbol: "]Q1" for a QR code.
# Source: ISO/IEC 15424, "]", a letter and a modifier (from memory).
_SYMBOLOGY = re.compile(r"^\][A-Za-z][0-9A-Za-z]")
_AROUND = "\"'`“”„‘’«»<>()[]{}*|"  # quotes and brackets of people and spreadsheets, start and stop of Code 39
_ADDRESS = re.compile(r"^(?:[A-Za-z][A-Za-z0-9+.-]*://|www\.)\S+$")
_NUMBER_ONLY = re.compile(
    r"(?:[0-9]+[.,]?[0-9]*|[0-9]+-[0-9]+/[0-9]+|[0-9]+[½¼¾⅛⅜⅝⅞])(?:in\.?|mm|cm|\"|″|”)?", re.IGNORECASE
)


def checks(text: str) -> bool:
    """Whether a text is a vial code whose check character is right."""
    try:
        parse(text)
    except VialCodeError:
        return False
    return True


def part_codes(body: str, words: frozenset[str]) -> tuple[list[str], str]:
    """Return the codes of a line in order, and the line with a sign (``FIRST_SIGN + n``) in the place of each.

    words: the words of the log, in lower case, which are never a code

    A code may be grouped ("BG 4F7 Q2K R"), in quotes, brackets or an address, behind a scanner's symbology
    identifier, before a full stop, or run together with a number. A comma parts fields where one stands
    beside a code or beside a decimal point. Whether a code checks is not asked here.
    """
    tokens = _fields(body, words).split()
    codes: list[str] = []
    rest: list[str] = []
    at = 0
    while at < len(tokens):
        grouped = _grouped(tokens, at, words)
        if grouped:
            codes.append(" ".join(tokens[at : at + grouped]))
            rest.append(chr(FIRST_SIGN + len(codes) - 1))
            at += grouped
            continue
        for piece, is_code in _pieces(tokens[at], words):
            if is_code:
                codes.append(piece)
                piece = chr(FIRST_SIGN + len(codes) - 1)
            rest.append(piece)
        at += 1
    return codes, " ".join(rest)


def _fields(body: str, words: frozenset[str]) -> str:
    """Return a line with the commas, semicolons and tabs that part fields as spaces."""
    fields = [field.strip() for field in body.split(",")]
    by_comma = len(fields) > 1 and (
        not fields[0]
        or any(_looks_like_code(field.strip(_AROUND), words) for field in fields)
        or any(re.fullmatch(r"[0-9]+\.[0-9]+", field) for field in fields)
    )
    return re.sub(r"[,;\t]" if by_comma else r"[;\t]|,(?=\s|$)", " ", body)


def _looks_like_code(token: str, words: frozenset[str]) -> bool:
    """Whether one token can only have been meant as a vial code."""
    bare = token.replace("-", "")
    if token.lower() in words or not re.fullmatch(r"[0-9A-Za-z*]{6,14}", bare):
        return False
    if not re.search("[0-9]", bare):
        return checks(bare)  # a word is a code only where its check character is right
    if not re.search("[A-Za-z]", bare):
        return len(bare) == LENGTH and "-" in token
    runs = re.findall("[a-z]+", bare.lower())
    measures = re.fullmatch(r"(?:[0-9]+[a-z]+)+[0-9]*|x[0-9]+", bare.lower()) and all(
        run in words for run in runs
    )
    return not measures


def _pieces(token: str, words: frozenset[str]) -> list[tuple[str, bool]]:
    """Return the parts of one token, each with whether it is a vial code."""
    if _ADDRESS.match(token.strip(_AROUND)):
        found = [part for part in re.split(r"[/?#&=:]", token.strip(_AROUND)) if checks(part)]
        return [(found[0], True)] if len(set(found)) == 1 else [(token, False)]
    bare = _SYMBOLOGY.sub("", token.lstrip(_AROUND.replace("]", "")))
    bare = bare.strip(_AROUND).rstrip(".:!").strip(_AROUND)
    if len(bare) > LENGTH:
        first, last = bare[:LENGTH], bare[-LENGTH:]
        if checks(last) and _NUMBER_ONLY.fullmatch(bare[:-LENGTH]):
            return [(bare[:-LENGTH], False), (last, True)]
        if checks(first) and _NUMBER_ONLY.fullmatch(bare[LENGTH:]):
            return [(first, True), (bare[LENGTH:], False)]
    if _looks_like_code(bare, words):
        return [(bare, True)]
    quoted = token[0] in _AROUND and token[-1] in _AROUND
    return [(token.strip(_AROUND) if quoted else token, False)]


def _grouped(tokens: list[str], at: int, words: frozenset[str]) -> int:
    """Return how many tokens from this one on make one code written in groups; 0 for none."""
    first = tokens[at]
    if first.lower() in words or not re.match(r"[A-Za-z]{2}", first) or _looks_like_code(first, words):
        return 0
    group = tokens[at : at + 4]
    if [len(one) for one in group] == [2, 3, 3, 1] and all(
        re.fullmatch("[0-9A-Za-z*]+", one) for one in group
    ):
        return 4
    joined = ""
    for taken, token in enumerate(tokens[at : at + 5], start=1):
        if not re.fullmatch(r"[0-9A-Za-z-]+", token) or token.lower() in words:
            break
        joined += token.replace("-", "")
        if len(joined) == LENGTH and taken > 1 and checks(joined):
            return taken
    return 0
