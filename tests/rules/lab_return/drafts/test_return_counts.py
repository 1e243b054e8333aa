"""The counts of a return add up, whatever comes back."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as some
from reconcile_support import assert_it_adds_up

from geneticlog.rules.lab_return.drafts.return_counts import (
    ReturnedRow,
    Standing,
    count_return,
    standing_of,
)

CODES = [f"V{i}" for i in range(8)]
ROWS = some.builds(
    ReturnedRow,
    vial=some.one_of(some.none(), some.sampled_from([*CODES, "S1", "S2"])),
    outcome=some.sampled_from(["typed", "failed", "duplicate", "conflicting", "doubtful", "unexpected"]),
)
STANDINGS = some.tuples(
    some.sampled_from(["current", "held", "rejected"]), some.sampled_from(["typed", "failed"])
)
RESULTS = some.dictionaries(some.sampled_from(CODES), some.lists(STANDINGS, max_size=3))


@given(sent=some.sets(some.sampled_from(CODES)), rows=some.lists(ROWS, max_size=30), results=RESULTS)
def test_the_counts_always_add_up(
    sent: set[str], rows: list[ReturnedRow], results: dict[str, list[Standing]]
) -> None:
    counts = count_return(sent, rows, results)
    assert_it_adds_up(counts, len(rows))
    assert counts.sent == len(sent)
    per_vial = Counter(row.vial for row in rows if row.vial in sent)
    assert counts.returned == len(per_vial)
    assert counts.unexpected == sum(row.vial not in sent for row in rows)
    assert counts.duplicate_rows == sum(n - 1 for n in per_vial.values())
    # matched is a number that counts, and nothing else is
    assert counts.matched == sum(("current", "typed") in results.get(vial or "", []) for vial in per_vial)


@given(rows=some.lists(ROWS, max_size=30), results=RESULTS, blanks=some.sets(some.sampled_from(CODES)))
def test_a_clean_blank_is_matched_and_not_failed(
    rows: list[ReturnedRow], results: dict[str, list[Standing]], blanks: set[str]
) -> None:
    plain, told = count_return(CODES, rows, results), count_return(CODES, rows, results, blanks)
    assert_it_adds_up(told, len(rows))
    back = {row.vial for row in rows} & blanks
    clean = sum(standing_of(results.get(vial or "", [])) == "failed" for vial in back)
    assert (told.blanks, told.clean_blanks) == (len(back), clean)
    assert (told.matched, told.failed) == (plain.matched + clean, plain.failed - clean)
    assert (plain.blanks, plain.clean_blanks) == (0, 0)


@pytest.mark.parametrize(
    ("results", "outcomes", "standing"),
    [
        ([("current", "typed")], ["typed"], "matched"),
        # the earlier value stands while the later failure waits: a number that counts
        ([("current", "typed"), ("held", "failed")], ["failed"], "matched"),
        ([("current", "failed")], ["failed", "duplicate"], "failed"),
        ([("held", "typed")], ["doubtful"], "held"),
        ([("held", "typed"), ("held", "typed")], ["conflicting", "conflicting"], "conflicting"),
        ([("rejected", "typed"), ("current", "typed")], ["conflicting", "conflicting"], "matched"),
        ([("rejected", "typed")], ["typed"], "rejected"),
        ([], ["typed"], "rejected"),
    ],
)
def test_what_a_returned_vial_comes_to(results: list[Standing], outcomes: list[str], standing: str) -> None:
    assert standing_of(results, outcomes) == standing
