"""The field sheet goes out empty and comes back filled."""

from __future__ import annotations

import csv
import hashlib
import io
import itertools
import json
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pypdfium2
import pytest
from click.testing import Result
from openpyxl.styles import Font
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import codes, fish_of, prepared
from tests_support import on_sqlite

from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Event, Fish
from geneticlog.store.writing import xlsx_bytes

Run = Callable[..., Result]
ONE, TWO, THREE, FOUR = codes(4)
TARGETS = {"stock": 2, "quality": 8, "preferred": 3}


def filled(
    file: Path, *rows: str, heading: str = "Fish,Vial,Length (in),Weight (lb),N,Size class,Remarks"
) -> Path:
    file.write_text("\r\n".join(["Heron Lake,12 May 2026", "", heading, *rows]) + "\r\n", encoding="utf-8")
    return file


@on_sqlite
def test_the_sheet_is_written_in_three_forms_and_shows_the_vials_in_order(
    run: Run, database: str, tmp_path: Path
) -> None:
    prepared(database, targets=TARGETS, n_vials=60)
    shown = json.loads(run("fieldsheet", "HERON-2026", "--out", tmp_path, "--json").output)
    assert [Path(file).suffix for file in shown["files"]] == [".pdf", ".csv", ".xlsx"]
    document = pypdfium2.PdfDocument(tmp_path / "HERON-2026-field-sheet.pdf")
    assert len(document) == 3
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    places = [text.index(printed(code)) for code in codes(60)]
    assert places == sorted(places)
    assert "Electrofishing can kill" in text
    assert "Ethanol is flammable" in text
    assert "12 to under 15 in" in text
    document.close()


