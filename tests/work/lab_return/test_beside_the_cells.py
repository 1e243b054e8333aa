"""What a workbook holds beside its cells: charts, names, messages, properties and formulas. Each is used, known to be
harmless or asked about, and an answer is kept to.
"""

from __future__ import annotations

import io
import re
import struct
from collections.abc import Callable
from typing import Any

import pytest
import xlsxwriter
import xlwt
from odf.chart import Chart, PlotArea, Title
from odf.dc import Subject
from odf.draw import Frame, Object
from odf.meta import Keyword, UserDefined
from odf.number import NumberStyle, Text
from odf.opendocument import OpenDocumentChart, OpenDocumentSpreadsheet
from odf.style import Style
from odf.table import (
    ContentValidation,
    ContentValidations,
    HelpMessage,
    NamedExpressions,
    NamedRange,
    Shapes,
    Table,
    TableCell,
    TableRow,
)
from odf.text import P
from return_support import codes
from xlwt.CompoundDoc import XlsDoc

from geneticlog.rules.lab_return.words.headings import answer_key
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.store.sheets import read_sheets
from geneticlog.work.lab_return.known_before.expected import Expected
from geneticlog.work.lab_return.understand import Understood, understand

ALLELES = [2, 5, 9, 16, 23, 31, 36, 44, 52, 61, 69, 75]  # Florida alleles of 76
N = len(ALLELES)
CODES = codes(N)
HEAD = ["Sample", "Florida", "Loci scored", "Florida alleles", "Northern"]
Q = [k / 76 for k in ALLELES]


