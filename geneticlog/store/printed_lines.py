"""Text files whose lines are alike but for a vial code and the numbers in them, as programs and letters print them.

``12 BG000001J (0) : 0.60 0.40`` and ``Sample BG000001J: Florida 40 %, northern 60 %`` are such lines. Each number goes
into a column of its own, headed by the words beside it, or else by those of the line above. Where the words could
belong to either of two numbers there is no table.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from itertools import groupby
from typing import NamedTuple

from geneticlog.rules.lab_return.sheet.reading import is_code

FEWEST = 3  # lines, to be a table
LEAST_SHARE = 0.8  # of the lines with a vial code, that are alike
_FIGURE = r"[+-]?(?:\d+(?:[.,]\d+)?|\.\d+)(?:[eE][+-]?\d+)?(?: ?%)?"
_TOKEN = re.compile(
    rf"(?P<span>[(\[]\s*{_FIGURE}\s*[,;–-]\s*{_FIGURE}\s*[)\]])|(?P<number>{_FIGURE}(?![^\s,;:|()\[\]]))"
    r"|(?P<mark>[,;:|=()\[\]])|(?P<word>[^\s,;:|=()\[\]]+)"
)
_ENDS = re.compile(rf"({_FIGURE})\s*[,;–-]\s*({_FIGURE})")
_MANY = re.compile("clusters|groups|populations|components")
CODE, NUMBER, SPAN, WORD, MARK = "code", "number", "span", "word", "mark"


class Token(NamedTuple):
    kind: str
    text: str
    end: int  # place in the line behind it


class PrintedLines(NamedTuple):
    """The rows of such a text, how many lines are alike, and whether the heading is a row more than the text has."""

    rows: list[list[str]]
    n_alike: int
    one_more: bool


def printed_lines(text: str) -> PrintedLines | None:
    """Return the rows of a text of such lines, each other line as one cell; None for any other text."""
    lines = text.splitlines()
    of_lines = {i: _tokens(line) for i, line in enumerate(lines)}
    coded = {i: tokens for i, tokens in of_lines.items() if any(one.kind == CODE for one in tokens)}
    alike = _alike(coded)
    if len(alike) < max(FEWEST, LEAST_SHARE * len(coded)):
        return None
    table = " ".join(lines[i] for i in alike)
    if re.search(r"\d,\d", _without_spans(table)) and re.search(r"\d\.\d", table):
        return None  # a comma may part two numbers here
    first = coded[alike[0]]
    columns = [
        i for i, one in enumerate(first)
        if one.kind in (CODE, NUMBER) or (one.kind == WORD and len({coded[n][i].text for n in alike}) > 1)
    ]  # fmt: skip
    n_spans = sum(one.kind == SPAN for one in first)
    if n_spans > sum(first[i].kind == NUMBER for i in columns if i > _code(first)):
        return None
    above = next((i for i in range(alike[0] - 1, -1, -1) if lines[i].strip()), -1)
    named = _named_above(lines[above], first, columns) if above >= 0 and above not in coded else None
    heads = named or _by_words(first, columns)
    if heads is None:
        return None
    in_table = set(alike)
    rows = [
        _cells(coded[i], columns) if i in in_table else _broken(line, coded.get(i), first, columns)
        for i, line in enumerate(lines)
    ]
    place = above if named else alike[0] - 1
    if place >= 0 and (named or not lines[place].strip()):
        rows[place] = heads
        return PrintedLines(rows, len(alike), one_more=False)
    return PrintedLines([*rows[: alike[0]], heads, *rows[alike[0] :]], len(alike), one_more=True)


def _tokens(line: str) -> list[Token]:
    out = []
    for found in _TOKEN.finditer(line):
        kind = found.lastgroup or MARK
        out.append(Token(CODE if kind == WORD and is_code(found[0]) else kind, found[0], found.end()))
    return out


def _code(tokens: Sequence[Token]) -> int:
    return next(i for i, one in enumerate(tokens) if one.kind == CODE)


def _alike(coded: dict[int, list[Token]]) -> list[int]:
    """The lines of the commonest shape with one code and a number behind it."""
    by_shape = defaultdict[object, list[int]](list)
    for i, tokens in coded.items():
        behind = tokens[_code(tokens) + 1 :]
        if any(one.kind == NUMBER for one in behind) and not any(one.kind == CODE for one in behind):
            by_shape[_shape(tokens, len(tokens))].append(i)
    return max(by_shape.values(), key=len, default=[])


def _shape(tokens: Sequence[Token], n: int) -> tuple[tuple[str, str], ...]:
    """What has to be the same in two lines: kinds, marks, and the words behind the code; a word before it may vary."""
    code = _code(tokens)
    return tuple(
        (one.kind, one.text.casefold() if one.kind == MARK or (one.kind == WORD and i > code) else "")
        for i, one in enumerate(tokens[:n])
    )


def _without_spans(text: str) -> str:
    return "".join(" " if found.lastgroup == SPAN else f"{found[0]} " for found in _TOKEN.finditer(text))


def _named_above(line: str, first: Sequence[Token], columns: Sequence[int]) -> list[str] | None:
    """The headings that a line above gives, where no words are among the numbers; None where they do not fit."""
    code = _code(first)
    outside = re.sub(r"\([^()]*\)", " ", line)
    if any(one.kind == WORD for one in first[code:]) or any(one.kind == NUMBER for one in _tokens(outside)):
        return None
    colon = next((i for i, one in enumerate(first) if one.text == ":"), 0)
    left, _, right = line.partition(":")
    if colon > code and right.strip():
        before = [i for i in columns if i < colon]
        words = re.findall(r"[^\s()\[\]]+", left)[-len(before) :]
        behind = _spread(re.sub(r"\([^()]*\)", " ", right), len(columns) - len(before))
        return [*["No."] * (len(before) - len(words)), *words, *behind] if behind else None
    by_room = [text for text in re.split(r"\s{2,}|\t", line.strip()) if text]
    return next((heads for heads in (by_room, line.split()) if len(heads) == len(columns)), None)


def _spread(text: str, n: int) -> list[str]:
    """One heading over n columns, or one for each."""
    words = text.split()
    if not words or (len(words) == n and not _MANY.fullmatch(words[-1].casefold())):
        return words
    return [f"{' '.join(words)} {i}" for i in range(1, n + 1)]


def _by_words(first: Sequence[Token], columns: Sequence[int]) -> list[str] | None:
    """The headings by the words beside each number; None where they may belong to either of two numbers."""
    heads: dict[int, str] = {_code(first): "Vial code"}
    unnamed = 0
    numbered = list(enumerate(first))
    for is_break, part in groupby(numbered, key=lambda one: one[1].kind in (MARK, CODE, SPAN)):
        segment = list(part)
        numbers = [i for i, one in segment if one.kind == NUMBER]
        if is_break or not numbers:
            continue
        words = _words_of_numbers([one for _, one in segment])
        if words is None:
            return None
        for i, text in zip(numbers, words, strict=True):
            unnamed += not text and i > _code(first)
            heads[i] = text or (f"figure {unnamed}" if i > _code(first) else "No.")
    return [heads.get(i, "") for i in columns]


def _words_of_numbers(segment: Sequence[Token]) -> list[str] | None:
    """The words of each number of a part of a line: those before each, those behind each, or none."""
    runs = [
        (kind == NUMBER, [one.text for one in run])
        for kind, run in groupby(segment, key=lambda one: one.kind)
    ]
    numbers = sum(len(texts) for is_number, texts in runs if is_number)
    words = [" ".join(texts) for is_number, texts in runs if not is_number]
    if not words:
        return [""] * numbers
    if numbers == 1:
        return [" ".join(words)]
    return words if len(words) == numbers and len(runs) == 2 * numbers else None


def _cells(tokens: Sequence[Token], columns: Sequence[int]) -> list[str]:
    cells = [tokens[i].text for i in columns]
    spans = [_ENDS.search(one.text) for one in tokens if one.kind == SPAN]
    for k, ends in enumerate(spans, len(cells) - len(spans)):
        cells[k] += f" ({ends[1]} - {ends[2]})" if ends else ""
    return cells


def _broken(
    line: str, tokens: Sequence[Token] | None, first: Sequence[Token], columns: Sequence[int]
) -> list[str]:
    """A line that is not as the others: what is behind its code for each number, or the whole line as one cell."""
    code = _code(first)
    begins = tokens and [one.kind for one in tokens[: code + 1]] == [one.kind for one in first[: code + 1]]
    if not tokens or not begins or sum(one.kind == CODE for one in tokens) > 1:
        return [line.strip()] if line.strip() else []
    behind = line[tokens[code].end :].strip(" \t:;,=|-–")
    return [tokens[i].text if i <= code else behind for i in columns]
