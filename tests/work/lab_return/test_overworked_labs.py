"""Lab files as overworked people leave them: notes in odd places, second tables, re-runs, cells with two meanings.

Each file is about the same twelve fish of an invented lake, typed at 38 loci, and stands beside what a careful person
would conclude who has only the file and the labels: the q of each fish, "held", "failed" or None where it is not to
count, or ASK where that person would telephone the lab first. A file may always be asked about; it may never be stored
otherwise than this.
"""

from __future__ import annotations

import io
import shutil
import zipfile
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Map, Style, TableProperties
from odf.table import Table, TableCell, TableColumn, TableRow
from odf.text import P
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill
from return_support import READ_AT, a_shipment, as_stored, csv_file, nearly
from sqlalchemy import select
from sqlalchemy.orm import Session
from workbook_by_hand import changed_workbook, number_or_text

from geneticlog.errors import GeneticlogError
from geneticlog.rules.lab_return.words.headings import plain as as_kept
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import open_engine
from geneticlog.store.tables import Fish
from geneticlog.work.lab_return.read_return import LabFile, read_return

ALLELES = [2, 5, 9, 16, 23, 31, 36, 44, 52, 61, 69, 75]  # Florida alleles of 76
MIXED = [2, 3, 7, 10, 13, 17, 20, 16, 12, 9, 5, 1]  # heterozygous loci of 38
N = len(ALLELES)
LENGTHS = [312, 455, 287, 391, 520, 338, 266, 414, 301, 470, 359, 433]  # mm, of the fish in their order
ASK = "ask the lab first"
HEAD = ["Sample", "Florida proportion", "Loci scored"]
Codes = list[str]
Rows = list[list[Any]]


def f(i: int, of: int = 76) -> str:
    return f"{ALLELES[i] / of:.4f}"


def p(i: int) -> str:
    return f"{100 * ALLELES[i] / 76:.2f}"


def truth(**changes: Any) -> dict[int, Any]:
    out: dict[int, Any] = {i: k / 76 for i, k in enumerate(ALLELES)}
    out.update({int(key[1:]): value for key, value in changes.items()})
    return out


def plain(codes: Codes) -> Rows:
    return [HEAD, *([code, f(i), 38] for i, code in enumerate(codes))]


def table(heading: list[str], row: Callable[[int], list[Any]]) -> Callable[[Codes], Rows]:
    return lambda codes: [heading, *([code, *row(i)] for i, code in enumerate(codes))]


def book(
    change: Callable[[Any, Codes], object], rows: Callable[[Codes], Rows] = plain
) -> Callable[[Codes], bytes]:
    """An XLSX workbook of the table, changed by hand; its sheet is ``page``."""

    return lambda codes: changed_workbook(rows(codes), lambda workbook: change(workbook, codes))


def xls(change: Callable[[Any, Any, Codes], object]) -> Callable[[Codes], bytes]:
    """A workbook of the old format."""

    def make(codes: Codes) -> bytes:
        workbook = xlwt.Workbook()
        page = workbook.add_sheet("Results")
        for r, row in enumerate(plain(codes)):
            for c, cell in enumerate(row):
                page.write(r, c, number_or_text(cell))
        change(workbook, page, codes)
        out = io.BytesIO()
        workbook.save(out)
        return out.getvalue()

    return make


def ods(*, hidden: bool = False, condition: str = "") -> Callable[[Codes], bytes]:
    """An open document; with a hidden sheet of other values, or with a style that marks cells on a condition."""

    def make(codes: Codes) -> bytes:
        document = OpenDocumentSpreadsheet()
        unseen = Style(name="unseen", family="table")
        unseen.addElement(TableProperties(display="false"))
        ruled = Style(name="ruled", family="table-cell")
        ruled.addElement(Map(condition=condition or "cell-content()>2", applystylename="bad"))
        document.automaticstyles.addElement(unseen)
        document.automaticstyles.addElement(ruled)
        for name in ("Results", "2025 values")[: 1 + hidden]:
            page = Table(name=name, **({"stylename": unseen} if name != "Results" else {}))
            page.addElement(TableColumn())
            page.addElement(TableColumn(**({"defaultcellstylename": ruled} if condition else {})))
            for row in plain(codes):
                line = TableRow()
                for written in row:
                    value = number_or_text(written) if name == "Results" or written in HEAD else "0.5"
                    is_text = isinstance(value, str)
                    cell = (
                        TableCell(valuetype="string")
                        if is_text
                        else TableCell(valuetype="float", value=value)
                    )
                    cell.addElement(P(text=str(value)))
                    line.addElement(cell)
                page.addElement(line)
            document.spreadsheet.addElement(page)
        out = io.BytesIO()
        document.write(out)
        return out.getvalue()

    return make


CASES: dict[str, tuple[Callable[[Codes], Rows | bytes], Any, Layout | None]] = {}


def case(
    name: str, make: Callable[[Codes], Rows | bytes], conclusion: Any, layout: Layout | None = None
) -> None:
    assert name not in CASES
    CASES[name] = (make, conclusion, layout)


# --- tables and their surroundings ----------------------------------------------------------------------------
def letterhead(workbook: Any, codes: Codes) -> None:
    page = workbook.active
    page.insert_rows(1, 5)
    page["A1"], page["A2"], page["A4"] = "An invented laboratory", "Report 26-118", "Results of genotyping"
    for place in ("A1:C1", "A2:C2", "A4:C4"):
        page.merge_cells(place)


