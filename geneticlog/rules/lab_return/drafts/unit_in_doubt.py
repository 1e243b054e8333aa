"""Values that the unit which a person named may not fit, in a column whose other values fit one unit only."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.cells.cells import Number, number
from geneticlog.rules.lab_return.cells.percent_or_fraction import FRACTION, LEAST_PERCENT, PERCENT, ROUNDING
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.words.roles import ColumnRole

MOST_OF_AN_INDEX = 2.0  # alleles of a locus: where no number is above, none of them is a percent
LEAST_IMPOSSIBLE, MANY_IMPOSSIBLE = 2, 0.25  # shares outside what is possible, and their part of a column


def note_unit_in_doubt(drafts: Sequence[Draft], reading: Reading, rows: Sequence[Row]) -> None:
    """Note on each draft that its share may be in the other unit than the one that a person named; it is then held."""
    column = reading.column(ColumnRole.Q)
    if column is None or ColumnRole.Q not in reading.layout.units or column.unit not in (PERCENT, FRACTION):
        return
    numbers: dict[int, Number] = {}
    signed = False
    for draft in drafts:
        text, kind = (
            rows[draft.row - 1][column.number - 1] if len(rows[draft.row - 1]) >= column.number else ("", "")
        )
        figure = number(text, "." if kind == "number" else reading.decimal)
        signed = signed or (figure is not None and figure.signed)
        if figure is not None and not figure.signed and figure.of is None:
            numbers[draft.row] = figure
    doubted = _doubted(numbers, column.unit, signed=signed)
    other = FRACTION if column.unit == PERCENT else PERCENT
    for draft in drafts:
        if draft.row in doubted:
            facts = {"column": column.heading or column.letter, "unit": column.unit, "other": other}
            draft.note(FindingKind.UNIT_IN_DOUBT, **facts, written=numbers[draft.row].plain)
    largest = max((one.value for one in numbers.values()), default=0.0)
    if len(doubted) >= MANY_IMPOSSIBLE * len(numbers) and largest <= MOST_OF_AN_INDEX and len(doubted) > 1:
        words = (
            f"{len(doubted)} of {len(numbers)} values of its column may be {other}s, and not {column.unit}s"
        )
        for draft in drafts:
            if draft.row in numbers and draft.row not in doubted and draft.q is not None:
                draft.note(FindingKind.MARKED, mark=words)


def _doubted(numbers: dict[int, Number], unit: str, *, signed: bool) -> set[int]:
    """The rows whose number may be in the other unit. 0 is the same in both.

    Fractions among percents show by a value of less than one allele, and then each value up to 1 may be one. Percents
    among fractions show by values above 1: a whole 1 may then be one percent, and where half of the column is above 1,
    so may each value up to 1. Where others of the column are signed, as 40 %, one up to 1 without a sign may be a
    fraction.
    """
    above = [row for row, one in numbers.items() if one.value > 1 + ROUNDING]
    to_one = {row for row, one in numbers.items() if 0 < one.value <= 1 + ROUNDING}
    if unit == PERCENT and signed:
        return to_one
    if not above:
        return set()
    if unit == PERCENT:
        return to_one if any(numbers[row].value < LEAST_PERCENT for row in to_one) else set()
    half = 2 * len(above) >= len(numbers)
    return {row for row in to_one if half or numbers[row].half_digit == 0.5}


def note_mostly_impossible(drafts: Sequence[Draft]) -> None:
    """Note on each share of a column of which many cannot be a share that it may be none either; it is held.

    One number again and again, such as 999, stands for no result and says nothing of the others.
    """
    impossible = {
        draft.row: str(noted.facts.get("written"))
        for draft in drafts
        for noted in draft.noted
        if noted.kind in (FindingKind.IMPOSSIBLE_VALUE, FindingKind.COUNT_OUT_OF)
        and noted.facts.get("role") == ColumnRole.Q
    }
    others = [draft for draft in drafts if draft.q is not None and draft.row not in impossible]
    n = len(impossible) + len(others)
    many = len(impossible) >= LEAST_IMPOSSIBLE and len(impossible) >= MANY_IMPOSSIBLE * n
    if not others or not many or (len(set(impossible.values())) == 1 and 2 * len(impossible) < n):
        return
    for draft in others:
        draft.note(
            FindingKind.MARKED,
            mark=f"{len(impossible)} of {n} values of its column cannot be a share in this unit",
        )
