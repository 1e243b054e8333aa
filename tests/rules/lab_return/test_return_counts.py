"""The counts of a return add up, whatever comes back."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as some

from geneticlog.rules.lab_return.return_counts import Counts, ReturnedRow, count_return, standing_of

CODES = [f"V{i}" for i in range(8)]
ROWS = some.builds(
    ReturnedRow,
    vial=some.one_of(some.none(), some.sampled_from([*CODES, "S1", "S2"])),
    outcome=some.sampled_from(["typed", "failed", "duplicate", "conflicting", "doubtful", "unexpected"]),
    settled=some.booleans(),
)


@given(sent=some.sets(some.sampled_from(CODES)), rows=some.lists(ROWS, max_size=30))
def test_the_counts_always_add_up(sent: set[str], rows: list[ReturnedRow]) -> None:
    counts = count_return(sent, rows)
    assert counts.adds_up(len(rows))
    assert counts.sent == len(sent)
    per_vial = Counter(row.vial for row in rows if row.vial in sent)
    assert counts.returned == len(per_vial)
    assert counts.unexpected == sum(row.vial not in sent for row in rows)
    assert counts.duplicate_rows == sum(n - 1 for n in per_vial.values())


@given(rows=some.lists(ROWS, max_size=30), blanks=some.sets(some.sampled_from(CODES)))
def test_a_clean_blank_is_matched_and_not_failed(rows: list[ReturnedRow], blanks: set[str]) -> None:
    plain, told = count_return(CODES, rows), count_return(CODES, rows, blanks)
    assert told.adds_up(len(rows))
    by_vial = {code: [row for row in rows if row.vial == code] for code in CODES}
    clean = sum(bool(by_vial[code]) and standing_of(by_vial[code]) == "failed" for code in blanks)
    assert (told.blanks, told.clean_blanks) == (sum(bool(by_vial[code]) for code in blanks), clean)
    assert (told.matched, told.failed) == (plain.matched + clean, plain.failed - clean)
    assert (plain.blanks, plain.clean_blanks) == (0, 0)


@given(rows=some.lists(ROWS, max_size=20), order=some.randoms())
def test_the_order_of_the_rows_changes_nothing(rows: list[ReturnedRow], order: object) -> None:
    shuffled = sorted(rows, key=lambda _: order.random())  # type: ignore[attr-defined]
    assert count_return(CODES, shuffled) == count_return(CODES, rows)


@pytest.mark.parametrize(
    ("outcomes", "standing"),
    [
        (["typed"], "matched"),
        (["failed"], "failed"),
        (["doubtful"], "matched"),
        (["failed", "duplicate"], "failed"),
        (["typed", "duplicate"], "matched"),
        (["conflicting", "conflicting"], "conflicting"),
    ],
)
def test_what_the_rows_of_a_vial_come_to(outcomes: list[str], standing: str) -> None:
    assert standing_of(ReturnedRow("V", outcome) for outcome in outcomes) == standing


def test_a_settled_row_ends_the_conflict() -> None:
    rows = [ReturnedRow("V", "conflicting"), ReturnedRow("V", "conflicting", settled=True)]
    assert standing_of(rows) == "matched"


def test_counts_that_do_not_add_up_are_seen() -> None:
    assert not Counts(5, 3, 1, 1, 2, 0, 0, 0).adds_up(3)
    assert not Counts(5, 3, 2, 1, 2, 0, 0, 0, blanks=1, clean_blanks=2).adds_up(3)
