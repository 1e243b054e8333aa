"""Alleles counted out of what they are said to be out of: a second count beside them must make it whole."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import counted_in_alleles, recognise
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_WHOLE = (
    0.25  # of the rows in which two counts make all alleles, to take the second for what the first leaves
)
LEAST_ROWS = 4


def note_other_sums(drafts: Sequence[Draft], reading: Reading, rows: Sequence[Row]) -> None:
    """Note on a draft that its count and the other taxon's make fewer alleles than the loci scored have; it is held.

    The count is then out of fewer, and where the file does not say how many loci were scored, it was taken out of the
    panel's. The other taxon's column is known by the rows in which both make all alleles.
    """
    q = reading.column(ColumnRole.Q)
    if q is None or q.unit != "count":
        return
    _note_other_totals(drafts, reading, rows)
    for column in reading.columns:
        if column.role and column.role != ColumnRole.OTHER_Q:
            continue
        short = _short(drafts, reading, rows, q, column)
        for draft in drafts:
            if total := short.get(draft.row):
                both = f"column {q.named} and column {column.named} make {total} alleles"
                draft.note(FindingKind.MARKED, mark=f"{both}, not those of {draft.n_loci} loci")


def _note_other_totals(drafts: Sequence[Draft], reading: Reading, rows: Sequence[Row]) -> None:
    """Note on a draft that a column of what was scored, which is not used, says another number than was counted of."""
    for column in reading.columns:
        meant = recognise(column.heading, reading.layout.taxa)
        if column.role or meant is None or meant.role != ColumnRole.N_LOCI:
            continue
        each = 2 if counted_in_alleles(column.heading) else 1
        for draft in drafts:
            figure = reading.number_in(rows[draft.row - 1], column)
            if figure and draft.n_loci and figure.of is None and figure.value != each * draft.n_loci:
                said_there = f"column {column.named} says {column.text_in(rows[draft.row - 1])!r}"
                draft.note(FindingKind.MARKED, mark=f"{said_there}, and {draft.n_loci} loci were counted of")


def _short(
    drafts: Sequence[Draft], reading: Reading, rows: Sequence[Row], q: Column, column: Column
) -> dict[int, int]:
    """The sum of both counts, by row, where it is less than all alleles, of a column that makes others whole."""
    sums: dict[int, tuple[float, int]] = {}
    for draft in drafts:
        row = rows[draft.row - 1]
        own, other = reading.number_in(row, q), reading.number_in(row, column)
        if draft.n_loci and own and other and own.of is None and other.of is None:
            sums[draft.row] = (own.value + other.value, 2 * draft.n_loci)
    whole = sum(total == alleles for total, alleles in sums.values())
    if len(sums) < LEAST_ROWS or whole < LEAST_WHOLE * len(sums):
        return {}
    if any(total > alleles or total != int(total) for total, alleles in sums.values()):
        return {}
    return {row: int(total) for row, (total, alleles) in sums.items() if total < alleles}