case("a letterhead of merged cells", book(letterhead), truth())
case(
    "a second table of reference fish below",
    lambda c: [
        *plain(c),
        [],
        ["Reference material", "Florida proportion", "Loci scored"],
        ["FLB control", "0.9934", 38],
        ["NLB control", "0.0066", 38],
    ],
    truth(),
)
case(
    "means of the plates beside the table",
    lambda c: [
        [*row, "", *(["Plate", "Mean"] if i == 0 else [f"P{i}", "0.4"] if i < 3 else [])]
        for i, row in enumerate(plain(c))
    ],
    truth(),
)
case(
    "units below the heading, a percent and a fraction",
    lambda c: [
        ["Sample", "Florida", "H", "Loci"],
        ["", "%", "prop.", "n"],
        *([code, p(i), f"{MIXED[i] / 38:.4f}", 38] for i, code in enumerate(c)),
    ],
    truth(),
)
case(
    "decimal commas, dots for thousands",
    lambda c: csv_file(
        [
            ["Sample", "Reads", "% Florida", "Loci scored"],
            *([code, f"{1 + i}.{204 + i},5", p(i).replace(".", ","), 38] for i, code in enumerate(c)),
        ],
        ";",
    ),
    truth(),
)
case(
    "percents with three decimals after a dot in a file of commas",
    lambda c: csv_file(
        [
            ["Sample", "% Florida", "H", "Loci scored"],
            *(
                [code, f"{100 * ALLELES[i] / 76:.3f}", f"{MIXED[i] / 38:.4f}".replace(".", ","), 38]
                for i, code in enumerate(c)
            ),
        ],
        ";",
    ),
    truth(),
)
case(
    "a mean and its deviation in the middle",
    lambda c: [*plain(c)[:7], ["Mean", "0.1886", ""], ["SD", "0.1421", ""], *plain(c)[7:]],
    truth(),
)
case(
    "a mean under the code of the first vial",
    lambda c: [*plain(c), [f"{c[0]}-{c[11]}", "0.4638", 38]],
    truth(),
)
case(
    "page feet between the rows",
    lambda c: [*plain(c)[:5], ["Page 1 of 2"], HEAD, *plain(c)[5:], ["Page 2 of 2"]],
    truth(),
)
case(
    "a pivot sheet beside the results",
    book(
        lambda w, c: [
            page.append(row)
            for page in [w.create_sheet("Pivot")]
            for row in (
                ["Row Labels", "Average of Florida proportion", "Count of Sample"],
                ["Heron", 0.4638, 12],
                ["Grand Total", 0.4638, 12],
            )
        ]
    ),
    truth(),
)
case(
    "row numbers without a heading",
    lambda c: csv_file([["" if i == 0 else i, *row] for i, row in enumerate(plain(c))]),
    truth(),
)
case(
    "a line behind a number sign turns the share round",
    lambda c: [
        ["# q = proportion of northern alleles"],
        *table(["Sample", "q", "Loci scored"], lambda i: [f(i), 38])(c),
    ],
    {i: 1 - k / 76 for i, k in enumerate(ALLELES)},
)

# --- values with something behind them ------------------------------------------------------------------------
case(
    "n.d. and n.a.",
    table(HEAD, lambda i: ["n.d.", ""] if i == 4 else ["n.a.", ""] if i == 7 else [f(i), 38]),
    truth(_4="failed", _7="failed"),
)
case(
    "dates in place of two counts",
    table(
        ["Sample", "Florida alleles", "Loci scored"],
        lambda i: ["2-Mar" if i == 3 else "Mar-76" if i == 5 else f"{ALLELES[i]}/76", 38],
    ),
    truth(_3="held", _5="held"),
)
case(
    "dates in place of two percents",
    book(
        lambda w, c: [w.active.__setitem__(place, date(2026, 5, 3)) for place in ("B3", "B6")],
        table(["Sample", "% Florida", "Loci scored"], lambda i: [p(i), 38]),
    ),
    truth(_1="held", _4="held"),
)
case(
    "footnote letters behind values",
    lambda c: [
        *table(HEAD, lambda i: [f(i) + "a" * (i == 2), 38])(c),
        [],
        ["a low DNA, interpret with caution"],
    ],
    truth(_2="held"),
)
case(
    "a raised 1 behind a value",
    lambda c: [
        *table(HEAD, lambda i: [f(i) + "¹" * (i == 2), 38])(c),
        [],
        ["¹ repeated twice, values differ"],
    ],
    truth(_2="held"),
)
case(
    "a value written over in the same cell",
    book(
        lambda w, c: w.active.__setitem__(
            "B5", CellRichText(TextBlock(InlineFont(strike=True), "0.9"), TextBlock(InlineFont(), "0.2105"))
        )
    ),
    truth(_3="held"),
)
case(
    "a range in place of a value",
    table(HEAD, lambda i: ["0.20-0.25" if i == 3 else f(i), 38]),
    truth(_3="held"),
)
case(
    "about so much",
    table(HEAD, lambda i: ["~0.21" if i == 3 else "ca. 0.30" if i == 4 else f(i), 38]),
    truth(_3="held", _4="held"),
)
case(
    "two vials pooled",
    lambda c: [*plain(c)[:4], [f"{c[3]} / {c[4]}", "0.2566", 38], *plain(c)[6:]],
    truth(_3=None, _4=None),
)
case(
    "minus nine for no result", table(HEAD, lambda i: ["-9", ""] if i == 6 else [f(i), 38]), truth(_6="held")
)
case(
    "999 for no result",
    table(["Sample", "% Florida", "Loci scored"], lambda i: ["999", ""] if i == 6 else [p(i), 38]),
    truth(_6="held"),
)
case(
    "zero for no call, as a line says",
    lambda c: [*table(HEAD, lambda i: ["0", 38] if i == 6 else [f(i), 38])(c), ["0 = no call"]],
    ASK,
)
case(
    "a dash for zero, as a line says",
    lambda c: [*table(HEAD, lambda i: ["-", 38] if i == 0 else [f(i), 38])(c), ["- means none detected (0)"]],
    ASK,
)
case(
    "a sign of the percent in the format alone",
    book(
        lambda w, c: [setattr(w.active[f"B{r}"], "number_format", '0.00"%"') for r in range(2, 14)],
        table(["Sample", "Florida", "Loci scored"], lambda i: [p(i), 38]),
    ),
    truth(),
)
case(
    "percent formats in half of the rows",
    book(
        lambda w, c: [setattr(w.active[f"B{r}"], "number_format", "0.00%") for r in range(2, 8)],
        table(["Sample", "Florida", "Loci scored"], lambda i: [f(i), 38]),
    ),
    truth(),
)
case("commas of another alphabet", table(HEAD, lambda i: [f(i).replace(".", "，"), 38]), truth())
case("spaces that do not break", table(HEAD, lambda i: [f"\u00a0{f(i)}\u00a0", 38]), truth())
case(
    "both shares in one cell",
    table(["Sample", "Florida:northern", "Loci scored"], lambda i: [f"{ALLELES[i]}:{76 - ALLELES[i]}", 38]),
    truth(),
)

