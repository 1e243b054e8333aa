"""Rows as a person counts them, over one table and over several sheets read as one."""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.sheet.sheet_rows import ONE_TABLE, SheetRows, rows_in_words, step_for


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([], ""),
        ([7], "7"),
        ([8, 7], "7, 8"),
        ([7, 8, 9], "7 to 9"),
        ([12, 3, 5, 6, 7, 9], "3, 5 to 7, 9, 12"),
        (range(2, 26, 2), "2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24"),
        ([*range(2, 26, 2), 26, 27, 40], "2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24 and 3 more"),
        ([*range(2, 28, 2), 30, 31, 40], "2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24 and 4 more"),
    ],
)
def test_rows_are_said_in_runs_and_at_most_twelve_of_them(rows: list[int], words: str) -> None:
    assert rows_in_words(rows) == words


@pytest.mark.parametrize(
    ("longest", "step"),
    [(5, 1_000), (999, 1_000), (1_000, 10_000), (99_999, 100_000), (100_000, 200_000), (250_000, 300_000)],
)
def test_sheets_are_spaced_so_that_their_rows_never_meet(longest: int, step: int) -> None:
    assert step_for(longest) == step


def test_a_row_is_found_again_on_its_sheet() -> None:
    several = SheetRows(("Plate 1", "Plate 2"), 1_000)
    assert [several.number(0, 7), several.number(1, 7)] == [7, 1_007]
    assert [several.place(7), several.place(1_007)] == [("Plate 1", 7), ("Plate 2", 7)]
    assert several.words([1_004, 5, 6, 7, 3]) == "3, 5 to 7 of sheet Plate 1; 4 of sheet Plate 2"
    assert (ONE_TABLE.place(1_007), ONE_TABLE.words([1_007])) == ((None, 1_007), "1007")
