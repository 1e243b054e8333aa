"""Sheets laid out as plates, as tables of wells: what a plate shows, of which plate, and what is no plate."""

from __future__ import annotations

from typing import Any

import pytest

from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.store.sheets import Cell, Sheet
from geneticlog.work.lab_return.sheets.plate_grid import STEP, from_grids

Rows = list[list[str]]


def plate(corner: str = "", n_rows: int = 8, n_columns: int = 12, **wells: str) -> Rows:
    letters = "ABCDEFGHJK" if n_rows == 10 else "ABCDEFGHI"[:n_rows]
    head = [corner, *(str(at + 1) for at in range(n_columns))]
    return [
        head,
        *(
            [letter, *(wells.get(f"{letter}{at + 1:02d}", "") for at in range(n_columns))]
            for letter in letters
        ),
    ]


def table(*rows: list[str], name: str = "Sheet1") -> tuple[Sheet, list[list[str]]]:
    """The sheet that becomes of these rows, and its rows that hold something, as texts."""
    given = Sheet(name, [[Cell(text, "text" if text else "empty") for text in row] for row in rows])
    (sheet,) = from_grids([given], Taxa())
    return sheet, [[cell.text for cell in row] for row in sheet.rows if any(cell.text for cell in row)]


def test_one_plate_is_a_row_for_each_well_that_holds_something() -> None:
    sheet, rows = table(*plate("Florida proportion", A01="0.25", B01="0.5", H12="0.75"))
    assert sheet.grid
    assert rows == [["Well", "Florida proportion"], ["A01", "0.25"], ["B01", "0.5"], ["H12", "0.75"]]
    # a row of the table tells the row and the column of its cell
    assert [at for at, row in enumerate(sheet.rows) if row and row[0].text == "H12"] == [STEP * 9 + 12]


def test_a_title_above_says_what_is_shown_and_of_which_plate() -> None:
    title = ["Florida proportion, plate 2"]
    _, rows = table(["Results"], [], title, *plate(A01="0.25"))
    assert rows == [["Results"], ["Plate", "Well", "Florida proportion"], ["2", "A01", "0.25"]]
    # four rows above, it is the title of something else
    _, far = table(title, [], [], [], *plate(A01="0.25"))
    assert far == [title, ["Well", "Value in each well"], ["A01", "0.25"]]


def test_two_plates_are_told_apart_by_number_or_by_what_they_show() -> None:
    first, second = plate("plate 1", A01="0.25"), plate("plate 2", A01="0.5")
    _, rows = table(["Florida proportion"], *first, ["Florida proportion"], *second)
    assert rows[0] == ["Plate", "Well", "Florida proportion"]
    assert rows[1:] == [["1", "A01", "0.25"], ["2", "A01", "0.5"]]
    _, beside = table(*plate("Florida proportion", A01="0.25"), *plate("Loci scored", A01="38", B01="36"))
    assert beside == [["Well", "Florida proportion", "Loci scored"], ["A01", "0.25", "38"], ["B01", "", "36"]]
    alike, _ = table(*plate("Florida proportion", A01="0.25"), *plate("Florida proportion", A01="0.5"))
    assert not alike.grid


@pytest.mark.parametrize(
    ("n_rows", "n_columns", "is_plate"),
    [(8, 12, True), (9, 9, True), (8, 11, False), (7, 12, False), (9, 12, False)],
)
def test_a_plate_has_the_size_of_what_samples_are_sent_in(
    n_rows: int, n_columns: int, is_plate: bool
) -> None:
    sheet, _ = table(*plate("Florida proportion", n_rows, n_columns, A01="0.25"))
    assert sheet.grid is is_plate


@pytest.mark.parametrize(
    ("change", "is_plate"),
    [
        ({(0, 3): "5"}, False), ({(2, 0): "X"}, False), ({(2, 0): " b "}, True), ({(0, 3): "03"}, True),
        ({(0, 3): "Col 3"}, True), ({(0, 3): "3.0"}, True), ({(0, 3): "13"}, False),
    ],
)  # fmt: skip
def test_its_columns_are_numbered_and_its_rows_lettered(
    change: dict[tuple[int, int], str], is_plate: bool
) -> None:
    rows: Any = plate("Florida proportion", A01="0.25")
    for (row, column), text in change.items():
        rows[row][column] = text
    assert table(*rows)[0].grid is is_plate


def test_short_rows_and_lines_around_a_plate_are_kept() -> None:
    rows = plate("Florida proportion", A01="0.25")
    rows[3] = ["C"]
    _, kept = table(["Lab of invention", "", ""], *rows, ["n = 1"])
    assert kept == [["Lab of invention"], ["Well", "Florida proportion"], ["n = 1"], ["A01", "0.25"]]