# --- which value, which vial ------------------------------------------------------------------------------------
case(
    "two methods",
    table(
        ["Sample", "Florida q (likelihood)", "Florida q (counted)", "Loci scored"],
        lambda i: [f"{min(1, ALLELES[i] / 76 + 0.02):.4f}", f(i), 38],
    ),
    ASK,
)
case(
    "replicates and their mean under one heading",
    lambda c: [
        ["Sample", "Florida", "", "", "Loci scored"],
        ["", "rep 1", "rep 2", "mean", ""],
        *(
            [code, f"{ALLELES[i] / 76 - 0.01:.4f}", f"{ALLELES[i] / 76 + 0.01:.4f}", f(i), 38]
            for i, code in enumerate(c)
        ),
    ],
    ASK,
)
case(
    "a re-run, use this one",
    lambda c: (
        [[*row, "Note" if i == 0 else ""] for i, row in enumerate(plain(c))]
        + [[c[2], "0.3158", 38, "rerun - use this one"]]
    ),
    truth(_2="held"),
)
case(
    "a column of re-runs, mostly empty",
    table(
        ["Sample", "Florida", "Florida re-run", "Loci scored"],
        lambda i: [f(i), "0.9000" if i == 2 else "", 38],
    ),
    ASK,
)
case(
    "replicates as suffixes of the code",
    lambda c: [
        HEAD,
        *(
            [f"{code}-{k}", f"{(ALLELES[i] + 4 * k * (i == 2)) / 76:.4f}", 38]
            for i, code in enumerate(c)
            for k in (1, 2)
        ),
    ],
    truth(_2="held"),
)
case(
    "one code merged over two rows of values",
    book(
        lambda w, c: [w.active.merge_cells(f"A{r}:A{r + 1}") for r in range(2, 26, 2)],
        lambda c: [
            HEAD,
            *(
                [code if k == 0 else None, f"{(ALLELES[i] + 6 * k) / 76:.4f}", 38]
                for i, code in enumerate(c)
                for k in (0, 1)
            ),
        ],
    ),
    dict.fromkeys(range(N), "held"),
)
case(
    "two columns of codes that differ",
    lambda c: [
        ["Sample", "Tube label", "Florida proportion", "Loci scored"],
        *([code, c[i ^ 1] if i > 7 else code, f(i), 38] for i, code in enumerate(c)),
    ],
    ASK,
)
case(
    "codes in scientific notation",
    lambda c: [HEAD, *([code if i != 3 else "4.00E+05", f(i), 38] for i, code in enumerate(c))],
    truth(_3=None),
)
case(
    "codes without their zeros",
    lambda c: [HEAD, *([code[:2] + code[2:].lstrip("0"), f(i), 38] for i, code in enumerate(c))],
    ASK,
)
case(
    "codes without their last character",
    lambda c: [HEAD, *([code[:-1], f(i), 38] for i, code in enumerate(c))],
    ASK,
)
case(
    "controls among the samples",
    lambda c: [*plain(c)[:3], ["NTC", "n.d.", ""], ["POS FLB", "0.9934", 38], *plain(c)[3:]],
    truth(),
)
case(
    "q for the other taxon, said in the title",
    lambda c: [
        ["Proportion of northern largemouth alleles, per cent"],
        [],
        *table(["Sample", "%", "Loci scored"], lambda i: [p(i), 38])(c),
    ],
    ASK,
)
case(
    "clusters with a key",
    lambda c: [
        *table(["Sample", "K1", "K2", "Loci scored"], lambda i: [f(i), f"{1 - ALLELES[i] / 76:.4f}", 38])(c),
        [],
        ["K1 = northern, K2 = Florida"],
    ],
    ASK,
)
case(
    "a row of another panel",
    table(HEAD, lambda i: ["0.5410", 61] if i == 3 else [f(i), 38]),
    truth(_3="held"),
)

# --- what lines say -------------------------------------------------------------------------------------------
for words in (
    "All values of plate 2 must be multiplied by 2",
    "Reported q is corrected for background: true q = q - 0.05",
    "Samples 5-8: tubes leaked in transit",
    "Values are preliminary until re-genotyped",
    "see revised file of 3 June",
    "Rows 4 and 5 mixed up?",
    "Based on 19 loci only, not 38",
    "q of the last four samples: plate failed, imputed",
):
    case(f"a line: {words}", lambda c, words=words: [*plain(c), [], [words]], ASK)

# --- marks ------------------------------------------------------------------------------------------------------
YELLOW, WHITE = PatternFill("solid", fgColor="FFFF00"), Font(color="FFFFFF")


def legend_at_the_side(workbook: Any, codes: Codes) -> None:
    page = workbook.active
    page["B4"].fill = page["F2"].fill = YELLOW
    page["G2"] = "repeat failed"


def filtered(workbook: Any, codes: Codes) -> None:
    page = workbook.active
    page.auto_filter.ref = "A1:C13"
    page.auto_filter.add_filter_column(2, ["38"])
    for row in (4, 7):
        page.row_dimensions[row].hidden = True


case("a colour whose legend is at the side", book(legend_at_the_side), ASK)
case(
    "a colour in a column that is not used",
    book(
        lambda w, c: setattr(w.active["A5"], "fill", YELLOW),
        lambda c: [["Lab no.", *HEAD], *([i + 1, code, f(i), 38] for i, code in enumerate(c))],
    ),
    ASK,
)
case(
    "struck through in a column that is not used",
    book(
        lambda w, c: setattr(w.active["A5"], "font", Font(strike=True)),
        lambda c: [["Lab no.", *HEAD], *([i + 1, code, f(i), 38] for i, code in enumerate(c))],
    ),
    truth(_3="held"),
)
case("a value in white on white", book(lambda w, c: setattr(w.active["B5"], "font", WHITE)), ASK)
case("a value that its format hides", book(lambda w, c: setattr(w.active["B5"], "number_format", ";;;")), ASK)
case("rows put away by a filter", book(filtered), ASK)
case(
    "a comment on the heading",
    book(lambda w, c: setattr(w.active["B1"], "comment", Comment("multiply by 0.97", "K. Lund"))),
    ASK,
)
case(
    "a comment on a code",
    book(lambda w, c: setattr(w.active["A5"], "comment", Comment("tube was empty on arrival", "K. Lund"))),
    truth(_3="held"),
)
case(
    "the page's foot says draft",
    book(lambda w, c: setattr(w.active.oddFooter.center, "text", "DRAFT - do not use")),
    ASK,
)
case(
    "a hidden sheet in .xls",
    xls(
        lambda w, page, c: [
            setattr(sheet, "visibility", 1)
            or [
                sheet.write(r, k, number_or_text(cell))
                for r, row in enumerate(plain(c))
                for k, cell in enumerate(row)
            ]
            for sheet in [w.add_sheet("2025 values")]
        ]
    ),
    ASK,
)
case("a hidden column in .xls", xls(lambda w, page, c: setattr(page.col(1), "hidden", True)), ASK)
case("a hidden sheet in .ods", ods(hidden=True), ASK)
case("a condition that marks cells in .ods", ods(condition="cell-content()<0.1"), ASK)
case("an open document without marks", ods(), truth())

