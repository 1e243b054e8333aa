"""Values that the unit a person named may not fit: which rows are held, and what the other unit is."""

from __future__ import annotations

import pytest

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.cells.percent_or_fraction import FRACTION, PERCENT
from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.drafts.drafts import Drafter
from geneticlog.rules.lab_return.drafts.unit_in_doubt import note_mostly_impossible, note_unit_in_doubt
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.vialcode import mint

CODES = [code for serial in range(1, 60) if (code := mint("BG", serial))]


def noted(unit: str, shares: list[str], kind: FindingKind) -> dict[int, object]:
    """The rows, counted from 0, that are held for this kind, each with what is said of it."""
    table = [[("Vial ID", "text"), ("Florida", "text")]]
    table += [[(code, "text"), (share, "text")] for code, share in zip(CODES, shares, strict=False)]
    layout = Layout(units={ColumnRole.Q: unit} if unit else {})
    reading = read_columns(table, layout, file="return.csv")
    drafts = list(Drafter(reading).drafts(table))
    before = [len(draft.noted) for draft in drafts]
    note_unit_in_doubt(drafts, reading, table)
    note_mostly_impossible(drafts)
    return {
        draft.row - 2: each.facts
        for draft, n in zip(drafts, before, strict=True)
        for each in draft.noted[n:]
        if each.kind == kind and draft.held
    }


@pytest.mark.parametrize(
    ("unit", "shares", "rows"),
    [
        # percents: one value below one allele of the largest panel, and then each up to 1 may be a fraction
        (PERCENT, ["25.0", "50.0", "1.0", "0.3", "0"], [2, 3]),
        (PERCENT, ["25.0", "50.0", "1.0", "0.66", "0"], []),
        (PERCENT, ["25.0", "50.0", "1.0", "0.65", "0"], []),
        (PERCENT, ["0.25", "0.5", "0.1", "0.3"], []),  # none is above 1: the person said it of all of them
        (PERCENT, ["25 %", "50 %", "0.66", "40"], [2]),  # others are signed
        # fractions: a whole 1 among percents, and where half is above 1 each up to 1
        (FRACTION, ["0.25", "0.5", "0.1", "30", "1"], [4]),
        (FRACTION, ["0.25", "0.5", "0.1", "30", "1.00"], []),
        (FRACTION, ["0.25", "0.5", "30", "40"], [0, 1]),
        (FRACTION, ["0.25", "0.5", "0.75", "40", "30"], []),
        (FRACTION, ["0.25", "0.5", "0.1", "1"], []),
        ("", ["0.25", "0.5", "0.1", "1.0"], []),  # nobody named a unit
    ],
)
def test_rows_whose_number_may_be_in_the_other_unit_are_held(
    unit: str, shares: list[str], rows: list[int]
) -> None:
    held = noted(unit, shares, FindingKind.UNIT_IN_DOUBT)
    assert list(held) == rows
    for row, facts in held.items():
        assert facts == {
            "column": "Florida",
            "unit": unit,
            "other": FRACTION if unit == PERCENT else PERCENT,
            "written": shares[row],
        }  # type: ignore[comparison-overlap]


@pytest.mark.parametrize(
    ("shares", "rows"),
    [
        (["0.25", "0.5", "30", "40"], [0, 1]),
        (["0.25", "0.5", "30", "40", "50"], [0, 1]),
        (["0.25", "0.5", "0.75", "40", "30"], [0, 1, 2]),
        (["0.25", "0.5", "0.75", "40"], []),  # one typing error
        ([*["0.25", "0.5", "0.75"] * 3, "40", "30"], []),
        (["30", "40"], []),
    ],
)
def test_where_many_of_a_column_cannot_be_the_others_are_held(shares: list[str], rows: list[int]) -> None:
    held = noted(FRACTION, shares, FindingKind.MARKED)
    assert list(held) == rows
    for facts in held.values():
        n = sum(float(share) > 1 for share in shares)
        assert facts == {"mark": f"{n} of {len(shares)} values of its column cannot be a share in this unit"}  # type: ignore[comparison-overlap]
