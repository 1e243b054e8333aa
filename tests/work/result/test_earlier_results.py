"""Results of before a re-issued file: those of a withdrawn reading are never brought back."""

from __future__ import annotations

import pytest
from return_support import MOMENT

from geneticlog.store.tables import Result, ReturnFile, ReturnRow
from geneticlog.work.result.earlier_results import reading_withdrawn


@pytest.mark.parametrize(
    ("row", "withdrawn"),
    [
        (None, False),  # entered by hand: no reading brought it
        (ReturnRow(return_file=ReturnFile(withdrawn_at=None)), False),
        (ReturnRow(return_file=ReturnFile(withdrawn_at=MOMENT)), True),
    ],
)
def test_a_reading_is_withdrawn_where_its_file_is(row: ReturnRow | None, withdrawn: bool) -> None:
    assert reading_withdrawn(Result(return_row=row)) is withdrawn