DRAWING = b"""<xdr:wsDr xmlns:xdr="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing"
 xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"><xdr:twoCellAnchor><xdr:from><xdr:col>4</xdr:col>
<xdr:colOff>0</xdr:colOff><xdr:row>2</xdr:row><xdr:rowOff>0</xdr:rowOff></xdr:from><xdr:to><xdr:col>7</xdr:col>
<xdr:colOff>0</xdr:colOff><xdr:row>6</xdr:row><xdr:rowOff>0</xdr:rowOff></xdr:to><xdr:sp>
<xdr:txBody><a:bodyPr/><a:p><a:r>
<a:t>Plate 2 was contaminated, ignore rows 8 to 13</a:t></a:r></a:p></xdr:txBody></xdr:sp>
<xdr:clientData/></xdr:twoCellAnchor>
</xdr:wsDr>"""
LINKS = b"""<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1"
 Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/drawing" Target="/xl/drawings/drawing1.xml"/>
</Relationships>"""
NAMESPACE = b' xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheetPr>'


def text_box(codes: Codes) -> bytes:
    """The plain workbook with a box of text beside the table."""
    whole, out = book(lambda *_: None)(codes), io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as old, zipfile.ZipFile(out, "w") as new:
        for part in old.namelist():
            content = old.read(part)
            if part == "xl/worksheets/sheet1.xml":
                content = content.replace(b"><sheetPr>", NAMESPACE, 1).replace(
                    b"</worksheet>", b'<drawing r:id="rId1"/></worksheet>'
                )
            new.writestr(part, content)
        new.writestr("xl/drawings/drawing1.xml", DRAWING)
        new.writestr("xl/worksheets/_rels/sheet1.xml.rels", LINKS)
    return out.getvalue()


case("a box of text beside the table", text_box, ASK)


# --- a second set, written after the first was read right ---------------------------------------------------------
def two_sheets(
    second: str, rows: Callable[[Codes], Rows], first: Callable[[Codes], Rows]
) -> Callable[[Codes], bytes]:
    return book(
        lambda w, c: [
            page.append([number_or_text(cell) for cell in row])
            for page in [w.create_sheet(second)]
            for row in rows(c)
        ],
        first,
    )


def remark_over_rows(text: str, column: str, top: int, bottom: int) -> Callable[[Any, Codes], None]:
    """A cell merged over several samples, in a column of its own."""

    def change(workbook: Any, codes: Codes) -> None:
        page = workbook.active
        page[f"{column}{top}"] = text
        page.merge_cells(f"{column}{top}:{column}{bottom}")

    return change


def plate(codes: Codes) -> Rows:
    """Codes and shares on two grids that lie on their side: letters across, numbers down."""
    return [
        ["Samples", "A", "B", "C"],
        *([k + 1, *codes[3 * k : 3 * k + 3]] for k in range(4)),
        [],
        ["Florida", "A", "B", "C"],
        *([k + 1, *(f(3 * k + m) for m in range(3))] for k in range(4)),
    ]


half, other_half = (lambda c: plain(c)[:7]), (lambda c: [HEAD, *plain(c)[7:]])
case("two grids on their side", plate, truth())
case("a sheet of old values of other vials", two_sheets("OLD do not use", other_half, half), ASK)
case("a sheet of failures with values", two_sheets("Failed QC", other_half, half), ASK)
case(
    "a copy of the sheet, one value changed",
    two_sheets("Results (2)", lambda c: [*plain(c)[:3], [c[2], 0.5, 38], *plain(c)[4:]], plain),
    truth(_2="held"),
)
case(
    "a typing error in the second plate's heading",
    two_sheets("Plate 2", lambda c: [["Sample", "Florida propotion", "Loci scored"], *plain(c)[7:]], half),
    truth(),
)
case(
    "a footnote mark on the heading",
    lambda c: [
        ["Sample", "Florida proportion*", "Loci scored"],
        *plain(c)[1:],
        [],
        ["* raw, not corrected for miscalls"],
    ],
    ASK,
)
case(
    "a figure on the heading",
    lambda c: [
        ["Sample", "Florida proportion1", "Loci scored"],
        *plain(c)[1:],
        [],
        ["1 northern alleles over all"],
    ],
    ASK,
)
case(
    "a remark merged over three rows",
    book(
        remark_over_rows("re-extracted, doubtful", "D", 5, 7),
        lambda c: [[*row, "Remarks" if i == 0 else ""] for i, row in enumerate(plain(c))],
    ),
    truth(_3="held", _4="held", _5="held"),
)
case(
    "a plate that failed, merged over its rows",
    book(
        remark_over_rows("Plate 2 FAILED", "D", 8, 13),
        lambda c: [[*row, "Plate" if i == 0 else ""] for i, row in enumerate(plain(c))],
    ),
    truth(**{f"_{i}": "held" for i in range(6, 12)}),
)
case(
    "a hidden column of status",
    book(
        lambda w, c: setattr(w.active.column_dimensions["D"], "hidden", True),
        lambda c: [
            [*row, "Status" if i == 0 else "fail" if i == 3 else "ok"] for i, row in enumerate(plain(c))
        ],
    ),
    truth(_2="held"),
)
case(
    "a remark on a line of its own below its row",
    lambda c: [*plain(c)[:5], ["", "^ low DNA, repeated"], *plain(c)[5:]],
    ASK,
)
case("one row shifted by a cell", lambda c: [*plain(c)[:4], [c[3], "", f(3), 38], *plain(c)[5:]], ASK)
case(
    "the sign of repetition",
    table([*HEAD, "Note"], lambda i: ['"' if i == 4 else f(i), 38, "fail" if i == 3 else ""]),
    truth(_3="held", _4="held"),
)
case(
    "a remark of two lines in a cell",
    lambda c: csv_file(
        [
            [*row, "Note" if i == 0 else "ok\nbut contaminated?" if i == 3 else ""]
            for i, row in enumerate(plain(c))
        ]
    ),
    truth(_2="held"),
)
case(
    "a quality score called Q",
    table(["Sample", "Q", "Florida proportion", "Loci scored"], lambda i: [30 + i, f(i), 38]),
    truth(),
)
case(
    "counts under a share's name",
    table(["Sample", "Florida (n=76)", "Loci scored"], lambda i: [ALLELES[i], 38]),
    truth(),
)
case(
    "letters for the taxa",
    table(["Sample", "FLMB", "NLMB", "Loci scored"], lambda i: [f(i), f"{1 - ALLELES[i] / 76:.4f}", 38]),
    truth(),
)
case(
    "German, one of them spoilt",
    table(
        ["Probe", "Anteil Florida", "Loci", "Bemerkung"],
        lambda i: [f(i).replace(".", ","), 38, "verunreinigt" if i == 3 else ""],
    ),
    truth(_3="held"),
)
case(
    "French, one to be done again",
    table(
        ["Échantillon", "Proportion Florida", "Loci", "Remarque"],
        lambda i: [f(i), 38, "à refaire" if i == 3 else ""],
    ),
    truth(_3="held"),
)
case(
    "Spanish, one without a result",
    table(
        ["Muestra", "Proporción Florida", "Loci"],
        lambda i: ["sin resultado" if i == 3 else f(i), "" if i == 3 else 38],
    ),
    truth(_3="failed"),
)
case(
    "less than one percent",
    table(["Sample", "% Florida", "Loci scored"], lambda i: ["<3%" if i == 0 else p(i), 38]),
    truth(_0="held"),
)
case(
    "below zero",
    table(["Sample", "% Florida", "Loci scored"], lambda i: ["-1.3" if i == 0 else p(i), 38]),
    truth(_0="held"),
)
case(
    "the lake before the code",
    lambda c: [HEAD, *([f"HERON-{code}", f(i), 38] for i, code in enumerate(c))],
    truth(),
)
case(
    "another unit from the middle on",
    lambda c: [
        *plain(c)[:7],
        ["Sample", "% Florida", "Loci scored"],
        *([c[i], p(i), 38] for i in range(6, 12)),
    ],
    truth(),
)
case(
    "a share shown as a time of day",
    book(lambda w, c: [setattr(w.active[f"B{r}"], "number_format", "h:mm") for r in (4, 5)]),
    truth(_2="held", _3="held"),
)
case(
    "both shares as a sentence",
    table(
        ["Sample", "Result", "Loci scored"],
        lambda i: [f"{f(i)} Florida, {1 - ALLELES[i] / 76:.4f} northern", 38],
    ),
    ASK,
)
case(
    "loci missing beside loci called",
    table(
        ["Sample", "Missing loci", "Loci", "Florida proportion"],
        lambda i: [2 if i == 0 else 0, 36 if i == 0 else 38, f(i, 72) if i == 0 else f(i)],
    ),
    truth(_0=2 / 72),
)
case("a draft in the name of the sheet", book(lambda w, c: setattr(w.active, "title", "DRAFT")), ASK)
case(
    "a sheet named for the other taxon",
    book(
        lambda w, c: setattr(w.active, "title", "Northern q"),
        table(["Sample", "q", "Loci scored"], lambda i: [f(i), 38]),
    ),
    ASK,
)
case(
    "a note in small print beside a row",
    lambda c: [[*row, *(["", "wrong fish?"] if i == 4 else [])] for i, row in enumerate(plain(c))],
    truth(_3="held"),
)
case("means in a row that is filled like a sample", lambda c: [*plain(c), ["Heron", "0.4638", 38]], truth())
case(
    "the box number merged over its rows",
    book(
        remark_over_rows("Box 1", "D", 2, 13),
        lambda c: [[*row, "Box" if i == 0 else ""] for i, row in enumerate(plain(c))],
    ),
    truth(),
)
case(
    "a value corrected in the next cell",
    table([*HEAD, ""], lambda i: [f(i), 38, "0.9000" if i == 3 else ""]),
    ASK,
)
case(
    "codes of two kinds in one column",
    lambda c: [HEAD, *([code if i % 2 else f"L-{100 + i}", f(i), 38] for i, code in enumerate(c))],
    truth(**{f"_{i}": None for i in range(0, 12, 2)}),
)
case("swapped in the title of the plate", lambda c: [["Plate 1 (A1 and A2 swapped)"], *plain(c)], ASK)


