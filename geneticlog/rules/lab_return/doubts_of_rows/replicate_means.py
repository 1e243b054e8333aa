"""Rows of replicates with a row of their mean below them: which of them is the result is for a person to say."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from geneticlog.rules.lab_return.cells.percent_or_fraction import PERCENT
from geneticlog.rules.lab_return.sheet.account_items import ASKED, HARMLESS, HELD, Item, rows_in_words
from geneticlog.rules.lab_return.sheet.reading import Column, Question, Reading, Row
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.sentences import n_of

MEANS = "rows beside their mean"  # what answers call the rows of which a further row is the mean
FEWEST = 3  # vials with a mean
LEAST_ALIKE = 0.8  # of these vials, whose mean is that of their other rows
APART = 0.15  # of one: replicates further apart than twice this cast doubt on their mean
_MEAN = re.compile(
    r"(mean|average|avg|combined|consensus|moyenne|mittel|mittelwert|promedio|media)( of \d+)?"
)
_ONE = re.compile(r"(replicate|rep|run|repeat|r|no)? ?(\d{1,2}|[a-d])")


@dataclass(frozen=True)
class Means:
    """The column that tells means from replicates, the replicates' rows by the row of their mean, and the rows whose
    mean is another number than they make, or of replicates far apart, with why."""

    column: Column
    rows: dict[int, list[int]]
    doubts: dict[int, list[str]]


def replicate_means(reading: Reading, rows: Sequence[Row]) -> Means | None:
    """Return the rows of replicates beside their mean; None in a file that has none."""
    vial, q = reading.column(ColumnRole.VIAL), reading.column(ColumnRole.Q)
    if vial is None or q is None:
        return None
    for column in reading.columns:
        if column.role in (ColumnRole.NOT_USED, ColumnRole.FAILURE) and (
            of_means := _rows_of_means(reading, rows, vial, column)
        ):
            doubts = {
                mean: why for mean, its in of_means.items() if (why := _doubt(reading, rows, q, mean, its))
            }
            alike = sum(
                1 for mean in of_means if not any("is not that of" in why for why in doubts.get(mean, ()))
            )
            if len(of_means) >= FEWEST and alike >= LEAST_ALIKE * len(of_means):
                return Means(column, of_means, doubts)
    return None


def _rows_of_means(
    reading: Reading, rows: Sequence[Row], vial: Column, column: Column
) -> dict[int, list[int]]:
    """The rows of each vial's replicates by the row of its one mean."""
    of_vial: dict[str, list[int]] = defaultdict(list)
    for n in reading.data_rows:
        if text := vial.text_in(rows[n - 1]):
            of_vial[text].append(n)
    out = {}
    for its_rows in of_vial.values():
        means = [n for n in its_rows if _MEAN.fullmatch(plain(column.text_in(rows[n - 1])))]
        others = [n for n in its_rows if _ONE.fullmatch(plain(column.text_in(rows[n - 1])))]
        if len(means) == 1 and len(others) >= 2 and len(others) + 1 == len(its_rows):
            out[means[0]] = others
    return out


def _doubt(reading: Reading, rows: Sequence[Row], q: Column, mean: int, others: Sequence[int]) -> list[str]:
    whole = 100.0 if q.unit == PERCENT else 1.0
    numbers = [found for n in others if (found := reading.number_in(rows[n - 1], q))]
    own = reading.number_in(rows[mean - 1], q)
    if own is None or not numbers:
        return []
    shares = [one.value for one in numbers]
    values = ", ".join(q.text_in(rows[n - 1]) for n in others)[:60]
    why = []
    if abs(own.value - fmean(shares)) > 2 * own.half_digit + 0.001 * whole:
        why.append(f"the mean is not that of its replicates ({values})")
    if max(shares) - min(shares) > 2 * APART * whole:
        why.append(f"its replicates are far apart ({values})")
    return why


def question_of_means(reading: Reading, means: Means | None) -> tuple[list[Item], list[Question]]:
    """Return what the account says of replicates beside their mean, and the question while nobody answered it."""
    if means is None:
        return [], []
    where = f"column {means.column.letter}"
    seen = f"{n_of(len(means.rows), 'vial')} of the file {'has' if len(means.rows) == 1 else 'have'} several rows"
    seen += f" and one of their mean (first {rows_in_words(reading, [min(means.rows)])})"
    if reading.layout.changes_nothing(MEANS):
        return [Item("rows", where, MEANS, HARMLESS, f"{seen}: the means are read, as a person says")], []
    if reading.layout.casts_doubt(MEANS):
        return [Item("rows", where, MEANS, HELD, f"{seen}; they wait for a decision")], []
    asks = Question(
        f"column {means.column.named}: {seen}. Is the mean the result, and are the rows beside it left out?",
        (("harmless", "", MEANS), ("hold", "", MEANS)),
        "rows",
    )
    return [Item("rows", where, MEANS, ASKED, seen, asks.options)], [asks]


def without_replicates(reading: Reading, means: Means | None) -> tuple[int, ...]:
    """Return the rows that are read where a person says that the means are the results."""
    if means is None or not reading.layout.changes_nothing(MEANS):
        return reading.data_rows
    left_out = {n for others in means.rows.values() for n in others}
    return tuple(n for n in reading.data_rows if n not in left_out)
