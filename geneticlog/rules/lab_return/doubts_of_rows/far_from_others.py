"""Rows in which the lab was far less sure than in all others, though the column of it is not used.

A column of confidence, quality or probability passes as harmless, and one row in it is at .4 where all others are at
.97: a careful person asks about that one. A value counts as far below where it is beyond the outer fence of the others
(three times the distance of their quartiles below the lower one; Tukey 1977, Exploratory Data Analysis, from memory)
and below three quarters of their median; reads and depth vary more, and have to be below a tenth of it, an amount of
DNA below a hundredth; what is missing counts the other way round. Where more than two, and more than a fifth, are such,
the column varies, and says nothing. The shares of the median are common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from statistics import median, quantiles

from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import A_MARGIN, MISSING_LOCI, plain, taxa_named
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_ROWS = 6
MOST_FAR, MOST_FAR_SHARE = 2, 0.2
OF_MEDIAN, READS_OF_MEDIAN, DNA_OF_MEDIAN = 0.75, 0.1, 0.01
_SURENESS = re.compile(
    r"\b(confidence|conf|certainty|posteriors?|prob|probability|quality|scores?|reliability|phred|gq|gencall"
    r"|concordance)\b"
)
_WIDTH = re.compile(r"\b(se|sd|std|standard error|standard deviation)\b")
_READS = re.compile(r"\b(reads?|depth|coverage)\b")
_DNA = re.compile(r"\b(dna|ng|qubit|nanodrop|concentration|conc|yield|quant)\b")
_OTHER_THINGS = re.compile(  # limits, and the probability of one class among others
    r"\b(interval|lower|upper|limit|limits|low|high|ci|cl|se|sd|95|90|99|f1|f2|fx|bc|bc\d|hybrid|pure|backcross|cluster"
    r"|hybrid index|number|no|failed)\b"
)


def far_from_others(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, in which unused column of sureness its value is far from all others, in words."""
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        heading = plain(column.heading)
        missing = column.why == MISSING_LOCI or (
            column.why == A_MARGIN and _WIDTH.search(heading) is not None
        )
        if column.role or any(taxa_named(heading, reading.layout.taxa)):
            continue
        sureness = any(one.search(heading) for one in (_SURENESS, _READS, _DNA))
        if not missing and (_OTHER_THINGS.search(heading) or not sureness):
            continue
        values = _values(reading, rows, column)
        least = OF_MEDIAN
        for pattern, share in ((_READS, READS_OF_MEDIAN), (_DNA, DNA_OF_MEDIAN)):
            least = share if pattern.search(heading) else least
        far = _far_above(values) if missing else _far_below(values, least)
        if column.why == MISSING_LOCI:
            far = [n for n in far if not _told_by_scored(reading, rows, values, n)]
        for n in far:
            text = f"column {column.named} says {column.text_in(rows[n - 1])[:30]!r}"
            where = (
                f"far {'above' if missing else 'below'} the other rows (median {median(values.values()):.4g})"
            )
            doubts.setdefault(n, []).append(f"{text}, {where}")
    return doubts


def _told_by_scored(reading: Reading, rows: Sequence[Row], missing: Mapping[int, float], n: int) -> bool:
    """Whether the loci scored are fewer by what is missing, so that the row is judged by these."""
    column = reading.column(ColumnRole.N_LOCI)
    scored = {} if column is None else _values(reading, rows, column)
    others = [scored[row] + missing[row] for row in missing if row in scored and row != n]
    return n in scored and bool(others) and abs(scored[n] + missing[n] - median(others)) <= 1


def _values(reading: Reading, rows: Sequence[Row], column: Column) -> dict[int, float]:
    figures = {n: reading.number_in(rows[n - 1], column) for n in reading.data_rows}
    return {n: one.value for n, one in figures.items() if one is not None}


def _far_below(values: Mapping[int, float], of_median: float) -> list[int]:
    if len(values) < LEAST_ROWS:
        return []
    low = {n for n, value in values.items() if value < of_median * median(values.values())}
    if of_median <= READS_OF_MEDIAN:
        return _few(low, len(values))
    first, fence = _fence(values, low)
    return _few({n for n in low if values[n] < first - fence}, len(values))


def _far_above(values: Mapping[int, float]) -> list[int]:
    """The rows of which far more is missing than of the others: beyond the upper fence, and thrice their median."""
    if len(values) < LEAST_ROWS:
        return []
    least = max(3 * median(values.values()), 0.2 if max(values.values()) <= 1 else 5)
    high = {n for n, value in values.items() if value > least}
    first, fence = _fence(values, high)
    return _few({n for n in high if values[n] > first + 4 * fence / 3}, len(values))


def _fence(values: Mapping[int, float], without: set[int]) -> tuple[float, float]:
    """The lower quartile of the other values, and three times the distance between their quartiles."""
    others = [value for n, value in values.items() if n not in without]
    first, _, third = quantiles(others, n=4, method="inclusive")
    return first, 3 * (third - first)


def _few(far: set[int], n: int) -> list[int]:
    return sorted(far) if len(far) <= max(MOST_FAR, MOST_FAR_SHARE * n) else []
