"""What a workbook says beside its values is read in every format that can say it."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable
from xml.etree import ElementTree

import openpyxl
import pytest
import xlwt
from odf.office import Annotation
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Map, Style, TableCellProperties, TableProperties, TextProperties
from odf.table import Table, TableCell, TableColumn, TableRow
from odf.text import P
from openpyxl.comments import Comment
from openpyxl.formatting.rule import CellIsRule, ColorScaleRule, FormulaRule
from openpyxl.styles import Font, PatternFill

from geneticlog.store.colour_rules import rules_of_ods
from geneticlog.store.sheets import Sheet, read_sheets


def xlsx() -> bytes:
    book = openpyxl.Workbook()
    page = book.active
    for row in (
        ["Vial", "q", "draft"],
        ["a", 0.1, 0.5],
        ["b", 0.2, 0.5],
        ["c", 0.21, 0.5],
        ["d", "=A1*0", 0.5],
    ):
        page.append(row)
    page["B2"].font = Font(strike=True)
    page["B3"].fill = PatternFill("solid", fgColor="FFC000")
    page["B3"].comment = Comment("wrong tube", "Ada")
    page["B4"].number_format = "0.0%"
    page.row_dimensions[4].hidden = True
    page.column_dimensions["C"].hidden = True
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def xls() -> bytes:
    book = xlwt.Workbook()
    page = book.add_sheet("Results")
    struck, filled = (
        xlwt.easyxf("font: struck_out on"),
        xlwt.easyxf("pattern: pattern solid, fore_colour orange"),
    )
    percent = xlwt.easyxf(num_format_str="0.0%")
    for r, (code, q, form) in enumerate(
        [("Vial", "q", None), ("a", 0.1, struck), ("b", 0.2, filled), ("c", 0.21, percent), ("d", None, None)]
    ):
        page.write(r, 0, code)
        value = xlwt.Formula("A1*0") if q is None else q
        page.write(r, 1, value, form or xlwt.easyxf())
        page.write(r, 2, "draft" if r == 0 else 0.5)
    page.row(3).hidden = True
    page.col(2).hidden = True
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def ods() -> bytes:
    document = OpenDocumentSpreadsheet()
    looks = {name: Style(name=name, family="table-cell") for name in ("struck", "filled")}
    looks["struck"].addElement(TextProperties(textlinethroughstyle="solid"))
    looks["filled"].addElement(TableCellProperties(backgroundcolor="#ffc000"))
    for look in looks.values():
        document.automaticstyles.addElement(look)
    table = Table(name="Results")
    table.addElement(TableColumn(numbercolumnsrepeated=2))
    table.addElement(TableColumn(visibility="collapse"))
    rows = [("Vial", "q", ""), ("a", 0.1, "struck"), ("b", 0.2, "filled"), ("c", 0.21, ""), ("d", None, "")]
    for r, (code, q, look) in enumerate(rows):
        line = TableRow(**({"visibility": "filter"} if r == 3 else {}))
        first = TableCell(valuetype="string")
        first.addElement(P(text=code))
        line.addElement(first)
        if isinstance(q, str):
            cell = TableCell(valuetype="string")
        elif q is None:
            cell = TableCell(valuetype="float", value=0, formula="of:=[.A1]*0")
        else:
            kind = {"valuetype": "percentage"} if r == 3 else {"valuetype": "float"}
            cell = TableCell(value=q, **kind, **({"stylename": looks[look]} if look else {}))
        if r == 2:
            note = Annotation()
            note.addElement(P(text="wrong tube"))
            cell.addElement(note)
        cell.addElement(P(text="0" if q is None else str(q)))
        line.addElement(cell)
        last = TableCell(valuetype="string")
        last.addElement(P(text="draft" if r == 0 else "0.5"))
        line.addElement(last)
        table.addElement(line)
    document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.write(out)
    return out.getvalue()


@pytest.mark.parametrize(("make", "comments"), [(xlsx, True), (xls, False), (ods, True)])
def test_marks_are_read_in_every_format(make: Callable[[], bytes], comments: bool) -> None:
    (sheet,) = read_sheets(make(), "return.xls")
    assert sheet.struck == {(2, 2)}
    assert {place for place in sheet.colours if place[0] > 1} == {(3, 2)}
    assert sheet.hidden_rows == {4}
    assert sheet.hidden_columns == {3}
    assert sheet.rows[3][1] == ("21%", "number")
    assert sheet.rows[4][1].kind == "formula", (
        "a column of formulas whose values are all 0 was never calculated"
    )
    assert sheet.comments == ({(3, 2): "wrong tube"} if comments else {})


PAGE = """<html><head><style>.x1 {text-decoration:line-through}</style></head><body>A laboratory
<table><tr><th rowspan=2>Vial</th><th colspan=2>Florida</th></tr><tr><td>q</td><td>n</td></tr>
<tr><td>a</td><td class="x1">0,10</td><td>3</td></tr>
<tr bgcolor="#FFC000"><td>b &amp; c</td><td><s>0.2</s></td><td>4</td></tr>
<tr style="display:none"><td>d</td><td>0.3</td><td>5</td></tr></table></body></html>"""


def test_a_table_of_a_web_page_named_xls_is_read_with_its_marks() -> None:
    (sheet,) = read_sheets(PAGE.encode(), "return.xls")

    def texts(one: Sheet) -> list[list[str]]:
        return [[cell.text for cell in row] for row in one.rows]

    assert texts(sheet) == [
        ["A laboratory"], ["Vial", "Florida"], ["", "q", "n"], ["a", "0,10", "3"], ["b & c", "0.2", "4"],
        ["d", "0.3", "5"],
    ]  # fmt: skip
    assert sheet.struck == {(4, 2), (5, 2)}
    assert {row for row, _ in sheet.colours} == {5}
    assert sheet.hidden_rows == {6}


def old_format(*records: tuple[int, bytes]) -> bytes:
    """A workbook of the old format with further records in its one sheet; xlwt writes neither notes nor conditions."""
    book = xlwt.Workbook()
    page = book.add_sheet("Results")
    for r, row in enumerate([("Vial", "q"), ("a", 0.1), ("b", 0.2)]):
        for c, value in enumerate(row):
            page.write(r, c, value)
    stream = book.get_biff_data()
    more = b"".join(struct.pack("<HH", number, len(data)) + data for number, data in records)
    end = stream.rindex(struct.pack("<HH", 0x0A, 0))  # EOF of the sheet
    out = io.BytesIO()
    xlwt.CompoundDoc.XlsDoc().save(out, stream[:end] + more + stream[end:])
    return out.getvalue()


def note(row: int, column: int, text: str) -> list[tuple[int, bytes]]:
    """The records of a comment ([MS-XLS] 2.4.181 Obj, 2.4.329 TxO, 2.4.179 Note)."""
    written = b"\0" + text.encode("latin-1")
    return [
        (0x5D, struct.pack("<HHHHH12xHH", 0x15, 18, 0x19, 1, 0, 0, 0)),
        (0x1B6, struct.pack("<HH6sHHI", 0, 0, b"", len(text), 0, 0)),
        (0x3C, written),
        (0x1C, struct.pack("<4H", row, column, 0, 1) + struct.pack("<HB", 3, 0) + b"Ada\0"),
    ]


def test_comments_and_colour_rules_are_read_in_the_old_format() -> None:
    ranges = struct.pack("<HH4HH4H", 1, 0, 1, 2, 1, 1, 1, 1, 2, 1, 1)
    (sheet,) = read_sheets(old_format(*note(2, 1, "wrong tube"), (0x01B0, ranges)), "return.xls")
    assert sheet.comments == {(3, 2): "wrong tube"}
    assert sheet.rules == ((2, 2, 3, 2, "a condition"),)
    assert [cell.text for cell in sheet.rows[2]] == ["b", "0.2"]


def test_a_rule_that_colours_cells_is_read_and_one_that_shows_sizes_or_stripes_is_not() -> None:
    book = openpyxl.Workbook()
    page = book.active
    for row in (["Vial", "q"], ["a", 0.1], ["b", 0.2]):
        page.append(row)
    red = PatternFill("solid", bgColor="FF0000")
    page.conditional_formatting.add("B2:B3", CellIsRule(operator="lessThan", formula=["0.15"], fill=red))
    page.conditional_formatting.add("A2:B3", FormulaRule(formula=["MOD(ROW(),2)=0"], fill=red))
    scale = ColorScaleRule(start_type="min", start_color="FFFFFF", end_type="max", end_color="FF0000")
    page.conditional_formatting.add("B2:B3", scale)
    out = io.BytesIO()
    book.save(out)
    (sheet,) = read_sheets(out.getvalue(), "return.xlsx")
    assert sheet.rules == ((2, 2, 3, 2, "< 0.15"),)
    name = "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"
    table = ElementTree.fromstring(
        f'<table xmlns:c="{name}"><c:conditional-formats><c:conditional-format'
        ' c:target-range-address="Results.B2:Results.B3"><c:condition c:apply-style-name="bad"'
        ' c:value="&lt;0.15"/></c:conditional-format></c:conditional-formats></table>'
    )
    assert rules_of_ods(table) == ((2, 2, 3, 2, "<0.15"),)


CALC = "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"
RULES = (
    f'<calcext:conditional-formats xmlns:calcext="{CALC}"><calcext:conditional-format'
    ' calcext:target-range-address="Results.B2:Results.B4"><calcext:condition calcext:apply-style-name="bad"'
    ' calcext:value="&lt;0.15"/></calcext:conditional-format><calcext:conditional-format'
    ' calcext:target-range-address="Results.B2:Results.B4"><calcext:color-scale/></calcext:conditional-format>'
    "</calcext:conditional-formats></table:table>"
)


def marked_ods() -> bytes:
    """An open document with a rule on a range, one in a style, looks given by row and column, and a hidden sheet."""
    document = OpenDocumentSpreadsheet()
    looks = {name: Style(name=name, family="table-cell") for name in ("ruled", "struck", "filled")}
    looks["ruled"].addElement(Map(condition="cell-content()=0.3", applystylename="bad"))
    looks["struck"].addElement(TextProperties(textlinethroughstyle="solid"))
    looks["filled"].addElement(TableCellProperties(backgroundcolor="#ffc000"))
    unseen = Style(name="unseen", family="table")
    unseen.addElement(TableProperties(display="false"))
    for look in (*looks.values(), unseen):
        document.automaticstyles.addElement(look)
    for name in ("Results", "Draft"):
        table = Table(name=name, **({"stylename": unseen} if name == "Draft" else {}))
        table.addElement(TableColumn())
        table.addElement(TableColumn(defaultcellstylename=looks["ruled"]))
        table.addElement(TableColumn(defaultcellstylename=looks["filled"]))
        for r, row in enumerate([("Vial", "q", "n"), ("a", 0.1, 3), ("b", 0.2, 4), ("c", 0.3, 5)]):
            line = TableRow(**({"defaultcellstylename": looks["struck"]} if r == 2 else {}))
            for value in row:
                text = isinstance(value, str)
                cell = TableCell(valuetype="string") if text else TableCell(valuetype="float", value=value)
                cell.addElement(P(text=str(value)))
                line.addElement(cell)
            table.addElement(line)
        document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.write(out)
    changed = io.BytesIO()
    with zipfile.ZipFile(out) as old, zipfile.ZipFile(changed, "w") as new:
        for part in old.infolist():
            content = old.read(part)
            if part.filename == "content.xml":  # as office suites add it; the writer has no element for it
                content = content.replace(b"</table:table>", RULES.encode(), 1)
            new.writestr(part, content)
    return changed.getvalue()


def test_a_whole_open_document_gives_up_its_rules_its_usual_styles_and_its_hidden_sheet() -> None:
    results, draft = read_sheets(marked_ods(), "return.ods")
    assert (results.hidden, draft.hidden) == (False, True)
    assert results.rules[0] == (2, 2, 4, 2, "<0.15")
    assert set(results.rules[1:]) == {
        (1, 2, 2, 2, "cell-content()=0.3"),
        (4, 2, 4, 2, "cell-content()=0.3"),
    }
    assert results.struck == {(3, 1), (3, 2), (3, 3)}
    assert {place for place in results.colours if place[0] > 1} == {(2, 3), (4, 3)}


def test_a_hidden_sheet_of_the_old_format_is_known_to_be_hidden() -> None:
    book = xlwt.Workbook()
    for name, visibility in (("Results", 0), ("Draft", 1), ("Older", 2)):
        page = book.add_sheet(name)
        page.visibility = visibility
        page.write(0, 0, "Vial")
    out = io.BytesIO()
    book.save(out)
    assert [sheet.hidden for sheet in read_sheets(out.getvalue(), "return.xls")] == [False, True, True]
