"""What is kept of a reading is read back as it was: the columns with the keys of their cells, the rest by its name."""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.cells.percent_or_fraction import COUNT, PERCENT
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, SheetRows
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.work.result.kept_reading import (
    cell_writer,
    half_digits_of,
    kept_cells,
    kept_reading,
    reading_in_json,
)


def a_reading(*columns: Column, sheet: str = "", sheet_rows: SheetRows | None = None) -> Reading:
    return Reading(
        "lab.xlsx", sheet, Layout(), 1, 1, columns, ",", "", (2,), (), (), (), sheet_rows=sheet_rows or SheetRows()
    )  # fmt: skip


HEADED = (
    Column(1, "Vial", ColumnRole.VIAL, ""), Column(2, "Florida", ColumnRole.Q, "", PERCENT),
    Column(3, "Florida", ColumnRole.OTHER_Q, "", COUNT), Column(4, "", ColumnRole.NOT_USED, ""),
    Column(5, "D", ColumnRole.HETEROZYGOSITY, "", "fraction"),
)  # fmt: skip


def test_cells_come_back_under_the_keys_of_their_columns() -> None:
    row = [
        ("TH0000253", "text"),
        ('2,5 "x"', "text"),
        ("16", "text"),
        ("a\\b\u0000", "text"),
        ("0,250", "text"),
    ]
    cells = kept_cells(cell_writer(a_reading(*HEADED))(row))
    assert cells == {
        "Vial": "TH0000253", "Florida": '2,5 "x"', "Florida (C)": "16", "D": "a\\b", "D (E)": "0,250",
    }  # fmt: skip
    kept = kept_reading(reading_in_json(a_reading(*HEADED), None))
    assert [(one.key, one.role, one.unit) for one in kept.columns] == [
        (key, column.role, column.unit) for key, column in zip(cells, HEADED, strict=True)
    ]
    cells |= {"Florida": "2,5"}
    assert half_digits_of(kept, cells) == {
        "q": pytest.approx(0.0005), "other_q": 0.0, "heterozygosity": pytest.approx(0.0005),
    }  # fmt: skip
    assert half_digits_of(kept, {"Florida": "lost"}) == {}


@pytest.mark.parametrize(("loci", "given"), [(None, False), (38, True)])
def test_the_rest_of_a_reading_comes_back_by_name(loci: int | None, given: bool) -> None:
    rows = SheetRows(("one", "two"), 1000)
    kept = kept_reading(reading_in_json(a_reading(sheet="Results", sheet_rows=rows), loci))
    assert (kept.sheet, kept.sheet_rows, kept.loci_from_panel, kept.decimal) == ("Results", rows, given, ",")
    assert kept_reading(reading_in_json(a_reading(), None)).sheet is None


def test_a_reading_kept_before_these_were_has_none_of_them() -> None:
    kept = kept_reading("{}")
    assert (kept.columns, kept.decimal, kept.sheet, kept.sheet_rows, kept.loci_from_panel) == (
        (), ".", None, SheetRows(), False,
    )  # fmt: skip
