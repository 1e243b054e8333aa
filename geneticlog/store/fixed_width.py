"""Text tables separated by blanks alone: with columns in fixed places, as PDFs give them, or with one blank between."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence

from geneticlog.rules.lab_return.sheet.reading import is_code

LEAST_LINES = 3  # with room between words, to be a table
LEAST_SHARE = 0.5  # of the lines that hold anything
ROOM = 2  # blank places in all these lines, that part two columns: one may be between two words


def in_fixed_places(text: str) -> list[list[str]] | None:
    """Return the rows of a text of columns in fixed places, each line that has none as one cell; None for any other.

    A column begins where no line of the table has anything in two places before it, so a cell that is blank in one
    line moves no other.
    """
    lines = [line.expandtabs(8).rstrip() for line in text.splitlines()]
    filled = [line for line in lines if line.strip()]
    table = [line for line in filled if re.search(r"\S {2,}\S", line)]
    if len(table) < LEAST_LINES or len(table) < LEAST_SHARE * len(filled):
        return None
    starts = _starts(table)
    if len(starts) < 2:
        return None
    in_table = set(table)
    return [
        _cells(line, starts) if line in in_table else [line.strip()] if line.strip() else [] for line in lines
    ]


def _starts(table: Sequence[str]) -> list[int]:
    width = max(map(len, table))
    used = [False] * width
    for line in table:
        for i, letter in enumerate(line):
            used[i] = used[i] or not letter.isspace()
    return [i for i in range(width) if used[i] and not any(used[max(i - ROOM, 0) : i])]


def _cells(line: str, starts: Sequence[int]) -> list[str]:
    ends = [*starts[1:], len(line)]
    return [line[start:end].strip() for start, end in zip(starts, ends, strict=True)]


def by_single_blanks(text: str) -> list[list[str]] | None:
    """Return the rows of a text whose lines with vial codes have one blank between cells, all of as many cells.

    A cell may be in quotation marks; two blanks are an empty cell. A heading with one cell less than the rows has none
    over the first, as where the rows have names. None for any other text; lines of another width are one cell.
    """
    lines = text.splitlines()
    try:
        records = list(csv.reader(lines, delimiter=" ", strict=True))
    except csv.Error:
        return None
    coded = [n for n, row in enumerate(records) if any(map(is_code, row))]
    widths = {len(records[n]) for n in coded}
    if len(coded) < LEAST_LINES or len(widths) != 1 or len(records) != len(lines):
        return None
    width = widths.pop()
    blank = any(not any(records[n][i].strip() for n in coded) for i in range(width))
    top = next((n for n in range(coded[0] - 1, -1, -1) if records[n]), None)
    if width < 2 or blank or top is None or len(records[top]) not in (width - 1, width):
        return None
    records[top] = [""] * (width - len(records[top])) + records[top]
    return [row if len(row) == width else [line.strip()] for row, line in zip(records, lines, strict=True)]