def workbook(
    change: Callable[[Any, Any], object] = lambda *_: None,
    formula: Callable[[int], str] | None = None,
    value: Callable[[int], float] = lambda i: Q[i],
    more: tuple[str, ...] = (),
) -> bytes:
    """A workbook of twelve fish; ``formula`` makes that of the share in a row (2 …), empty for a typed value."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    page = book.add_worksheet("Results")
    page.write_row(0, 0, [*HEAD[:3], *more])
    for i, code in enumerate(CODES):
        page.write_string(i + 1, 0, code)
        written = formula(i + 2) if formula else ""
        if written:
            page.write_formula(i + 1, 1, written, None, value(i))
        else:
            page.write_number(i + 1, 1, value(i))
        page.write_number(i + 1, 2, 38)
        of = {"Northern": 1 - Q[i], "Florida alleles": ALLELES[i], "Extract": Q[i]}
        for column, heading in enumerate(more, start=3):
            page.write_number(i + 1, column, of[heading])
    change(book, page)
    book.close()
    return out.getvalue()


def read(content: bytes, **answers: Any) -> Understood:
    layout = Layout(**{key: frozenset(map(answer_key, texts)) if isinstance(texts, list) else texts
                       for key, texts in answers.items()})  # fmt: skip
    return understand(content, "return.xlsx", layout, Expected())


def asked(understood: Understood) -> str:
    return " | ".join(f"{question.text} {question.options}" for question in understood.reading.questions)


def chart(title: str = "", axis: str = "", series: str = "") -> Callable[[Any, Any], object]:
    def change(book: Any, page: Any) -> None:
        made = book.add_chart({"type": "column"})
        made.add_series({"values": "=Results!$B$2:$B$13", "name": series or "=Results!$B$1"})
        made.set_title({"name": title or "Florida"})
        if axis:
            made.set_y_axis({"name": axis})
        page.insert_chart("H2", made)

    return change


def page_of_a_chart(book: Any, _: Any) -> None:
    made = book.add_chart({"type": "column"})
    made.add_series({"values": "=Results!$B$2:$B$13"})
    made.set_title({"name": "Northern alleles by fish"})
    book.add_chartsheet("Figure").set_chart(made)


def message(text: str, cells: str = "B2:B13") -> Callable[[Any, Any], object]:
    rule = {"validate": "decimal", "criteria": ">=", "value": 0, "input_title": "Note", "input_message": text}
    return lambda _, page: page.data_validation(cells, rule)


def named(name: str, cells: str = "$B$2:$B$13") -> Callable[[Any, Any], object]:
    return lambda book, _: book.define_name(name, f"=Results!{cells}")


def properties(**texts: str) -> Callable[[Any, Any], object]:
    return lambda book, _: book.set_properties(texts)


OTHERWISE = {
    "the title of a chart": (chart("Northern share per fish"), "a chart.*northern"),
    "the title of an axis": (chart(axis="raw, uncorrected"), "a chart.*says 'raw'"),
    "the name of a series": (chart(series="northern"), "a chart.*northern"),
    "a sheet that is a chart": (page_of_a_chart, "a chart.*Northern"),
    "the draft in a chart": (chart("Draft: Florida share"), "a chart.*says 'draft'"),
    "an input message": (message("share of NORTHERN alleles"), "the input message of column B.*NORTHERN"),
    "a message of another unit": (message("share in percent, all values"), "input message.*percent"),
    "the name of a range": (named("share_northern"), "the name of column B says 'share_northern'"),
    "a name in capitals within": (named("RawFlorida"), "the name of column B.*'raw'"),
    "the title of the document": (properties(title="DRAFT - not for release"), "the document's title.*DRAFT"),
    "its status": (properties(status="preliminary"), "the document's status.*preliminary"),
    "its comments": (properties(comments="northern shares, see mail"), "the document's description"),
    "a property of the lab's own": (lambda b, _: b.set_custom_property("Basis", "northern alleles"), "Basis"),
}  # fmt: skip


@pytest.mark.parametrize("name", OTHERWISE)
def test_what_is_said_otherwise_outside_the_cells_is_asked_about_and_holds(name: str) -> None:
    change, pattern = OTHERWISE[name]
    content = workbook(change)
    first = read(content)
    assert len(first.reading.questions) == 1, asked(first)
    assert_matches(pattern, asked(first))
    (item,) = first.account.open
    assert all(not draft.held for draft in read(content, harmless=[item.text]).drafts)
    held = read(content, against=[item.text]).drafts
    assert len(held) == N
    assert all(draft.held for draft in held)


def assert_matches(pattern: str, text: str) -> None:
    assert re.search(pattern, text, re.DOTALL), text


HONEST = {
    "a chart of the column": chart("Florida ancestry per fish", "Proportion of Florida alleles"),
    "a chart of both": chart("Florida and northern ancestry", "Number of fish"),
    "a message to those who type": message("Enter a number between 0 and 1"),
    "a name of the column": named("Florida_share"),
    "a name of another range": named("northern_limit", "$K$1"),
    "properties": properties(title="Genotyping report", subject="Bass", keywords="SNP, swabs", author="Ada"),
    "a protected sheet": lambda _, page: page.protect(),
    "a filter over the table": lambda _, page: page.autofilter("A1:C13"),
}


@pytest.mark.parametrize("name", HONEST)
def test_what_says_the_same_as_the_table_is_no_question(name: str) -> None:
    understood = read(workbook(HONEST[name]))
    assert len(understood.drafts) == N, asked(understood)


def test_a_text_of_the_other_taxon_is_answered_with_it() -> None:
    content = workbook(named("share_northern"))
    assert "--taxon northern" in asked(read(content))
    turned = read(content, taxon_of_q="northern")
    assert "share_northern" not in asked(turned)


ROW_7, ROWS_6_AND_9 = (7,), (6, 9)
DOUBTFUL: dict[str, tuple[Callable[[int], str], tuple[str, ...], str, str]] = {
    "a lookup without a last argument": (
        lambda r: f"=VLOOKUP(A{r},Raw!$A:$B,2)", (), "looks its value up with VLOOKUP", "an approximate lookup"),
    "a lookup of the nearest": (
        lambda r: f"=INDEX(Raw!B:B,MATCH(A{r},Raw!A:A,1))", (), "with MATCH", "an approximate lookup"),
    "a lookup in rows": (lambda r: f"=HLOOKUP(A{r},Raw!A:AZ,2,TRUE)", (), "HLOOKUP", "an approximate lookup"),
    "another workbook": (lambda r: f"=[1]Run!B{r}", (), "another workbook", "another workbook"),
    "a mean where there is none": (
        lambda r: f"=IFERROR(VLOOKUP(A{r},Raw!A:B,2,0),AVERAGE(Raw!B:B))", (), r"IFERROR\(…, AVERAGE",
        "values put in place"),
    "a number where there is none": (lambda r: f"=IFERROR(VLOOKUP(A{r},Raw!A:B,2,0),0)", (), r"IFERROR\(…, 0\)",
                                     "values put in place"),
    "classes made of it": (lambda r: f"=IF(D{r}<20,0.25,0.75)", ("Florida alleles",), r"IF\(…, 0.25\)",
                           "values put in place"),
    "lots": (lambda r: "=RAND()", (), "random numbers", "random numbers"),
    "1 minus a column of the same": (lambda r: f"=1-D{r}", ("Extract",), "1 minus column Extract",
                                     "1 minus a share"),
    "1 minus what is elsewhere": (lambda r: f"=1-Raw!B{r}", (), "1 minus a value that is not of this table",
                                  "1 minus a share"),
    "the row below": (lambda r: f"=D{r + 1}/76", ("Florida alleles",), "another row than its own .1 below",
                      "another row"),
}  # fmt: skip


@pytest.mark.parametrize("name", DOUBTFUL)
def test_a_formula_that_does_more_than_calculate_is_asked_about(name: str) -> None:
    formula, more, pattern, key = DOUBTFUL[name]
    content = workbook(formula=formula, more=more)
    known = ["Extract", "Florida alleles"]
    first = read(content, harmless=known)
    assert len(first.reading.questions) == 1, asked(first)
    assert_matches(pattern, asked(first))
    assert_matches(f'--harmless "{key} in Florida" or --hold "{key} in Florida"', asked(first))
    answer = f"{key} in Florida"
    assert not any(draft.held for draft in read(content, harmless=[*known, answer]).drafts)
    held = read(content, harmless=known, against=[answer]).drafts
    assert len(held) == N
    assert all(draft.held for draft in held)


OTHER_ROWS: dict[str, tuple[Callable[[int], str], tuple[int, ...], str]] = {
    "typed over": (lambda r: "" if r in ROWS_6_AND_9 else f"=D{r}/76", ROWS_6_AND_9, "typed in rows 6, 9"),
    "a number behind an equals sign": (lambda r: "=0.5" if r == 7 else f"=D{r}/76", ROW_7, "typed in row 7"),
    "another row": (lambda r: f"=D{r - 1 if r == 7 else r}/76", ROW_7, "calculated otherwise in row 7"),
    "another column": (lambda r: f"={'C' if r == 7 else 'D'}{r}/76", ROW_7, "otherwise in row 7, as =C7/76"),
    "a cell that stays": (lambda r: "=$D$3/76" if r == 7 else f"=D{r}/76", ROW_7, "otherwise in row 7"),
    "a mean among typed values": (lambda r: "=AVERAGE(B2:B5)" if r == 7 else "", ROW_7, "calculated otherwise"),
}  # fmt: skip


@pytest.mark.parametrize("name", OTHER_ROWS)
def test_rows_that_are_calculated_otherwise_are_asked_about_and_only_they_are_held(name: str) -> None:
    formula, rows, pattern = OTHER_ROWS[name]
    content = workbook(formula=formula, more=("Florida alleles",))
    answers: dict[str, Any] = {
        "harmless": ["Florida alleles", "another row in Florida", "values put in place in Florida"]
    }
    assert_matches(pattern, asked(read(content, **answers)))
    held = read(content, **answers, against=["rows calculated otherwise in Florida"])
    assert {draft.row for draft in held.drafts if draft.held} == set(rows), asked(held)


PLAIN_FORMULAS: dict[str, tuple[Callable[[int], str], tuple[str, ...]]] = {
    "a division": (lambda r: f"=D{r}/(2*C{r})", ("Florida alleles",)),
    "an exact lookup": (lambda r: f'=IFERROR(VLOOKUP(A{r},Raw!$A:$B,2,FALSE),"no result")', ()),
    "an index of an exact match": (lambda r: f"=INDEX(Raw!B:B,MATCH(A{r},Raw!A:A,0))", ()),
    "the newer exact lookup": (lambda r: f"=_xlfn.XLOOKUP(A{r},Raw!A:A,Raw!B:B)", ()),
    "what the other taxon leaves": (lambda r: f"=1-D{r}", ("Northern",)),
    "nothing where there are no loci": (lambda r: f'=IF(C{r}=0,"",D{r}/2/C{r})', ("Florida alleles",)),
    "fractions typed": (lambda r: f"={ALLELES[r - 2]}/76", ()),
    "a constant cell": (lambda r: f"=D{r}/$K$1", ("Florida alleles",)),
}


@pytest.mark.parametrize("name", PLAIN_FORMULAS)
def test_a_column_that_is_plainly_calculated_is_no_question(name: str) -> None:
    formula, more = PLAIN_FORMULAS[name]
    understood = read(workbook(formula=formula, more=more), harmless=["Florida alleles"])
    assert len(understood.drafts) == N, asked(understood)
    assert not any(draft.held for draft in understood.drafts)


# --- the other formats: what they hold is read as from XLSX -----------------------------------------------------------
def open_document() -> bytes:
    document = OpenDocumentSpreadsheet()
    document.meta.addElement(Subject(text="draft of May"))
    document.meta.addElement(Keyword(text="bass"))
    document.meta.addElement(UserDefined(name="Basis", valuetype="string", text="northern alleles"))
    words, silent = NumberStyle(name="N1"), NumberStyle(name="N2")
    words.addElement(Text(text="FAIL"))
    silent.addElement(Text(text=""))
    for form in (words, silent):
        document.automaticstyles.addElement(form)
    for i in (1, 2):
        document.automaticstyles.addElement(Style(name=f"ce{i}", family="table-cell", datastylename=f"N{i}"))
    rules = ContentValidations()
    rule = ContentValidation(name="v1", basecelladdress="Results.B2")
    help_text = HelpMessage(title="Note", display="true")
    help_text.addElement(P(text="share of northern alleles"))
    rule.addElement(help_text)
    rules.addElement(rule)
    document.spreadsheet.addElement(rules)
    table = Table(name="Results", protected="true")
    made = OpenDocumentChart()
    inner, title = Chart(attributes={"class": "chart:bar"}), Title()
    title.addElement(P(text="Northern share"))
    inner.addElement(title)
    inner.addElement(PlotArea())
    made.chart.addElement(inner)
    shapes, frame = Shapes(), Frame()
    frame.addElement(Object(href=document.addObject(made)))
    shapes.addElement(frame)
    table.addElement(shapes)
    for r, (code, share) in enumerate([("Sample", "Florida"), *zip(CODES, Q, strict=True)]):
        line = TableRow()
        first = TableCell(valuetype="string")
        first.addElement(P(text=str(code)))
        line.addElement(first)
        if isinstance(share, str):
            cell = TableCell(valuetype="string")
            cell.addElement(P(text=share))
        else:
            look = {2: "ce1", 3: "ce2"}.get(r)
            more = {"stylename": look} if look else {}
            if r > 3:
                more["formula"] = f"of:=IFERROR(VLOOKUP([.A{r + 1}];[$Raw.$A$1:.$B$99];2;TRUE());0)"
            cell = TableCell(valuetype="float", value=share, **more)
            if r != 3:
                cell.addElement(P(text="FAIL" if r == 2 else f"{share:.2f}"))
        line.addElement(cell)
        table.addElement(line)
    document.spreadsheet.addElement(table)
    names = NamedExpressions()
    names.addElement(
        NamedRange(
            name="share_northern", cellrangeaddress="$Results.$B$2:.$B$13", basecelladdress="$Results.$A$1"
        )
    )
    document.spreadsheet.addElement(names)
    out = io.BytesIO()
    document.write(out)
    return out.getvalue()


def test_an_open_document_says_the_same_beside_its_cells() -> None:
    (sheet,) = read_sheets(open_document(), "return.ods")
    assert dict(sheet.properties) == {
        "the document's subject": "draft of May",
        "the document's key word": "bass",
        "the document's property": "Basis: northern alleles",
    }
    assert sheet.areas == (
        (1, 2, 1_048_576, 2, "the input message", "Note; share of northern alleles"),
        (2, 2, 13, 2, "the name", "share_northern"),
    )
    assert sheet.is_protected
    assert ("a chart, its title", "Northern share") in sheet.notes
    assert sheet.colours == {(3, 2): "a format that shows 'FAIL'", (4, 2): "a format that shows nothing"}
    ((top, left, bottom, _, seen, written),) = sheet.formulas
    assert (top, left, bottom) == (5, 2, 13)
    assert written == "IFERROR(VLOOKUP(A5,Raw!$A$1:$B$99,2,TRUE()),0)"
    assert seen == "IFERROR(VLOOKUP(R{0}C{-1},Raw!R1C1:R99C2,2,TRUE()),0)"


def old_format() -> bytes:
    book = xlwt.Workbook()
    book.add_sheet("Raw")
    page = book.add_sheet("Results")
    page.write(0, 0, "Sample")
    page.write(0, 1, "Florida")
    looks = {1: '"FAIL"', 2: ";;;", 3: '0.0,"k"', 4: "0.00%"}
    for i, code in enumerate(CODES, start=1):
        page.write(i, 0, code)
        page.write(i, 1, Q[i - 1], xlwt.easyxf(num_format_str=looks.get(i, "General")))
        page.write(i, 2, xlwt.Formula(f"VLOOKUP(A{i + 1};Raw!$A$1:$B$9;2;TRUE)"))
    stream = book.get_biff_data()
    texts = b"".join(
        struct.pack("<HB", len(text) or 1, 0) + (text or b"\0")
        for text in (b"Note", b"", b"northern alleles", b"")
    )
    more = [
        (0x01BE, struct.pack("<I", 0) + texts + bytes(8)),
        (0x100D, struct.pack("<HBB", 0, 9, 0) + b"raw share"),
    ]
    records = b"".join(struct.pack("<HH", number, len(data)) + data for number, data in more)
    end = stream.rindex(struct.pack("<HH", 0x0A, 0))  # EOF of the last sheet
    out = io.BytesIO()
    XlsDoc().save(out, stream[:end] + records + stream[end:])
    return out.getvalue()


def test_the_old_format_says_the_same_beside_its_cells() -> None:
    sheet = read_sheets(old_format(), "return.xls")[1]
    colours = {row: look for (row, _), look in sheet.colours.items()}
    assert colours == {
        2: "a format that shows 'FAIL'",
        3: "a format that shows nothing",
        4: "a format that shows 'a thousandth, k'",
    }
    assert sheet.rows[4][1].text.endswith("%")
    assert ("the input message of cells", "Note; northern alleles") in sheet.notes
    assert ("a chart", "raw share") in sheet.notes
    ((top, left, bottom, _, seen, written),) = sheet.formulas
    assert (top, left, bottom, written) == (2, 3, 13, "VLOOKUP(A2,Raw!$A$1:$B$9,2,TRUE)")
    assert seen == "VLOOKUP(R{0}C{-2},Raw!R1C1:R9C2,2,TRUE)"
