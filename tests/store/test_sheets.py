"""Every kind of file that a lab or a crew sends is read, or refused in one plain sentence."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.styles import Font

from geneticlog.errors import NotFound, SheetFault
from geneticlog.store.sheets import Cell, Sheet, read_bytes, read_sheets

PLAIN = "Vial,Florida\nBG4F7Q2KR,0.45\nBG000001J,0\n"


def texts(sheet: Sheet) -> list[list[str]]:
    return [[cell.text for cell in row] for row in sheet.rows]


def workbook(fill: object) -> bytes:
    book = openpyxl.Workbook()
    fill(book)  # type: ignore[operator]
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "form"),
    [
        pytest.param(PLAIN.encode(), "utf-8, columns separated by comma", id="utf-8"),
        pytest.param(
            PLAIN.encode("utf-8-sig"), "utf-8, columns separated by comma", id="utf-8 with its mark"
        ),
        pytest.param(PLAIN.encode("utf-16"), "utf-16, columns separated by comma", id="utf-16 with its mark"),
        pytest.param(PLAIN.encode("utf-16-le"), "utf-16-le, columns separated by comma", id="utf-16 without"),
        pytest.param(
            PLAIN.encode("utf-16-be"), "utf-16-be, columns separated by comma", id="utf-16 the other way"
        ),
        pytest.param(PLAIN.replace(",", "\t").encode(), "utf-8, columns separated by tab", id="tab"),
        pytest.param(
            PLAIN.replace(",", ";").encode(), "utf-8, columns separated by semicolon", id="semicolon"
        ),
        pytest.param(PLAIN.replace(",", "|").encode(), "utf-8, columns separated by bar", id="bar"),
        pytest.param(
            PLAIN.replace("\n", "\r\n").encode(), "utf-8, columns separated by comma", id="carriage return"
        ),
        pytest.param(
            PLAIN.replace("\n", "\r").encode(), "utf-8, columns separated by comma", id="old line ends"
        ),
    ],
)
def test_a_text_file_gives_the_same_rows_whatever_its_encoding_and_separator(
    content: bytes, form: str
) -> None:
    (sheet,) = read_sheets(content, "return.csv")
    assert texts(sheet) == [["Vial", "Florida"], ["BG4F7Q2KR", "0.45"], ["BG000001J", "0"]]
    assert sheet.form == f"text in {form}"
    assert sheet.rows[1][1] == Cell("0.45", "text")


def test_a_decimal_comma_does_not_pass_for_a_separator() -> None:
    (sheet,) = read_sheets(b"Vial;Florida;Northern\nBG4F7Q2KR;0,45;0,55\nBG000001J;0,1;0,9\n", "return.csv")
    assert texts(sheet)[1] == ["BG4F7Q2KR", "0,45", "0,55"]


def test_an_accent_of_a_western_code_page_is_read() -> None:
    content = "Vial,Florida,Note\nBG4F7Q2KR,0.45,reçu abîmé – à refaire\n".encode("cp1252")
    (sheet,) = read_sheets(content, "return.csv")
    assert texts(sheet)[1][2] == "reçu abîmé – à refaire"


@pytest.mark.parametrize("page", ["cp1252", "mac_roman"])
@pytest.mark.parametrize(
    "words",
    [
        "Échantillon;échec;à refaire;données",
        "Anteil;ungültig;größer als;Öl",
        "Muestra;año;proporción",
        "échec;échec;échec",
        "Pulga’s “vial” – ok;reçu",
    ],
)
def test_accents_of_windows_and_of_an_old_mac_are_told_apart(page: str, words: str) -> None:
    (sheet,) = read_sheets(f"Vial;Florida;a;b;c\nBG4F7Q2KR;0,45;{words}\n".encode(page), "return.csv")
    assert ";".join(texts(sheet)[1][2:]).startswith(words)


def test_the_spreadsheets_own_separator_line_is_obeyed_and_keeps_its_row() -> None:
    (sheet,) = read_sheets(b"sep=;\nVial;Florida\nBG4F7Q2KR;0,45\n", "return.csv")
    assert texts(sheet) == [[], ["Vial", "Florida"], ["BG4F7Q2KR", "0,45"]]


def test_rows_keep_the_numbers_a_person_sees_blank_and_quoted_lines_included() -> None:
    (sheet,) = read_sheets(
        b'Report\n\nVial,Note\nBG4F7Q2KR,"two\nlines, ""quoted"""\nBG000001J,5" vial\n', "r.csv"
    )
    assert texts(sheet)[3] == ["BG4F7Q2KR", 'two\nlines, "quoted"']
    assert texts(sheet)[4] == ["BG000001J", '5" vial']


def test_a_workbook_cell_keeps_its_kind() -> None:
    def fill(book: openpyxl.Workbook) -> None:
        sheet = book.active
        sheet.title = "Results"
        sheet.append(
            [
                "BG4F7Q2KR",
                123,
                0.45,
                datetime.fromisoformat("2025-03-04T05:06"),
                date(2025, 3, 4),
                True,
                "=A1",
                -0.0,
            ]
        )
        sheet["C1"].number_format = "0%"
        sheet["B3"] = "#N/A"
        sheet["B3"].data_type = "e"
        sheet.merge_cells("A5:C5")
        sheet["A5"] = "Notes"
        sheet.row_dimensions[3].hidden = True
        book.create_sheet("Old").append(["x"])
        book["Old"].sheet_state = "hidden"

    results, old = read_sheets(workbook(fill), "return.xlsx")
    assert results.rows[0] == [
        Cell("BG4F7Q2KR", "text"),
        Cell("123", "number"),
        Cell("45%", "number"),
        Cell("2025-03-04 05:06:00", "date"),
        Cell("2025-03-04", "date"),
        Cell("TRUE", "boolean"),
        Cell("=A1", "formula"),
        Cell("-0.0", "number"),
    ]
    assert results.rows[2][1] == Cell("#N/A", "error")
    assert results.hidden_rows == {3}
    assert results.merged == ((5, 1, 5, 3),)
    assert (results.name, results.hidden, old.name, old.hidden) == ("Results", False, "Old", True)