def test_a_long_run_of_labels_leaves_room_for_fish_only_measured_in_rows_of_8_mm(
    run_on_sqlite: Run, sqlite_database: str, tmp_path: Path
) -> None:
    prepared(sqlite_database, targets=TARGETS, n_vials=120)
    run_on_sqlite("fieldsheet", "HERON-2026", "--out", tmp_path, "--form", "pdf", "--form", "csv")
    text = (tmp_path / "HERON-2026-field-sheet.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.reader(io.StringIO(text)))
    assert sum(not any(row) for row in rows) == 24
    document = pypdfium2.PdfDocument(tmp_path / "HERON-2026-field-sheet.pdf")
    page = document[1].get_textpage()
    text = page.get_text_range()
    tops = []
    for code in codes(120):
        at = text.find(printed(code))
        if at >= 0:
            tops.append(page.get_charbox(at)[1])
    assert len(tops) > 20
    steps = {round((high - low) / 72 * 25.4, 1) for high, low in itertools.pairwise(tops)}
    assert steps == {8.0}
    assert sum(one.get_textpage().get_text_range().count("K / R") for one in document) == 120 + 24
    document.close()


@on_sqlite
def test_a_sheet_that_may_be_filled_in_is_not_written_over(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    run("fieldsheet", "HERON-2026", "--out", tmp_path, "--form", "csv")
    file = tmp_path / "HERON-2026-field-sheet.csv"
    file.write_text("filled in")
    there = run("fieldsheet", "HERON-2026", "--out", tmp_path, fails=4).output
    assert "move it away, or overwrite it with --replace" in " ".join(there.split())
    (tmp_path / "HERON-2026-field-sheet.xlsx").write_text("filled in")
    there = run("fieldsheet", "HERON-2026", "--out", tmp_path, fails=4).output
    assert "move them away, or overwrite them with --replace" in " ".join(there.split())
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


@on_sqlite
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


@on_sqlite
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
        "row 11: 'giant' is not a size class",
        "row 12: there is no length",
        "8 things to correct",
    ):
        assert words in said
    assert fish_of(database) == []


@on_sqlite
def test_look_only_shows_and_stores_nothing(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    file = filled(tmp_path / "sheet.csv", f",{ONE},16.5,2.3,,,")
    said = run("fish", "read", "HERON-2026", file, "--look-only").output
    assert "fish 1: 16.5 in, 2.3 lb, preferred" in said
    assert "Nothing was stored" in said
    assert fish_of(database) == []


def test_an_edited_sheet_read_again_changes_the_fish_it_made_and_adds_none(
    run: Run, database: str, tmp_path: Path, session: Session
) -> None:
    prepared(database)
    file = filled(
        tmp_path / "sheet.csv", f"1,{ONE},16.5,2.3,,,", "2,,12.5,,,,", ",,12,,,,", ",,12,,,,", ",,9,,,,"
    )
    run("fish", "read", "HERON-2026", file)
    # a remark, 12 as 12.0, a row inserted above, a length changed, a vial's fish changed, one struck off
    filled(
        file,
        f"1,{ONE},14.5,2.3,,,",
        ",,20,,,,",
        "2,,13.5,,,,clear eye",
        ",,12.0,,,,scar",
        ",,12,,,,",
        ",,9.5,,,,",
    )
    said = run("fish", "read", "HERON-2026", file).output
    assert "4 changed, 1 stored, 1 stored before" in said
    assert [row[2] for row in fish_of(database)] == [14.5, 13.5, 12, 12, 9.5, 20]
    corrected = session.scalars(select(Event).where(Event.verb == "corrected")).all()
    assert [(event.subject, event.why) for event in corrected] == [
        ("HERON-2026#1", "read again from sheet.csv, row 4"),
        ("HERON-2026#2", "read again from sheet.csv, row 6"),
        ("HERON-2026#3", "read again from sheet.csv, row 7"),
        ("HERON-2026#5", "read again from sheet.csv, row 9"),
    ]
    again = run("fish", "read", "HERON-2026", file).output
    assert "0 stored, 6 stored before" in again
    moved = file.rename(tmp_path / "the same, renamed.csv")
    rows = moved.read_text(encoding="utf-8").splitlines()
    moved.write_text("\n".join([*rows[:3], *rows[6:], *rows[3:6]]), encoding="utf-8")  # and sorted otherwise
    assert "0 stored, 6 stored before" in run("fish", "read", "HERON-2026", moved).output
    assert len(fish_of(database)) == 6


def test_what_is_doubtful_in_an_edited_sheet_is_asked_about(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    file = filled(tmp_path / "sheet.csv", ",,12,,,,", ",,13,,,,", ",,14,,,,", ",,15,,,,")
    run("fish", "read", "HERON-2026", file)
    filled(file, ",,12,,,,", ",,13.5,,,,", ",,9,,,,", ",,14,,,,", ",,15,,,,")  # one changed, one new: which?
    said = run("fish", "read", "HERON-2026", file, fails=5).output
    assert "row 5, column Fish: this row and those around it changed since the sheet was read before" in said
    assert "is it fish 2, or another fish? Write its number, or new, in the column fish" in said
    assert len(fish_of(database)) == 4
    filled(file, ",,12,,,,", "2,,13.5,,,,", "new,,9,,,,", ",,14,,,,", ",,15,,,,")
    run("fish", "read", "HERON-2026", file)
    assert [row[2] for row in fish_of(database)] == [12, 13.5, 14, 15, 9]
    filled(file, ",,12,,,,", ",,14,,,,", ",,15,,,,")
    said = " ".join(run("fish", "read", "HERON-2026", file).output.split())
    assert "Fish 2 is no longer in the sheet (it was row 5) and stays in the log; take it out with" in said
    assert len(fish_of(database)) == 5


def test_a_sheet_never_undoes_a_later_correction(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    file = filled(tmp_path / "sheet.csv", f",{ONE},16.5,2.3,,,", ",,12.5,,,,", ",,9,,,,")
    run("fish", "read", "HERON-2026", file)
    run("correct", "fish", "HERON-2026", "2", "--length", "12.75", "--why", "slip of the pen")
    run("correct", "fish", "HERON-2026", "3", "--remove", "--why", "another lake's fish")
    said = run("fish", "read", "HERON-2026", file).output
    assert "its fish was taken out of the log since" in said
    assert [row[2] for row in fish_of(database)] == [16.5, 12.75]
    filled(file, f",{ONE},16.5,2.4,,,", ",,12.25,,,,", ",,9,,,,")
    said = run("fish", "read", "HERON-2026", file, fails=5).output
    assert (
        "row 5, column Length (in): fish 2 was corrected since (length 12.75 in, the sheet now says 12.25 in"
        in said
    )
    filled(file, f",{ONE},16.5,2.4,,,", ",,12.75,,,,", ",,9,,,,")
    assert "1 changed, 0 stored, 1 stored before" in run("fish", "read", "HERON-2026", file).output
    filled(file, f",{TWO},16.5,2.4,,,", ",,12.75,,,,", ",,9,,,,")
    assert (
        "fish 1 has vial BG 000 001 J, and the sheet now says"
        in run("fish", "read", "HERON-2026", file, fails=5).output
    )


@pytest.mark.parametrize(
    ("heading", "row", "grams"),
    [
        ("Vial,TL in,Weight lb,Weight oz", f"{ONE},16.5,2,5", 1048.932355625),
        ("Vial,TL in,oz,lb", f"{ONE},16.5,5,2", 1048.932355625),
        ("Vial,TL in,lbs,oz", f"{ONE},16.5,2,0", 907.18474),
        ("Vial,TL in,lbs,oz", f"{ONE},16.5,,30", 850.48569375),
        ('Vial,TL in,"lbs,oz"', f"{ONE},16.5,2-5", 1048.932355625),
        ('Vial,TL in,"Weight (lb, oz)"', f'{ONE},16.5,"2,5"', 1048.932355625),
        ("Vial,TL in,Weight lb", f"{ONE},16.5,2#5", 1048.932355625),
    ],
)
def test_pounds_and_ounces_are_added(
    run_on_sqlite: Run, sqlite_database: str, tmp_path: Path, heading: str, row: str, grams: float
) -> None:
    prepared(sqlite_database)
    run_on_sqlite("fish", "read", "HERON-2026", filled(tmp_path / "sheet.csv", row, heading=heading))
    shown = json.loads(run_on_sqlite("fish", "list", "HERON-2026", "--json").output)["fish"]
    assert [one["weight_g"] for one in shown] == [pytest.approx(grams, rel=1e-12)]


@on_sqlite
def test_every_column_date_and_blank_length_is_used_or_named(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    file = filled(
        tmp_path / "sheet.csv",
        f"2025-05-12,1,{ONE},16.5,2.3,11,calm",
        f"5/12/2026,7,{TWO},,,,",
        "someday,,,12.5,,,",
        heading="Date,Fish,Vial,Length (in),Weight (lb),Girth,Wind",
    )
    said = run("fish", "read", "HERON-2026", file, fails=5).output
    for words in (
        "row 4, column Date: 2025-05-12 is not the day of this survey (2026-05-12)",
        "row 6, column Date: someday is not understood as a date",
        "row 3, column Girth: nothing takes this column, and it holds numbers",
    ):
        assert words in said
    said = run("fish", "read", "HERON-2026", file, "--ignore", "Date", "--ignore", "girth", fails=5).output
    assert "row 5: there is no length, so the fish counts in no size class" in said
    run("fish", "read", "HERON-2026", file, "--ignore", "Date", "--ignore", "girth", "--yes")
    assert [row[2:6:3] for row in fish_of(database)] == [(16.5, (ONE,)), (None, (TWO,)), (12.5, ())]
    ticked = filled(tmp_path / "ticked.csv", f"{THREE},,quality", heading="Vial,Length,Size class")
    said = run("fish", "read", "HERON-2026", ticked, fails=5).output
    assert "there is no length, only the class quality" in said
    run("fish", "read", "HERON-2026", ticked, "--yes")
    assert fish_of(database)[-1][2:] == (None, None, "quality", (THREE,))
    slip = filled(tmp_path / "slip.csv", "1,12.5,310", heading="Fish,Length (in),Wieght (g)")
    said = run("fish", "read", "HERON-2026", slip, fails=5).output
    assert "give it a heading that is known (the nearest: weight)" in " ".join(said.split())


@on_sqlite
def test_every_tab_and_merged_range_is_used_or_named(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    file = tmp_path / "sheet.xlsx"
    book = openpyxl.Workbook()
    first, second = book.active, book.create_sheet("afternoon")
    assert first is not None
    first.title = "morning"
    for row in (["Vial", "TL mm", "Species"], [ONE, 419, "smb"], [TWO, 300, None], [None, 200, None]):
        first.append(row)
    first.merge_cells("C2:C4")
    for row in (["Vial", "TL mm"], [THREE, 250]):
        second.append(row)
    numbers = book.create_sheet("effort")
    numbers.append(["minutes", 42])
    book.create_sheet("notes").append(["a calm day"])
    book.save(file)
    said = run("fish", "read", "HERON-2026", file, fails=5).output
    assert "tab effort: it holds numbers but no heading with a length or a vial" in said
    asked = run("fish", "read", "HERON-2026", file, "--ignore", "effort", fails=5).output
    assert "a vial for a smallmouth bass on a survey of largemouth bass" in asked
    run("fish", "read", "HERON-2026", file, "--ignore", "effort", "--yes")
    shown = json.loads(run("fish", "list", "HERON-2026", "--json").output)["fish"]
    assert [(one["total_length_mm"], one["species"]) for one in shown] == [
        (419, "smallmouth_bass"), (300, "smallmouth_bass"), (200, "smallmouth_bass"), (250, "largemouth_bass"),
    ]  # fmt: skip
    first.merge_cells("B3:B4")
    book.save(file)
    said = run("fish", "read", "HERON-2026", file, "--ignore", "effort", fails=5).output
    assert "tab morning, row 3, column TL mm: rows 3 to 4 are one merged cell" in said


def test_a_sheet_that_an_older_program_read_is_known_by_its_text(
    run: Run, database: str, tmp_path: Path, session: Session
) -> None:
    prepared(database)
    file = filled(tmp_path / "sheet.csv", ",,12.5,,,,", ",,12.5,,,,", ",,9,,,,")
    run("fish", "read", "HERON-2026", file)
    for fish, text, count in zip(
        session.scalars(select(Fish)), ("12.5", "12.5", "9"), (1, 2, 1), strict=True
    ):
        fish.source = f"sheet:{hashlib.sha256(f'length={text}'.encode()).hexdigest()[:16]}:{count}"
    session.commit()
    assert "0 stored, 3 stored before" in run("fish", "read", "HERON-2026", file).output


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


@on_sqlite
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


@on_sqlite
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
