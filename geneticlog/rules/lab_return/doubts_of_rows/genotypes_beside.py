"""Genotypes that are not used, for nothing says whose alleles they count, beside the shares that were made of them.

Whichever allele they count, they go with the shares, or against them, in all rows: a file in which they do so in one
part and not in the other has shares of both taxa under one heading.
"""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.lab_return.cells.percent_or_fraction import COUNT, PERCENT
from geneticlog.rules.lab_return.columns.genotypes import COUNTS, DIGITS, NO_CALL, coding_of, copies
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.roles import ColumnRole

GENOTYPES_BUT = "genotypes, but"  # how the reason begins why genotypes are not used
LEAST_ROWS, LEAST_FIT, MOST_OTHER = (
    6,
    0.8,
    0.25,
)  # rows, how many of them fit, and how many of these the other way
NEAR = 0.0051  # a share printed in whole percent


def turned_beside_genotypes(reading: Reading, rows: Sequence[Row]) -> tuple[dict[int, list[str]], str]:
    """Return, by row, that its share is what its genotypes leave, where nearly all others are their share; and, where
    many are so, what to ask of the whole file instead, in words.
    """
    with_, against = _ways(reading, rows)
    n = len(with_) + len(against)
    fewer = min((with_, against), key=len)
    if n < LEAST_ROWS or not fewer:
        return {}, ""
    if len(fewer) <= MOST_OTHER * n:
        words = (
            "the share counts the other allele of the genotypes beside it than those of nearly all rows do"
        )
        return {row: [words] for row in fewer}, ""
    first, second = (reading.sheet_rows.words(each) for each in sorted((with_, against), key=min))
    return {}, (
        f"the shares of rows {first} count one allele of the genotypes beside them, and those of rows {second} the"
        " other one, so they are not all of one taxon"
    )


def _ways(reading: Reading, rows: Sequence[Row]) -> tuple[list[int], list[int]]:
    """The rows whose share is that of the allele counted, and those whose share is what it leaves, where most are."""
    q = reading.column(ColumnRole.Q)
    markers = [one for one in reading.columns if not one.role and one.why.startswith(GENOTYPES_BUT)]
    if q is None or q.unit == COUNT or not markers:
        return [], []
    texts = {n: [_as_counts(one.text_in(rows[n - 1])) for one in markers] for n in reading.data_rows}
    coding = coding_of([text for of_row in texts.values() for text in of_row])
    if coding not in (COUNTS, DIGITS):
        return [], []
    with_, against, n_rows = list[int](), list[int](), 0
    for n, of_row in texts.items():
        share, counted = _share(reading, rows[n - 1], q), _counted(of_row, coding)
        if share is None or counted is None:
            continue
        n_rows += 1
        for ways, expected in ((with_, counted), (against, 1 - counted)):
            if abs(share - expected) <= NEAR < abs(share - (1 - expected)):
                ways.append(n)
    near_half = n_rows - len(with_) - len(against)
    return (with_, against) if near_half <= (1 - LEAST_FIT) * n_rows else ([], [])


def _as_counts(text: str) -> str:
    """A genotype of the letters A and B as a count of B; any other text as it is."""
    return str(text.upper().count("B")) if text.upper() in ("AA", "AB", "BA", "BB") else text


def _share(reading: Reading, row: Row, q: Column) -> float | None:
    figure = reading.number_in(row, q)
    return None if figure is None else figure.as_fraction(q.unit == PERCENT)[0]


def _counted(texts: Sequence[str], coding: str) -> float | None:
    counts = [n for text in texts if text not in NO_CALL and (n := copies(text, coding)) is not None]
    return sum(counts) / (2 * len(counts)) if counts else None