def test_an_open_document_sheet_is_read_with_its_hidden_rows_and_uncalculated_formulas() -> None:
    document = OpenDocumentSpreadsheet()
    table = Table(name="Results")
    for hidden, values in (
        (False, ["Vial", "Florida"]),
        (True, ["BG4F7Q2KR", None]),
        (False, ["BG000001J", 0.5]),
    ):
        row = TableRow(visibility="collapse") if hidden else TableRow()
        for value in values:
            if value is None:
                row.addElement(TableCell(formula="of:=[.A1]"))
                continue
            number = isinstance(value, float)
            cell = TableCell(valuetype="float", value=value) if number else TableCell(valuetype="string")
            cell.addElement(P(text=str(value)))
            row.addElement(cell)
        table.addElement(row)
    document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.write(out)
    (sheet,) = read_sheets(out.getvalue(), "return.ods")
    assert texts(sheet) == [["Vial", "Florida"], ["BG4F7Q2KR", "=A1"], ["BG000001J", "0.5"]]
    assert sheet.rows[1][1].kind == "formula"
    assert sheet.hidden_rows == {2}


def _package(**parts: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as package:
        for name, text in parts.items():
            package.writestr(name, text)
    return out.getvalue()


def far_cell(book: openpyxl.Workbook) -> None:
    book.active["A1"] = "Vial"
    book.active["XFD1048576"] = "x"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        pytest.param(b"", "the file is empty", id="empty"),
        pytest.param(b" \n\n", "the file is empty", id="blank"),
        pytest.param(b",,,\n,,,\n", "nothing is filled in", id="separators alone"),
        pytest.param(b"%PDF-1.7\n%...", "this is a PDF, whatever its name says", id="PDF"),
        pytest.param(
            b"<html><body><p>1</p></body></html>", "this is a web page or XML", id="web page named .xls"
        ),
        pytest.param(b"\x89PNG\r\n\x1a\n\x00\x00", "this is a picture", id="picture"),
        pytest.param(
            b"\x00\x01\x02\x03\x04\x05\x06\x07" * 40, "not a table of text or a workbook", id="binary"
        ),
        pytest.param(b"PK\x03\x04junk", "damaged", id="broken package"),
        pytest.param(workbook(lambda book: None)[:2000], "damaged", id="half a workbook"),
        pytest.param(workbook(lambda book: None), "nothing is filled in", id="empty workbook"),
        pytest.param(_package(word="<w/>"), "not a workbook", id="another package"),
        pytest.param(
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"0" * 2000, "not a workbook", id="broken old workbook"
        ),
        pytest.param(
            workbook(far_cell), "a cell far outside the table", id="one cell at the sheet's far corner"
        ),
        pytest.param(b'Vial,Note\nBG4F7Q2KR,"open\nBG000001J,x\n', "never closed", id="quotation left open"),
        pytest.param(b"\xff\xfeV\x00i\x00a", "break off", id="utf-16 cut short"),
    ],
)
def test_a_file_that_is_no_table_is_refused_in_one_sentence(content: bytes, words: str) -> None:
    with pytest.raises(SheetFault) as fault:
        read_sheets(content, "return.xlsx")
    assert words in str(fault.value)
    assert str(fault.value).startswith("return.xlsx")
    assert "\n" not in str(fault.value)


def test_a_missing_file_and_a_folder_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no such file"):
        read_bytes(tmp_path / "none.csv")
    with pytest.raises(SheetFault, match="is a folder"):
        read_bytes(tmp_path)


def test_cells_struck_through_are_seen_in_whole_and_in_part() -> None:
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    assert sheet is not None
    for row in (
        ["Vial", "Florida", "Note"],
        ["A", 0.5, "kept"],
        ["B", 0.25, "taken back"],
        ["C", 0.75, "in part"],
    ):
        sheet.append(row)
    sheet["B3"].font = Font(strike=True, bold=True)
    sheet["A2"].font = Font(strike=False)
    sheet["E9"].font = Font(strike=True)  # nothing stands in it
    sheet["C4"] = CellRichText("in ", TextBlock(InlineFont(strike=True), "part"))
    memory = io.BytesIO()
    workbook.save(memory)
    (read,) = read_sheets(memory.getvalue(), "struck.xlsx")
    assert read.struck == {(3, 2), (4, 3)}
    assert read.rows[2][1] == Cell("0.25", "number")
    sheet["B3"].font = Font()
    sheet["C4"] = "plain"
    memory = io.BytesIO()
    workbook.save(memory)
    (read,) = read_sheets(memory.getvalue(), "plain.xlsx")
    assert read.struck == frozenset()


def test_a_text_struck_in_part_is_seen_among_the_shared_texts() -> None:
    memory = io.BytesIO()
    book = xlsxwriter.Workbook(memory, {"in_memory": True})
    sheet = book.add_worksheet()
    sheet.write_string(0, 0, "plain")
    sheet.write_rich_string(1, 0, "0.5 ", book.add_format({"font_strikeout": True}), "0.4")
    book.close()
    (read,) = read_sheets(memory.getvalue(), "struck.xlsx")
    assert read.struck == {(2, 1)}
