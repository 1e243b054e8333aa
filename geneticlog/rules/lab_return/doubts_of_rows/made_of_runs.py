"""A mean of several runs: rows in which it is not the mean of them, or in which the runs are far apart.

Whatever a person says of the columns of runs, the mean was made of them, by hand or by a formula, and a row in which
it does not follow from them is doubtful; so is one whose runs differ far more than those of all others, for their mean
is no measurement of anything. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from statistics import median

from geneticlog.rules.lab_return.cells.cells import Number
from geneticlog.rules.lab_return.cells.percent_or_fraction import PERCENT
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import recognise
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_ROWS, LEAST_MEANS = 4, 0.75  # rows with a mean and its runs, and how many of them are one
MOST_RUNS = 4
FAR, OF_MEDIAN = 0.2, 4.0  # how far runs are apart, of one and of the median of all rows, to be doubted
_Runs = dict[int, tuple[Number, list[Number]]]


def made_of_runs(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, that its share is not the mean of the runs beside it, or that these are far apart, in words."""
    q = reading.column(ColumnRole.Q)
    if q is None:
        return {}
    runs = [column for column in reading.columns if not column.role and _is_a_run(column, reading)]
    for n_runs in range(min(len(runs), MOST_RUNS), 1, -1):
        for chosen in combinations(runs, n_runs):
            figures = _figures(reading, rows, q, chosen)
            unlike = [n for n, (mean, each) in figures.items() if not _is_mean(mean, each)]
            if len(figures) >= LEAST_ROWS and len(unlike) <= (1 - LEAST_MEANS) * len(figures):
                return _in_words(figures, unlike, chosen, 100.0 if q.unit == PERCENT else 1.0)
    return {}


def _is_a_run(column: Column, reading: Reading) -> bool:
    meant = recognise(column.heading, reading.layout.taxa)
    return meant is not None and meant.role == ColumnRole.Q


def _figures(reading: Reading, rows: Sequence[Row], q: Column, runs: Sequence[Column]) -> _Runs:
    """The mean and the runs of each row that has all of them."""
    out: _Runs = {}
    for n in reading.data_rows:
        mean = reading.number_in(rows[n - 1], q)
        each = [figure for run in runs if (figure := reading.number_in(rows[n - 1], run))]
        if mean is not None and len(each) == len(runs):
            out[n] = mean, each
    return out


def _is_mean(mean: Number, each: Sequence[Number]) -> bool:
    own = sum(one.value for one in each) / len(each)
    room = mean.half_digit + max(one.half_digit for one in each)
    return abs(mean.value - own) <= room + 1e-9


def _in_words(
    figures: _Runs, unlike: Sequence[int], runs: Sequence[Column], whole: float
) -> dict[int, list[str]]:
    named = " and ".join(column.named for column in runs)
    apart = {
        n: max(one.value for one in each) - min(one.value for one in each) for n, (_, each) in figures.items()
    }
    usual = median(apart.values())
    doubts: dict[int, list[str]] = {}
    for n, (_, each) in figures.items():
        written = " and ".join(f"{one.value:g}" for one in each)
        if n in unlike:
            doubts[n] = [f"the share is not the mean of columns {named} ({written})"]
        elif apart[n] > max(FAR * whole, OF_MEDIAN * usual):
            doubts[n] = [f"columns {named} are far apart ({written}), so their mean measures nothing"]
    return doubts
