"""Returns with one sheet a plate: sheets of the same headings are one return, and every row keeps its sheet."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from conftest import Runner
from openpyxl.styles import Font
from return_support import a_shipment
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.sheet.sheet_rows import SheetRows, step_for
from geneticlog.store.tables import Result, ReturnRow, Vial

HEADING = ["Sample", "Florida proportion", "H", "Loci scored"]
Rows = list[list[Any]]
Book = Callable[[dict[str, Rows]], Path]


@pytest.fixture
def book(tmp_path: Path) -> Book:
    def make(sheets: dict[str, Rows]) -> Path:
        workbook = openpyxl.Workbook()
        workbook.remove(workbook.active)
        for name, rows in sheets.items():
            sheet = workbook.create_sheet(name)
            for row in rows:
                sheet.append(row)
        path = tmp_path / "plates.xlsx"
        workbook.save(path)
        return path

    return make


def fish(code: str, k: int) -> list[Any]:
    return [code, round(k / 76, 4), round(min(k, 76 - k) / 38, 4), 38]


def plates(codes: list[str]) -> dict[str, Rows]:
    """Two plates of four with titles above, the second with a doubtful value; a key; an empty plate."""
    return {
        "Read me": [["Results of an invented laboratory"]],
        "Plate 1": [["Plate 1 of an invented lab"], HEADING, *map(fish, codes, (0, 2, 9, 31))],
        "Plate 2": [
            ["Plate 2 of an invented lab"], [], HEADING,
            fish(codes[4], 40), [codes[5], 1.7, 0.1, 38], fish(codes[6], 0), [codes[7], "failed", None, None],
        ],
        "Plate 3": [HEADING],
    }  # fmt: skip


def test_plates_on_several_sheets_are_one_return(run: Runner, session: Session, book: Book) -> None:
    codes = a_shipment(session, 8)
    session.commit()
    path = book(plates(codes))
    shown = run("return", "preview", path, "--shipment", "SH-1").stdout
    assert "sheets Plate 1, Plate 2, heading in row 2; 8 rows of samples" in shown
    assert "row 7 of sheet Plate 2 is counted as 1007" in shown
    assert "Row 1 of sheet Plate 2 is not a sample: Plate 2 of an invented lab" in shown
    assert "Sheet Read me is not read: its words are those of a letterhead" in shown
    document = json.loads(run("return", "preview", path, "--shipment", "SH-1", "--json").stdout)
    assert document["sheets"] == [
        {"sheet": "Plate 1", "rows_from": 0},
        {"sheet": "Plate 2", "rows_from": 1000},
    ]
    said = json.loads(run("return", "read", path, "--shipment", "SH-1", "--json").stdout)
    assert (said["n_rows"], said["n_typed"], said["n_failed"], said["n_held"]) == (8, 6, 1, 1)
    assert said["sheets"] == document["sheets"]
    findings = {one["kind"]: one for one in json.loads(run("reconcile", "SH-1", "--json").stdout)["findings"]}
    assert (
        f"{codes[5]}, row 5 of sheet Plate 2: Florida proportion is '1.7'"
        in findings["impossible_value"]["text"]
    )
    assert findings["impossible_value"]["rows"] == [1005]
    assert f"{codes[7]} gave no result, 'failed' (row 7 of sheet Plate 2)" in findings["failed"]["text"]
    stored = session.execute(
        select(Vial.code, ReturnRow.row_number, Result.q)
        .join(Result, Result.vial_id == Vial.id)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .order_by(ReturnRow.row_number)
    ).all()
    assert [tuple(row[:2]) for row in stored] == list(
        zip(codes, [3, 4, 5, 6, 1004, 1005, 1006, 1007], strict=True)
    )
    assert stored[4].q == pytest.approx(40 / 76, abs=5e-5)
    assert "row 4 of sheet Plate 2 of plates.xlsx" in run("history", codes[4]).stdout
    assert "already read on" in run("return", "read", path, "--shipment", "SH-1").stdout


def test_a_vial_on_two_plates_is_one_conflict_that_names_both_sheets(
    run: Runner, session: Session, book: Book
) -> None:
    codes = a_shipment(session, 8)
    session.commit()
    sheets = plates(codes)
    sheets["Plate 2"].append(fish(codes[1], 50))
    run("return", "read", book(sheets), "--shipment", "SH-1")
    findings = {one["kind"]: one for one in json.loads(run("reconcile", "SH-1", "--json").stdout)["findings"]}
    conflict = findings["conflicting"]
    assert "rows 4 of sheet Plate 1; 8 of sheet Plate 2 with different results" in conflict["text"]
    unsure = run("decide", conflict["finding"], "accept", "--why", "x", fails=4).stderr
    assert "--row 4 (row 4 of sheet Plate 1) or --row 1008 (row 8 of sheet Plate 2)" in unsure
    run("decide", conflict["finding"], "accept", "--row", 1008, "--why", "the second run is right")
    results = json.loads(run("history", codes[1], "--json").stdout)["results"]
    assert [(one["standing"], one["q"]) for one in results] == [
        ("rejected", pytest.approx(2 / 76, abs=5e-5)),
        ("current", pytest.approx(50 / 76, abs=5e-5)),
    ]


def test_headings_in_two_rows_stand_on_every_sheet(
    run_on_sqlite: Runner, sqlite_database: str, book: Book, office: list[str]
) -> None:
    heading: Rows = [["Sample ID", "Ancestry (%)", None, "H"], [None, "Florida", "Northern", None]]
    rows = [[code, 10 * i, 100 - 10 * i, 0.1] for i, code in enumerate(office, start=1)]
    path = book({"A": [*heading, *rows[:4]], "B": [*heading, *rows[4:]]})
    said = json.loads(run_on_sqlite("return", "read", path, "--shipment", "SH-1", "--json").stdout)
    assert (said["n_rows"], said["n_typed"], said["n_held"], said["n_unexpected"]) == (8, 8, 0, 0)


def test_units_are_judged_over_all_sheets_together(
    run_on_sqlite: Runner, book: Book, office: list[str]
) -> None:
    heading = ["Sample", "Florida"]
    mixed = [[code, q] for code, q in zip(office, (0.1, 0.25, 0.5, 0.9), strict=False)]
    pure = [[code, q] for code, q in zip(office[4:], (0, 1, 1, 0), strict=True)]  # alone: 1 % or the whole?
    path = book({"A": [heading, *pure], "B": [heading, *mixed]})
    said = json.loads(run_on_sqlite("return", "read", path, "--shipment", "SH-1", "--json").stdout)
    assert said["n_typed"] == 8


def test_a_summary_of_the_same_vials_is_left_out_and_said(
    run_on_sqlite: Runner, book: Book, office: list[str]
) -> None:
    sheets = plates(office)
    sheets["Summary"] = [["Sample", "Florida share"], *[[code, 0.5] for code in office]]
    path = book(sheets)
    asked = run_on_sqlite("return", "read", path, "--shipment", "SH-1", fails=5).stderr
    assert "sheet Summary is not read" in asked
    answer = ("--harmless", "sheet Summary")
    said = json.loads(run_on_sqlite("return", "read", path, "--shipment", "SH-1", *answer, "--json").stdout)
    assert said["n_rows"] == 8


def test_sheets_of_other_vials_under_other_headings_are_asked_about(
    run_on_sqlite: Runner, book: Book, office: list[str]
) -> None:
    sheets = plates([*office[:7], "BG4F7Q2KR"])
    sheets["Repeats"] = [["Sample", "Florida share", "H"], [office[7], 0.5, 0.5]]
    path = book(sheets)
    refused = run_on_sqlite("return", "read", path, "--shipment", "SH-1", fails=5).stderr
    assert "3 sheets hold results, under different headings: Plate 1, Plate 2 and Repeats" in refused
    both = ("--sheet", "Plate 2", "--sheet", "Repeats")
    assert (
        "have different headings"
        in run_on_sqlite("return", "read", path, "--shipment", "SH-1", *both, fails=5).stderr
    )
    assert (
        "no sheet 'Plate 9'" in run_on_sqlite("return", "preview", path, "--sheet", "Plate 9", fails=5).stderr
    )
    two = ("--sheet", "plate 1", "--sheet", "Plate 2")
    two += ("--harmless", "sheet Repeats")
    said = json.loads(run_on_sqlite("return", "read", path, "--shipment", "SH-1", *two, "--json").stdout)
    assert [one["sheet"] for one in said["sheets"]] == ["Plate 1", "Plate 2"]
    one = json.loads(run_on_sqlite("return", "preview", path, "--sheet", "Plate 1", "--json").stdout)
    assert (one["sheets"], one["n_rows"]) == ([], 4)


def test_a_plate_that_cannot_be_read_is_not_left_out(
    run_on_sqlite: Runner, book: Book, office: list[str]
) -> None:
    sheets = plates(office)
    sheets["Plate 2"] = [HEADING, ["1", 0.2, 0.2, 38], ["2", 0.3, 0.2, 38]]
    refused = run_on_sqlite("return", "read", book(sheets), "--shipment", "SH-1", fails=5).stderr
    assert "sheet Plate 2" in refused
    assert "none of its values is a vial code" in refused


def test_a_value_struck_through_is_held_and_kept_and_a_person_decides(
    run_on_sqlite: Runner, book: Book, office: list[str]
) -> None:
    path = book(plates(office))
    workbook = openpyxl.load_workbook(path)
    workbook["Plate 2"]["B4"].font = Font(strike=True)
    workbook.save(path)
    seen = json.loads(run_on_sqlite("return", "preview", path, "--shipment", "SH-1", "--json").stdout)
    assert (seen["n_typed"], seen["n_failed"], seen["n_held"]) == (5, 1, 2)  # this one, and the 1.7
    run_on_sqlite("return", "read", path, "--shipment", "SH-1")
    findings = {
        one["kind"]: one
        for one in json.loads(run_on_sqlite("reconcile", "SH-1", "--json").stdout)["findings"]
    }
    struck = findings["struck_out"]
    assert f"{office[4]}, row 4 of sheet Plate 2: Florida proportion is struck through" in struck["text"]
    (before,) = json.loads(run_on_sqlite("history", office[4], "--json").stdout)["results"]
    assert (before["standing"], before["q"]) == ("held", pytest.approx(40 / 76, abs=5e-5))
    run_on_sqlite("decide", struck["finding"], "accept", "--why", "the lab says the line was a slip")
    (after,) = json.loads(run_on_sqlite("history", office[4], "--json").stdout)["results"]
    assert after["standing"] == "current"


@pytest.mark.parametrize(
    ("longest", "step"),
    [(1, 1_000), (999, 1_000), (1_000, 10_000), (12_345, 100_000), (99_999, 100_000), (250_000, 300_000)],
)
def test_rows_of_sheets_never_meet(longest: int, step: int) -> None:
    assert step_for(longest) == step
    numbering = SheetRows(("A", "B", "C"), step)
    for sheet in range(3):
        for row in (1, longest):
            assert numbering.place(numbering.number(sheet, row)) == ("ABC"[sheet], row)
    assert numbering.words([3, 4, 5, step + 7]) == "3 to 5 of sheet A; 7 of sheet B"


@pytest.fixture
def office(sqlite_database: str) -> list[str]:
    """The codes of a sent shipment of eight in the SQLite database."""
    from geneticlog.store.engine import open_engine

    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, 8)
        session.commit()
    engine.dispose()
    return codes
