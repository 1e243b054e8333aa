"""Single shares that cannot be what they are, in a file whose other rows all fit."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_ROWS, NEARLY_ALL = 8, 0.9  # with the shares of both taxa, and those of them that make one whole
LEAST_ROOM = 0.0011  # of one: two shares printed in tenths of a percent
MOST_BELOW, MOST_BELOW_SHARE = (
    2,
    0.05,
)  # shares below one allele; where there are more, a program estimated them
NEARLY = 0.95  # of one allele


def odd_sums(drafts: Sequence[Draft]) -> dict[int, list[str]]:
    """Return, by row, that its shares make no whole, where those of nearly all other rows do to the last digit."""
    sums = {
        draft.row: (
            draft.q + draft.other_q + (draft.third_q or 0.0),
            max(2 * draft.half_digits[0], LEAST_ROOM),
        )
        for draft in drafts
        if draft.q is not None and draft.other_q is not None
    }
    apart = {row: total for row, (total, room) in sums.items() if abs(total - 1) > room + 1e-9}
    if len(sums) < LEAST_ROWS or len(sums) - len(apart) < NEARLY_ALL * len(sums):
        return {}
    words = f"its shares sum to {{:.4g}}, and those of {len(sums) - len(apart)} other rows to 1"
    return {row: [words.format(total)] for row, total in apart.items()}


def single_below_one_allele(drafts: Sequence[Draft], panel_loci: int | None) -> dict[int, list[str]]:
    """Return, by row, that a share above 0 is less than one allele of those scored, where hardly any other is."""
    alleles = {draft.row: 2 * (draft.n_loci or panel_loci or 0) for draft in drafts if draft.q is not None}
    below, above, n = [], 0, 0
    for draft in drafts:
        if draft.q is None or not alleles[draft.row]:
            continue
        n += 1
        least = NEARLY / alleles[draft.row]
        if draft.q > 0 and draft.q + draft.half_digits[0] < least:
            below.append(draft)
        above += draft.q < 1 and draft.q - draft.half_digits[0] > 1 - least
    if above or n < LEAST_ROWS or len(below) > max(MOST_BELOW, MOST_BELOW_SHARE * n):
        return {}
    return {
        draft.row: [
            f"q {draft.q:.4g} is less than one allele of {alleles[draft.row]} ({1 / alleles[draft.row]:.4f})"
        ]
        for draft in below
    }


def shorter_rows(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row of a text file, that it has fewer cells than the heading, where all others have a last cell.

    A cell that is lost moves those behind it under the heading of the one before.
    """
    whole, lengths = _cells(reading, rows)
    ended = sum(n_cells == whole and rows[n - 1][-1][1] != "empty" for n, n_cells in lengths.items())
    if len(lengths) < LEAST_ROWS or ended < NEARLY_ALL * len(lengths):
        return {}
    return {
        n: [
            f"it has {n_cells} cells, and the others have {whole}: a cell may be lost, and those behind it moved"
        ]
        for n, n_cells in lengths.items()
        if n_cells < whole
    }


def longer_heading(reading: Reading, rows: Sequence[Row]) -> str:
    """Return in words that every row of a text file has fewer cells than the heading; "" where one is as long.

    Then a column of the heading may have no cells, and all behind it are under the heading of the one before.
    """
    whole, lengths = _cells(reading, rows)
    longest = max(lengths.values(), default=whole)
    if len(lengths) < LEAST_ROWS or longest >= whole:
        return ""
    last = next(column for column in reading.columns if column.number == whole)
    if last.role == ColumnRole.FAILURE:
        return ""  # remarks that no sample has, and a program that writes no empty cells at the end
    return (
        f"the heading has {whole} cells, and each of the {len(lengths)} rows at most {longest}, none of them under"
        f" {last.named}: the values may be under the heading of the column before theirs"
    )


def _cells(reading: Reading, rows: Sequence[Row]) -> tuple[int, dict[int, int]]:
    """Return the cells of the heading, and by row those of each sample."""
    whole = max((column.number for column in reading.columns if column.heading), default=0)
    lengths = {n: len(rows[n - 1]) for n in reading.data_rows}
    return whole, lengths
