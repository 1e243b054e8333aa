"""A small return of one lab, as rows of cells, and what a rule doubts of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.sheet.reading import Row
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.vialcode import mint

CODES = [code for serial in range(1, 60) if (code := mint("BG", serial))]
SHARES = ["0.10", "0.25", "0.31", "0.44", "0.52", "0.63", "0.71", "0.88", "0.95", "0.17"]
N = len(SHARES)
PLAIN = Layout(columns={"q": "Florida"}, answered=frozenset({"q"}))


def read(headings: Sequence[str], columns: Sequence[Sequence[Any]], layout: Layout = PLAIN) -> Any:
    rows: list[Row] = [[("Vial ID", "text"), *((heading, "text") for heading in headings)]]
    rows += [
        [(code, "text"), *((str(cell), "text" if str(cell) else "empty") for cell in cells)]
        for code, cells in zip(CODES, zip(*columns, strict=True), strict=False)
    ]
    return read_columns(rows, layout, file="return.csv"), rows


def doubted(rule: Callable[..., Mapping[int, list[str]]], *of: Any) -> list[int]:
    """The rows that a rule doubts, from 0, each with one doubt."""
    doubts = rule(*of)
    assert all(len(words) == 1 for words in doubts.values())
    return sorted(row - 2 for row in doubts)


def but(column: Sequence[Any], **other: Any) -> list[Any]:
    return [other.get(f"_{i}", cell) for i, cell in enumerate(column)]
