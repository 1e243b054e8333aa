"""The field sheet goes out empty and comes back filled."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pypdfium2
import pytest
from click.testing import Result
from openpyxl.styles import Font
from survey_support import codes, fish_of, prepared

from geneticlog.rules.vialcode import printed
from geneticlog.store.writing import xlsx_bytes

Run = Callable[..., Result]
ONE, TWO, THREE, FOUR = codes(4)
TARGETS = {"stock": 2, "quality": 8, "preferred": 3}


def filled(
    file: Path, *rows: str, heading: str = "Fish,Vial,Length (in),Weight (lb),N,Size class,Remarks"
) -> Path:
    file.write_text("\r\n".join(["Heron Lake,12 May 2026", "", heading, *rows]) + "\r\n", encoding="utf-8")
    return file


def test_the_sheet_is_written_in_three_forms_and_shows_the_vials_in_order(
    run: Run, database: str, tmp_path: Path
) -> None:
    prepared(database, targets=TARGETS, n_vials=60)
    shown = json.loads(run("fieldsheet", "HERON-2026", "--out", tmp_path, "--json").output)
    assert [Path(file).suffix for file in shown["files"]] == [".pdf", ".csv", ".xlsx"]
    document = pypdfium2.PdfDocument(tmp_path / "HERON-2026-field-sheet.pdf")
    assert len(document) == 2
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    places = [text.index(printed(code)) for code in codes(60)]
    assert places == sorted(places)
    assert "Electrofishing can kill" in text
    assert "Ethanol is flammable" in text
    assert "12 to under 15 in" in text
    document.close()


def test_a_sheet_that_may_be_filled_in_is_not_written_over(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    run("fieldsheet", "HERON-2026", "--out", tmp_path, "--form", "csv")
    file = tmp_path / "HERON-2026-field-sheet.csv"
    file.write_text("filled in")
    there = run("fieldsheet", "HERON-2026", "--out", tmp_path, fails=4).output
    assert "move it away, or write over it with --replace" in " ".join(there.split())
    (tmp_path / "HERON-2026-field-sheet.xlsx").write_text("filled in")
    there = run("fieldsheet", "HERON-2026", "--out", tmp_path, fails=4).output
    assert "move them away, or write over them with --replace" in " ".join(there.split())
    assert file.read_text() == "filled in"
    assert not (tmp_path / "HERON-2026-field-sheet.pdf").exists()
    assert "there is no folder" in run("fieldsheet", "HERON-2026", "--out", tmp_path / "no", fails=3).output


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_the_sheet_written_is_filled_in_and_read_back_and_the_empty_one_stores_nothing(
    run: Run, database: str, tmp_path: Path, form: str
) -> None:
    prepared(database, targets=TARGETS)
    run("fieldsheet", "HERON-2026", "--out", tmp_path, "--form", form, "--form", "csv")
    file = tmp_path / f"HERON-2026-field-sheet.{form}"
    empty = json.loads(run("fish", "read", "HERON-2026", file, "--json").output)
    assert (empty["n_stored"], empty["n_unused"], empty["rows"]) == (0, 26, [])
    text = (tmp_path / "HERON-2026-field-sheet.csv").read_text(encoding="utf-8-sig")
    heading, *rows = list(csv.reader(io.StringIO(text)))
    rows[0][3:7] = ["16 1/2", "2 lb 5 oz", "fin clip", "kept"]
    rows[2][3] = "12.5"
    rows[20][3:5] = ["9.9", "0.5"]
    rows[-1][7] = "2"
    if form == "csv":
        out = io.StringIO()
        csv.writer(out).writerows([heading, *rows])
        file.write_text(out.getvalue(), encoding="utf-8")
    else:
        file.write_bytes(xlsx_bytes({"sheet": (heading, rows)}))
    run("fish", "read", "HERON-2026", file)
    assert fish_of(database) == [
        (1, 1, 16.5, "in", "preferred", (ONE,)),
        (2, 1, 12.5, "in", "quality", (THREE,)),
        (3, 1, 9.9, "in", "stock", ()),
        (4, 2, None, None, "trophy", ()),
    ]
    again = run("fish", "read", "HERON-2026", file).output
    assert "0 stored, 4 stored before" in again
    assert "Nothing changed." in again
    assert len(fish_of(database)) == 4


def test_units_in_heading_and_cell_tallies_and_struck_values(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    file = filled(
        tmp_path / "sheet.csv",
        f"7,{printed(ONE)},419,1050,,,",
        f"8,{TWO},16 1/2 in,2 lb 5 oz,,,hook scar",
        ",,250,,x4,,",
        f",{THREE},416 -> 386,~~900~~ 800,,,",
        f",{FOUR},412,,,,struck: wrong fish",
        ",,,,,,",
        ",,310,,,,",
        ",,310,,,,",
        heading="Fish,Vial,TL_mm,Weight [g],Tally,Size class,Remarks",
    )
    run("fish", "read", "HERON-2026", file)
    assert fish_of(database) == [
        (7, 1, 419.0, "mm", "preferred", (ONE,)),
        (8, 1, 16.5, "in", "preferred", (TWO,)),
        (9, 4, 250.0, "mm", "stock", ()),
        (10, 1, 386.0, "mm", "preferred", (THREE,)),
        (11, 1, 310.0, "mm", "quality", ()),
        (12, 1, 310.0, "mm", "quality", ()),
    ]
    run("fish", "read", "HERON-2026", file)
    assert len(fish_of(database)) == 6


def test_every_fault_is_named_with_row_and_column_and_nothing_is_stored(
    run: Run, database: str, tmp_path: Path
) -> None:
    prepared(database)
    file = filled(
        tmp_path / "sheet.csv",
        f",{ONE},16.5,2.3,,,",
        ",BG000002K,12.5,,,,",
        f",{TWO},long,,,,",
        f",{THREE},4000,,,,",
        f",{ONE},16.5,,,,",
        f",{FOUR},16.5,23,,,",
        ",,9,,many,,",
        ",,,,3,giant,",
        f",{TWO},,1.1,,,",
    )
    said = run("fish", "read", "HERON-2026", file, fails=5).output
    for words in (
        "row 5, column Vial: 'BG000002K' does not check",
        "row 6, column Length (in): 'long' is not a length",
        "row 7, column Length (in): a largemouth bass of 4000 in cannot be",
        f"row 8, column Vial: vial {ONE} is in row 4 too",
        "row 9: 23 lb at 16.5 in is a relative weight of",
        "row 10, column N: 'many' is not a whole number",
        "row 11: 'giant' is no size class",
        "row 12: there is no length",
        "8 things to mend",
    ):
        assert words in said
    assert fish_of(database) == []


def test_look_only_shows_and_stores_nothing(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    file = filled(tmp_path / "sheet.csv", f",{ONE},16.5,2.3,,,")
    said = run("fish", "read", "HERON-2026", file, "--look-only").output
    assert "fish 1: 16.5 in, 2.3 lb, preferred" in said
    assert "Nothing was stored" in said
    assert fish_of(database) == []


def test_a_changed_sheet_adds_its_new_rows_and_refuses_a_fish_that_says_something_else(
    run: Run, database: str, tmp_path: Path
) -> None:
    prepared(database)
    file = filled(tmp_path / "sheet.csv", f"1,{ONE},16.5,2.3,,,", "2,,12.5,,,,")
    run("fish", "read", "HERON-2026", file)
    filled(file, f"1,{ONE},16.5,2.3,,,", "2,,12.5,,,,", "3,,9.5,,,,")
    run("fish", "read", "HERON-2026", file)
    assert [row[2] for row in fish_of(database)] == [16.5, 12.5, 9.5]
    filled(file, f"1,{ONE},14.5,2.3,,,", "2,,13.5,,,,")
    said = run("fish", "read", "HERON-2026", file, "--yes", fails=5).output
    assert "row 4, column Vial: vial BG 000 001 J is already on fish 1" in said
    assert "row 5: fish 2 is stored with other values" in said
    assert [row[2] for row in fish_of(database)] == [16.5, 12.5, 9.5]


@pytest.mark.parametrize(
    ("content", "fails", "words"),
    [
        (None, 3, "no such file"),
        (b"", 5, "empty"),
        (b"%PDF-1.7 nonsense", 5, "PDF"),
        (b"a,b\n1,2\n", 5, "no heading with a length or a vial column"),
        (b"vial,length,TL\n", 5, "both mean length"),
    ],
)
def test_a_file_that_is_no_field_sheet(
    run_on_sqlite: Run, sqlite_database: str, tmp_path: Path, content: bytes | None, fails: int, words: str
) -> None:
    prepared(sqlite_database)
    file = tmp_path / "sheet.xlsx"
    if content is not None:
        file.write_bytes(content)
    assert words in run_on_sqlite("fish", "read", "HERON-2026", file, fails=fails).output


def test_a_log_and_a_sheet_of_the_same_swabbed_fish_store_it_once(
    run: Run, database: str, tmp_path: Path
) -> None:
    prepared(database)
    run("fish", "log", "HERON-2026", input=f"{ONE} 16.5 2.3\n")
    run("fish", "read", "HERON-2026", filled(tmp_path / "sheet.csv", f",{ONE},16.5,2.3,,,"))
    assert len(fish_of(database)) == 1


def test_a_file_without_a_column_of_lengths_is_no_field_sheet(
    run: Run, database: str, tmp_path: Path
) -> None:
    prepared(database)
    back = tmp_path / "return.csv"
    back.write_text(f"Sample ID,q,Notes\n{ONE},0.41,\n{TWO},0.97,\n")
    said = " ".join(run("fish", "read", "HERON-2026", back, fails=5).output.split())
    assert "row 1: there is no column of lengths in this file" in said
    assert "geneticlog return read" in said
    assert "unused" not in said
    boxes = filled(tmp_path / "boxes.csv", "stock,4", heading="Size class,N")
    run("fish", "read", "HERON-2026", boxes, fails=5)  # neither lengths nor vials
    boxes = filled(tmp_path / "boxes.csv", ",stock,4", heading="Vial,Size class,N")
    run("fish", "read", "HERON-2026", boxes)
    assert [row[:2] for row in fish_of(database)] == [(1, 4)]


def test_cells_struck_through_in_a_workbook_are_no_plain_values(
    run: Run, database: str, tmp_path: Path
) -> None:
    prepared(database)
    file = tmp_path / "sheet.xlsx"
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["Vial", "TL mm", "Weight g"], [ONE, 419, 1050], [TWO, 400, 900], [THREE, 250, None]):
        sheet.append(row)
    for place in ("B3", "B4"):
        sheet[place].font = Font(strike=True)
    book.save(file)
    refused = run("fish", "read", "HERON-2026", file, fails=5).stderr
    assert "row 3, column TL mm: 400 is struck through; write the old and the new value as" in refused
    assert "row 4" not in refused  # the whole of it is struck: a fish taken back
    assert fish_of(database) == []
    sheet["B3"].font = Font()
    book.save(file)
    said = run("fish", "read", "HERON-2026", file).stdout
    assert "left out" in said
    assert "struck through" in said
    assert [fish[2] for fish in fish_of(database)] == [419.0, 400.0]