case(
    "a code inside the lab's own name, exchanged in two rows",
    lambda c: [
        ["Lab ID", "Customer ID", "Sample", "Florida proportion", "Loci scored"],
        *(
            [f"QL{i:02d}", code, f"QL26-{i:03d}/{c[i ^ 1] if i in (4, 5) else code}", f(i), 38]
            for i, code in enumerate(c)
        ),
    ],
    truth(_4="held", _5="held"),
)

case(
    "a block beside the table that corrects one vial",
    lambda c: [
        [*row, "", *more]
        for row, more in zip(
            plain(c),
            [["Summary", "Mean"], ["Lake mean", "0.46"], [f"{c[6]} corrected", "0.91"], *[["", ""]] * 10],
            strict=True,
        )
    ],
    truth(_6="held"),
    Layout(harmless=frozenset({"summary", "mean"})),
)
case(
    "a column that slipped down by a row",
    lambda c: [
        HEAD,
        *([code, "" if i == 4 else f(i - (i > 4)), 38] for i, code in enumerate(c)),
        ["", f(11), 38],
    ],
    truth(_4="failed", **{f"_{i}": "held" for i in range(5, 12)}),
)

case(
    "codes that slipped down by a row",
    lambda c: [HEAD, ["", f(0), 38], *([c[i - 1], f(i), 38] for i in range(1, 12)), [c[11], "", ""]],
    truth(_11="failed", **{f"_{i}": "held" for i in range(11)}),
)


def beside(*more: str) -> Callable[[Codes], Rows]:
    """Results in the order of their shares, and to the right of them the vials in ours."""
    ids = [f"QL-{i:02d}" for i in (5, 2, 9, 0, 11, 7, 1, 10, 3, 8, 4, 6)]
    return lambda c: [
        ["Lab ID", "Florida", "Loci", *more],
        *(
            [ids[i], f(i), 38, *[""] * (len(more) - 2), *([f"QL-{i:02d}"] if more[-2] else []), code][
                : 3 + len(more)
            ]
            if more[-2]
            else [ids[i], f(i), 38, *[""] * (len(more) - 1), code]
            for i, code in enumerate(c)
        ),
    ]


case("a key on the right of the same sheet", beside("", "", "Lab ID", "Vial"), ASK)
case("a key right beside the results", beside("Lab number", "Vial"), ASK)
case("a list of the vials behind an empty column", beside("", "Samples submitted"), ASK)
case(
    "an empty column between, which parts nothing",
    lambda c: [[one, "", *more] for one, *more in plain(c)],
    truth(),
)
case(
    "a letter that takes two positions back, and ends with a name",
    lambda c: [
        ["Hi,"], ["results below."], [], *plain(c), [],
        ["PS: we think tubes in positions 5 and 6 were switched on the bench"], ["Cheers"], ["Jo"],
    ],
    truth(**{f"_{i}": "held" for i in range(12)}),
    Layout(
        harmless=frozenset({"results below"}),
        against=frozenset({"ps we think tubes in positions 5 and 6 were switched on the bench"}),
    ),
)  # fmt: skip
case(
    "shares that are quarters, of 38 loci",
    table(HEAD, lambda i: [[0, 0.25, 0.5, 0.75, 1][i % 5], 38]),
    ASK,
)
case(
    "probabilities of classes",
    table(
        ["Sample", "Florida", "F1", "F2", "Northern"],
        lambda i: ["0.970", "0.010", "0.010", "0.010"] if i % 3 else ["0.010", "0.900", "0.060", "0.030"],
    ),
    ASK,
    Layout(harmless=frozenset({"f1", "f2"})),
)
case(
    "a footnote that turns the shares round",
    lambda c: [
        ["Sample", "FLMB score", "Loci scored"],
        *([code, f"{1 - ALLELES[i] / 76:.4f}", 38] for i, code in enumerate(c)),
        ["Score runs from 0 (pure Florida) to 1 (pure northern)."],
    ],
    ASK,
)
case(
    "a footnote that turns the shares round, answered",
    lambda c: [
        ["Sample", "FLMB score", "Loci scored"],
        *([code, f"{1 - ALLELES[i] / 76:.4f}", 38] for i, code in enumerate(c)),
        ["Score runs from 0 (pure Florida) to 1 (pure northern)."],
    ],
    truth(),
    Layout(taxon_of_q="northern"),
)
case(
    "a row that is a replicate of another vial",
    lambda c: (
        [[*row, more] for row, more in zip(plain(c), ["Replicate of", *[""] * 9, c[2], ""], strict=False)]
        + plain(c)[12:]
    ),
    truth(_9="held", _2="held"),
    Layout(columns={"vial": "Sample"}),
)
for name, share in (("Florida reference", "0.0030"), ("northern control", "0.9980")):
    case(
        f"a {name} that has the share of the other taxon",
        lambda c, name=name, share=share: [*plain(c), [name, share, 38]],
        ASK,
    )
