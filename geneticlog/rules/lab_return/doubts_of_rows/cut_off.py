"""A text file that was cut off while it was copied: its last row may end in the middle of a number."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.lab_return.sheet.reading import Reading, Row

LEAST_ROWS = 4
_ENDS = (b"\n", b"\r")


def cut_off(content: bytes, reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, that the last row of a text file ends before all others do, where no line end follows it."""
    samples = reading.data_rows
    if len(samples) < LEAST_ROWS or content.rstrip(b"\0 \t\x1a").endswith(_ENDS) or samples[-1] != len(rows):
        return {}
    *others, last = (_texts(rows[n - 1]) for n in samples)
    if not last:
        return {}
    if len(last) < min(map(len, others)):
        return {samples[-1]: ["the file ends in this row, before its last column: it may be cut off"]}
    beside = [row[len(last) - 1] for row in others if len(row) >= len(last)]
    if not any(letter.isdigit() for letter in last[-1]) and not any(
        text.startswith(last[-1]) for text in beside
    ):
        return {}  # another word, whole
    for measure in (len, _decimals):
        usual = {measure(text) for text in beside}
        if len(usual) == 1 and measure(last[-1]) < usual.pop():
            return {samples[-1]: [f"the file ends in this row, in {last[-1]!r}: it may be cut off"]}
    return {}


def _texts(row: Row) -> list[str]:
    texts = [text.strip() for text, _ in row]
    while texts and not texts[-1]:
        texts.pop()
    return texts


def _decimals(text: str) -> int:
    return max((len(text) - 1 - at for at in (text.rfind("."), text.rfind(",")) if at >= 0), default=0)
