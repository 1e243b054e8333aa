"""Sheets of one shape stacked: what stood at a place of the second sheet stands 1,000 rows on."""

from __future__ import annotations

from return_support import codes

from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.store.sheets import Cell, Sheet
from geneticlog.work.lab_return.sheets.stack_sheets import stack

CODES = codes(4)


def a_sheet(name: str, vials: list[str]) -> Sheet:
    rows = [[Cell("Sample ID", "text"), Cell("Florida", "text")]]
    rows += [[Cell(vial, "text"), Cell("0.25", "number")] for vial in vials]
    return Sheet(
        name, rows, "workbook", False, frozenset({3}), ((2, 1, 3, 2),), struck=frozenset({(2, 2)}),
        colours={(3, 1): "red"}, comments={(2, 1): "again"},
    )  # fmt: skip


def test_marks_of_the_second_sheet_go_with_their_rows() -> None:
    read = []
    for name, vials in (("plate 1", CODES[:2]), ("plate 2", CODES[2:])):
        sheet = a_sheet(name, vials)
        read.append((sheet, read_columns(sheet.rows, Layout(), file="r.xlsx", sheet=name)))
    one, reading = stack(read, Layout(), "r.xlsx")
    assert one.name == "plate 1, plate 2"
    assert one.hidden_rows == {3, 1003}
    assert one.merged == ((2, 1, 3, 2), (1002, 1, 1003, 2))
    assert one.struck == {(2, 2), (1002, 2)}
    assert one.colours == {(3, 1): "red", (1003, 1): "red"}
    assert one.comments == {(2, 1): "again", (1002, 1): "again"}
    assert {number for number in reading.data_rows if number > 1000} == {1002, 1003}
    assert one.rows[1001][0].text == CODES[2]