case(
    "reference fish that are as they are named",
    lambda c: [*plain(c), ["Florida reference", "0.9980", 38], ["northern reference", "0.0010", 38]],
    truth(),
)
for heading, usual, far in (
    ("Missing loci", "1", "30"), ("No calls", "0", "31"), ("Failed loci", "1", "35"), ("% missing", "2.6", "88.6"),
    ("SE", "0.03", "0.48"), ("Shipment", "SH-1", "SH-0"), ("Year", "2026", "2024"),
):  # fmt: skip
    case(
        f"a row whose {heading} is not that of the others",
        table(
            [*HEAD, heading],
            lambda i, usual=usual, far=far: [f(i), 38, far if i in (3, 8) else usual],
        ),
        truth(_3="held", _8="held"),
    )
case(
    "a line about some of the samples, which a person holds",
    lambda c: [*plain(c), [f"Only {c[3]} passed QC on the second plate."]],
    truth(**{f"_{i}": "held" for i in range(12)}),
    Layout(against=frozenset({"only bg000004d passed qc on the second plate"})),
)
case(
    "all but one to be run again",
    lambda c: [*plain(c), [f"All samples except {c[3]} must be rerun."]],
    truth(**{f"_{i}": "held" for i in range(12) if i != 3}),
    Layout(against=frozenset({"all samples except bg000004d must be rerun"})),
)
case(
    "two samples exchanged, by the lab's own numbers",
    lambda c: [
        ["Lab ID", "Sample ID", "Florida", "Loci"],
        *([f"QB-{50 + i:03d}", c[i], f(i), 38] for i in range(12)),
        ["QB-053 and QB-054 were exchanged on the plate; see report R-9."],
    ],
    truth(_3="held", _4="held"),
    Layout(against=frozenset({"qb 053 and qb 054 were exchanged on the plate see report r 9"})),
)
for classes, conclusion in (
    (["n FF", "n FN", "n NN"], truth()),
    (["Loci FF", "Loci NF", "Loci NN"], truth()),
    (["AA", "AB", "BB"], ASK),
    (["Homozygous Florida loci", "Heterozygous loci", "Homozygous northern loci"], truth()),
    (["Hom FL", "Het FL/NL", "Hom NL"], truth()),
    (["Hom 1", "het", "Hom 2"], ASK),
):
    case(
        f"loci of three genotypes, {classes[1]}",
        lambda c, classes=classes: [
            ["Sample ID", *classes],
            *(
                [c[i], (ALLELES[i] - MIXED[i]) // 2, MIXED[i], 38 - (ALLELES[i] + MIXED[i]) // 2]
                for i in range(12)
            ),
        ],
        conclusion,
    )
for last, conclusion in (("Loci scored", ASK), ("Remarks", truth())):
    case(
        f"every row one cell shorter than the heading, which ends with {last}",
        lambda c, last=last: (
            ",".join(["Sample ID", "Florida", last]).encode()
            + b"\n"
            + b"\n".join(f"{c[i]},{f(i)}".encode() for i in range(12))
        ),
        conclusion,
    )
case(
    "loci of three genotypes, which one sample has not all of",
    lambda c: [
        ["Sample ID", "FF", "FN", "NN"],
        *(
            [c[i], (ALLELES[i] - MIXED[i]) // 2, MIXED[i], 38 - (ALLELES[i] + MIXED[i]) // 2]
            if i not in (4, 5)
            else [c[i], 5, *(("-", 20) if i == 4 else (36, -3))]
            for i in range(12)
        ),
    ],
    truth(_4="held", _5="held"),
)
case(
    "a range of the lab's own numbers",
    lambda c: [
        ["Lab ID", "Sample ID", "Florida", "Loci"],
        *([f"QB-{50 + i:03d}", c[i], f(i), 38] for i in range(12)),
        ["QB-053 to QB-055 evaporated."],
    ],
    truth(_3="held", _4="held", _5="held"),
    Layout(against=frozenset({"qb 053 to qb 055 evaporated"})),
)
case(
    "a lab's own number that is in no row",
    lambda c: [
        ["Lab ID", "Sample ID", "Florida", "Loci"],
        *([f"QB-{50 + i:03d}", c[i], f(i), 38] for i in range(12)),
        ["QB-053 and QB-099 were exchanged."],
    ],
    truth(**{f"_{i}": "held" for i in range(12)}),
    Layout(against=frozenset({"qb 053 and qb 099 were exchanged"})),
)
for span in ("to", "through", "\u2013"):
    case(
        f"a range of vials, with {span}",
        lambda c, span=span: [*plain(c), [f"{c[3]} {span} {c[6]} were amplified twice and look odd."]],
        truth(_3="held", _4="held", _5="held", _6="held"),
        Layout(against=frozenset({f"bg000004d {span} bg0000077 were amplified twice and look odd"})),
    )
case(
    "a number that stands for no result",
    table(HEAD, lambda i: [p(i) if i != 4 else "99", 38]),
    truth(_4="failed"),
    Layout(missing=frozenset({"99"}), units={"q": "percent"}),
)
case(
    "vials behind an empty column, which a person says to be of their rows",
    lambda c: [[*more, "", one] for one, *more in plain(c)],
    truth(),
    Layout(harmless=frozenset({"vials and shares in one row"})),
)
case(
    "ids of the lab's behind an empty column",
    lambda c: [
        ["Vial", "", "Lab number", "Florida", "Loci"],
        *([code, "", f"QL-{i:02d}", f(i), 38] for i, code in enumerate(c)),
    ],
    ASK,
)
for both in ("{}/{}", "{} / {}", "{}:{}"):
    case(
        f"both percents in one cell, as {both}",
        table(
            ["Sample", "Florida"],
            lambda i, both=both: [
                both.format(round(100 * ALLELES[i] / 76), 100 - round(100 * ALLELES[i] / 76))
            ],
        ),
        ASK,
    )
case(
    "both percents in one cell, of northern fish",
    table(["Sample", "Florida"], lambda i: [f"{i}/{100 - i}"]),
    ASK,
)
case(
    "a count larger than what it is counted out of",
    table(["Sample", "Florida alleles"], lambda i: [f"{ALLELES[i]}/{76 if i != 7 else 40}"]),
    truth(_7="held"),
)

case(
    "a second table whose heading is as long as a code",
    lambda c: [
        ["Sample ID", "Florida", "Loci"],
        *([code, f(i), 38] for i, code in enumerate(c[:6])),
        [],
        ["Sample ID", "Northern", "Loci"],
        *([c[i], f"{1 - ALLELES[i] / 76:.4f}", 38] for i in range(6, 12)),
    ],
    ASK,
)

case(
    "the other taxon as a word between the halves",
    lambda c: [
        *plain(c)[:7],
        ["", "Northern", ""],
        *([c[i], f"{1 - ALLELES[i] / 76:.4f}", 38] for i in range(6, 12)),
    ],
    ASK,
)
case(
    "the heading again at a page break",
    lambda c: [["Sample ID", *HEAD[1:]], *plain(c)[1:7], ["Sample ID", *HEAD[1:]], *plain(c)[7:]],
    truth(),
)
case(
    "both taxa exchanged below",
    lambda c: [
        ["Sample ID", "Florida", "Northern", "Loci"],
        *([c[i], f(i), f"{1 - ALLELES[i] / 76:.4f}", 38] for i in range(6)),
        [],
        ["Sample ID", "Northern", "Florida", "Loci"],
        *([c[i], f"{1 - ALLELES[i] / 76:.4f}", f(i), 38] for i in range(6, 12)),
    ],
    truth(),
)
case(
    "two columns of codes, one named by a person",
    lambda c: [
        ["Customer ID", "Tube label", "Florida proportion", "Loci scored"],
        *([code, c[i ^ 1] if i > 9 else code, f(i), 38] for i, code in enumerate(c)),
    ],
    truth(_10="held", _11="held"),
    Layout(columns={"vial": "Customer ID"}, answered=frozenset({"vial"})),
)

case(
    "decimal points lost, said to be percents",
    table(["Sample", "Florida", "Loci scored"], lambda i: [f"{round(1000 * ALLELES[i] / 76)}", 38]),
    ASK,
    Layout(units={"q": "percent"}),
)

case(
    "fractions, said to be counts",
    table(["Sample", "Florida", "Loci scored"], lambda i: [f"{ALLELES[i] / 76:.4f}", 38]),
    ASK,
    Layout(units={"q": "count"}),
)

case(
    "two halves side by side, by their letters",
    lambda c: [
        ["Sample ID", "Florida", "Loci", "", "Sample ID", "Florida", "Loci"],
        *([c[i], f(i), 38, "", c[i + 6], f(i + 6), 38] for i in range(6)),
    ],
    truth(),
    Layout(columns={"vial": "A", "q": "B"}, answered=frozenset({"vial", "q"})),
)
case(
    "a sheet of old values, the other one meant",
    two_sheets("OLD do not use", lambda c: [HEAD, *([code, "0.5000", 38] for code in c)], plain),
    truth(),
    Layout(sheets=("Sheet",), harmless=frozenset({as_kept("sheet OLD do not use")})),
)


# --- a column beside the shares contradicts two of them -----------------------------------------------------------
def beside(heading: str, cell: Callable[[int], Any]) -> Callable[[Codes], Rows]:
    return table([*HEAD, heading], lambda i: [f(i), 38, cell(i)])


case("one upper limit, below two shares", beside("CI upper", lambda i: "0.0100" if i in (6, 9) else "0.9990"),
     truth(_6="held", _9="held"))  # fmt: skip
case("an interval of everything", beside("95% CI", lambda i: "0-1" if i == 5 else f"{max(0, float(f(i)) - 0.05):.2f}-1"
     if i > 9 else f"{max(0, float(f(i)) - 0.05):.2f}-{float(f(i)) + 0.05:.2f}"), truth(_5="held"))  # fmt: skip
case("one extract at two vials", beside("Extract ID", lambda i: f"EX-{103 if i == 7 else 100 + i}"),
     truth(_3="held", _7="held"))  # fmt: skip
case("numbers of two fish exchanged", beside("Fish", lambda i: {4: 9, 8: 5}.get(i, i + 1)),
     truth(_4="held", _8="held"))  # fmt: skip
case("another tissue in two rows", beside("Tissue", lambda i: "fin clip" if i in (4, 8) else "swab"),
     truth(_4="held", _8="held"))  # fmt: skip
case("lengths in inches", beside("TL in", lambda i: f"{LENGTHS[i] / 25.4:.1f}"), truth())
case("lengths of the row above", beside("TL mm", lambda i: LENGTHS[i - 1]), ASK)
case("weights of fish that nobody weighed", beside("Weight g", lambda i: 210 + 7 * i % 40), truth())
case(
    "a note parted at its comma",
    lambda c: csv_file([*plain(c), ["Rows A and B: low DNA", "treat with caution"]]),
    ASK,
)
case(
    "means made by hand, two of them wrong",
    table(
        ["Sample", "Florida run 1", "Florida run 2", "Florida mean"],
        lambda i: [
            f"{ALLELES[i] / 76 - 0.01:.4f}", f"{ALLELES[i] / 76 + 0.01:.4f}",
            f"{1 - ALLELES[i] / 76:.4f}" if i in (2, 8) else f(i),
        ],
    ),
    truth(_2="held", _8="held"),
    Layout(columns={"q": "Florida mean"}, answered=frozenset({"q"}),
           harmless=frozenset({"florida run 1", "florida run 2"})),
)  # fmt: skip
case(
    "first crosses with shares near 0 and 1",
    beside("Class", lambda i: "F1" if i in (0, 11) else "Fx"),
    truth(_0="held", _11="held"),
)
case(
    "one share copied down",
    lambda c: [HEAD, [c[11], f(11), 38], *([c[i], f(min(i, 5)), 38] for i in range(11))],
    truth(**{f"_{i}": "held" for i in range(5, 11)}),
)

case(
    "the first half pasted again",
    table(HEAD, lambda i: [f(i % 6), 38]),
    truth(**{f"_{i}": "held" for i in range(N)}),
)
case(
    "the whole column counted up",
    table(HEAD[:2], lambda i: [f"{0.3 + 0.01 * i:.2f}"]),
    ASK,
)
case(
    "shares turned round from the seventh fish on, beside genotypes",
    table(
        ["Sample", "Florida", *(f"L{k}" for k in range(38))],
        lambda i: [
            f"{1 - ALLELES[i] / 76:.4f}" if i > 5 else f(i),
            *(str((ALLELES[i] > k) + (ALLELES[i] > k + 38)) for k in range(38)),
        ],
    ),
    ASK,
)

case("a mean of other fish below the table", lambda c: [*plain(c), ["Mean", "0.1886", ""]], ASK)
case("another species in the letterhead", lambda c: [["Species", "Lepomis macrochirus"], [], *plain(c)], ASK)
case("fewer loci in the letterhead", lambda c: [["Loci", "12"], [], *plain(c)], ASK)
case("heterozygosity that is q again", table([*HEAD, "H"], lambda i: [f(i), 38, f(i)]), ASK)
case(
    "percents below one allele, as a person says",
    table(HEAD[:2], lambda i: [f(i)]),
    ASK,
    Layout(units={"q": "percent"}),
)

# what a person can read, and is asked about all the same: one answer each
ASKED = {
    "a second table of reference fish below",
    "means of the plates beside the table",
    "a line behind a number sign turns the share round",
    "footnote letters behind values",
    "a raised 1 behind a value",
    "percent formats in half of the rows",
    "both shares in one cell",
    "replicates as suffixes of the code",
    "two grids on their side",
    "a typing error in the second plate's heading",
    "a hidden column of status",
    "a quality score called Q",
    "counts under a share's name",
}


def answered(name: str, conclusion: Any = None, **answers: Any) -> None:
    """The file of that name again, with what a person answers."""
    make, before, _ = CASES[name]
    case(f"{name}, answered", make, before if conclusion is None else conclusion, Layout(**answers))


answered("means of the plates beside the table", harmless=frozenset({"mean", "plate"}))
answered(
    "a line behind a number sign turns the share round",
    taxon_of_q="northern",
    harmless=frozenset({as_kept("# q = proportion of northern alleles")}),
)
answered("footnote letters behind values", harmless=frozenset({"a low dna interpret with caution"}))
answered("percent formats in half of the rows", units={"q": "fraction"})
answered("a hidden column of status", columns={"failure": "Status"})
answered(
    "a quality score called Q",
    columns={"q": "Florida proportion"},
    answered=frozenset({"q"}),
    harmless=frozenset({"q"}),
)
answered("counts under a share's name", columns={"q": "Florida (n=76)"}, units={"q": "count"})
answered(
    "German, one of them spoilt",
    columns={"q": "Anteil Florida", "failure": "Bemerkung"},
    against=frozenset({"verunreinigt"}),
)
answered("French, one to be done again", columns={"failure": "Remarque"}, against=frozenset({"à refaire"}))
answered(
    "Spanish, one without a result",
    columns={"q": "Proporción Florida"},
    missing=frozenset({"sin resultado"}),
)
answered("a draft in the name of the sheet", truth(), harmless=frozenset({"sheet draft"}))
answered("a sheet of failures with values", truth(), harmless=frozenset({"sheet failed qc"}))
answered(
    "a box of text beside the table",
    truth(),
    harmless=frozenset({"plate 2 was contaminated ignore rows 8 to 13"}),
)
answered("a value in white on white", truth(_3="held"), against=frozenset({"colour white text"}))


@pytest.fixture(scope="module")
def shipped(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Session, Codes]]:
    file = tmp_path_factory.mktemp("overworked") / "shipped.sqlite"
    shutil.copy(sqlite_template, file)
    engine = open_engine(f"sqlite:///{file}")
    with Session(engine) as session:
        codes = a_shipment(session, N, panel_loci=38)
        for fish, length in zip(session.scalars(select(Fish).order_by(Fish.number)), LENGTHS, strict=True):
            fish.length = fish.length_mm = length
        session.commit()
    with engine.connect() as connection, Session(connection) as session:
        yield session, codes
    engine.dispose()


@pytest.mark.parametrize("name", CASES)
def test_a_file_is_never_stored_otherwise_than_a_careful_person_would(
    name: str, shipped: tuple[Session, Codes]
) -> None:
    session, codes = shipped
    make, conclusion, layout = CASES[name]
    made = make(codes)
    content = made if isinstance(made, bytes) else csv_file(made)
    try:
        read_return(
            session, LabFile(content, "return.csv"), "SH-1", stamp=Stamp(READ_AT, "Ada"), layout=layout
        )
    except GeneticlogError:
        session.rollback()
        assert name in ASKED or conclusion == ASK, "it was read before"
        return
    assert name not in ASKED, "it is read without a question now"
    got = as_stored(session, codes)
    session.rollback()
    assert conclusion != ASK, f"nobody was asked: {got}"
    assert got == nearly(conclusion)


def test_a_sheet_of_old_values_is_answered_by_the_other_sheet(shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    make, _, _ = CASES["a sheet of old values of other vials"]
    file = LabFile(bytes(make(codes)), "return.xlsx")
    with pytest.raises(
        GeneticlogError, match=r'--sheet Sheet or --hold "sheet OLD do not use" or --harmless'
    ):
        read_return(session, file, "SH-1", stamp=Stamp(READ_AT, "Ada"))
    session.rollback()


def test_a_taxon_that_a_person_named_is_not_offered_again_for_references(
    shipped: tuple[Session, Codes],
) -> None:
    session, codes = shipped
    both = [["Florida reference", "0.9980", 38], ["Florida reference", "0.0030", 38]]
    file = LabFile(csv_file([*plain(codes), *both]), "return.csv")
    for layout, offered in ((Layout(), True), (Layout(taxon_of_q="northern"), False)):
        with pytest.raises(GeneticlogError) as fault:
            read_return(session, file, "SH-1", stamp=Stamp(READ_AT, "Ada"), layout=layout)
        session.rollback()
        assert '--hold "reference fish"' in str(fault.value)
        assert ("--taxon northern" in str(fault.value)) == offered


def test_a_line_that_turns_the_shares_round_is_answered_with_the_taxon(
    shipped: tuple[Session, Codes],
) -> None:
    session, codes = shipped
    make, _, _ = CASES["a footnote that turns the shares round"]
    with pytest.raises(GeneticlogError, match="or --taxon northern"):
        read_return(
            session, LabFile(csv_file(make(codes)), "return.csv"), "SH-1", stamp=Stamp(READ_AT, "Ada")
        )
    session.rollback()
