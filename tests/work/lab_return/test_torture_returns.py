"""Lab files with every defect that spreadsheets and labs bring, alone and together: what is stored, what is
found.

Each case says what it does to one plain file of eight fish of 38 loci (all figures invented), the results
that must be stored, and the findings, in full.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from conftest import Runner
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P
from openpyxl.styles import Font
from return_support import a_shipment, csv_file
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_kinds import FINDINGS
from geneticlog.store.engine import open_engine
from geneticlog.store.tables import Finding, Genotype, Result, ReturnFile, ReturnRow, Vial

ALLELES = [0, 1, 2, 3, 10, 20, 38, 76]  # Florida alleles of 76
MIXED = [0, 1, 2, 1, 4, 10, 38, 0]  # heterozygous loci of 38
HEADING = ["Vial", "Florida proportion", "H", "Loci scored"]
Rows = list[list[Any]]


def base(codes: list[str]) -> Rows:
    return [
        HEADING,
        *[
            [code, f"{k / 76:.4f}", f"{h / 38:.4f}", 38]
            for code, k, h in zip(codes[:8], ALLELES, MIXED, strict=True)
        ],
    ]


def expected(**changes: Any) -> dict[int, Any]:
    """q by fish; "failed", "held" or None (no result) where it is not a current proportion."""
    out: dict[int, Any] = {i: round(k / 76, 4) for i, k in enumerate(ALLELES)}
    out.update({int(key[1:]): value for key, value in changes.items()})
    return out


def changed(**cells: Any) -> Callable[[list[str]], bytes]:
    """The plain file with cells changed: r2c1 is row 2 of the sheet, column 1 (from 0)."""

    def make(codes: list[str]) -> bytes:
        rows = base(codes)
        for key, value in cells.items():
            row, column = key[1:].split("c")
            rows[int(row) - 1][int(column)] = value
        return csv_file(rows)

    return make


def book(fill: Callable[[Any, list[str]], None]) -> Callable[[list[str]], bytes]:
    def make(codes: list[str]) -> bytes:
        workbook = openpyxl.Workbook()
        fill(workbook, codes)
        out = io.BytesIO()
        workbook.save(out)
        return out.getvalue()

    return make


def numbers(rows: Rows) -> Rows:
    return [rows[0], *[[row[0], *(float(cell) for cell in row[1:])] for row in rows[1:]]]


def fill_sheet(sheet: Any, rows: Rows) -> None:
    for row in rows:
        sheet.append(row)


def several_sheets(workbook: Any, codes: list[str]) -> None:
    workbook.active.title = "Read me"
    workbook.active.append(["An invented lab's words"])
    fill_sheet(workbook.create_sheet("Results"), numbers(base(codes)))
    fill_sheet(workbook.create_sheet("Old"), numbers(base(codes)))
    workbook["Old"].sheet_state = "hidden"


def two_sheets(workbook: Any, codes: list[str]) -> None:
    fill_sheet(workbook.active, numbers(base(codes)))
    fill_sheet(workbook.create_sheet("B"), numbers(base(codes)))


def two_sheets_of_other_headings(workbook: Any, codes: list[str]) -> None:
    rows = numbers(base(codes))
    fill_sheet(workbook.active, rows[:5])
    fill_sheet(workbook.create_sheet("B"), [["Vial", "Florida share"], *[row[:2] for row in rows[5:]]])


def titles_and_notes(workbook: Any, codes: list[str]) -> None:
    sheet = workbook.active
    sheet["A1"] = "Report of an invented lab"
    sheet.merge_cells("A1:D1")
    sheet.append([])
    fill_sheet(sheet, numbers(base(codes)))
    sheet.append(["Mean", 0.25])
    sheet.append([])
    sheet.append(["Notes: proportions of 38 loci, see the methods"])


def two_row_heading(workbook: Any, codes: list[str]) -> None:
    sheet = workbook.active
    sheet.append(["Sample ID", "Ancestry (%)", None, "H"])
    sheet.merge_cells("B1:C1")
    sheet.append([None, "Florida", "Northern", None])
    for row in base(codes)[1:]:
        q = float(row[1])
        sheet.append([row[0], round(100 * q, 2), round(100 - 100 * q, 2), float(row[2])])


def hidden_row(workbook: Any, codes: list[str]) -> None:
    fill_sheet(workbook.active, numbers(base(codes)))
    workbook.active.row_dimensions[4].hidden = True


def formulas(workbook: Any, codes: list[str]) -> None:
    fill_sheet(workbook.active, numbers(base(codes)))
    workbook.active["B3"] = "=1/76"


def error_cell(workbook: Any, codes: list[str]) -> None:
    fill_sheet(workbook.active, numbers(base(codes)))
    workbook.active["B3"] = "#DIV/0!"
    workbook.active["B3"].data_type = "e"


def date_cell(workbook: Any, codes: list[str]) -> None:
    fill_sheet(workbook.active, numbers(base(codes)))
    workbook.active["B3"] = date(2026, 1, 4)


def mangled_ids(workbook: Any, codes: list[str]) -> None:
    fill_sheet(workbook.active, numbers(base(codes)))
    workbook.active["A2"] = 123.0
    workbook.active["A3"] = date(2026, 3, 4)
    workbook.active["A4"] = "1.2E+04"


def struck_cells(workbook: Any, codes: list[str]) -> None:
    fill_sheet(workbook.active, [*numbers(base(codes)), ["a note, struck through"]])
    for place in ("B3", "A5", "B5", "C5", "D5", "A10"):  # a value; a whole row; what is no sample
        workbook.active[place].font = Font(strike=True)


def percent_cells(workbook: Any, codes: list[str]) -> None:
    fill_sheet(workbook.active, numbers(base(codes)))
    for row in workbook.active.iter_rows(min_row=2, min_col=2, max_col=2):
        row[0].number_format = "0.0%"


def open_document(codes: list[str]) -> bytes:
    document = OpenDocumentSpreadsheet()
    table = Table(name="Results")
    for values in numbers(base(codes)):
        row = TableRow()
        for value in values:
            number = isinstance(value, float)
            cell = TableCell(valuetype="float", value=value) if number else TableCell(valuetype="string")
            cell.addElement(P(text=str(value)))
            row.addElement(cell)
        table.addElement(row)
    document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.write(out)
    return out.getvalue()


def percents(codes: list[str]) -> bytes:
    return csv_file([HEADING, *[[r[0], f"{100 * float(r[1]):.2f}", r[2], r[3]] for r in base(codes)[1:]]])


def percent_signs(codes: list[str]) -> bytes:
    rows = base(codes)
    rows[0] = ["Vial", "Florida", "H", "Loci scored"]
    return csv_file([rows[0], *[[r[0], f"{100 * float(r[1]):.2f}%", r[2], r[3]] for r in rows[1:]]])


def decimal_commas(codes: list[str]) -> bytes:
    rows = base(codes)
    return csv_file([rows[0], *[[str(cell).replace(".", ",") for cell in row] for row in rows[1:]]], ";")


def three_taxa(codes: list[str]) -> bytes:
    rows: Rows = [["Vial", "Florida", "Northern", "Delta", "Loci scored"]]
    for row in base(codes)[1:]:
        q = float(row[1])
        third = 0.04 if q <= 0.5 else 0.0
        rows.append([row[0], row[1], f"{1 - q - third:.4f}", f"{third:.4f}", 38])
    rows[2][2] = "0.8000"  # 0.0132 + 0.8 + 0.04
    return csv_file(rows)


def counted_genotypes(codes: list[str]) -> bytes:
    rows: Rows = [["Sample", *[f"M{i:02d}" for i in range(1, 11)]]]
    for i, code in enumerate(codes):
        rows.append([code, *[(i + j) % 3 for j in range(9)], "NA" if i == 0 else 1])
    return csv_file(rows)


def lettered_genotypes(codes: list[str]) -> bytes:
    rows: Rows = [["Sample", *[f"M{i:02d}" for i in range(1, 7)]]]
    rows += [
        [code, *(["AA", "AB", "BB", "A/B", "BA", "--"][(i + j) % 6] for j in range(6))]
        for i, code in enumerate(codes)
    ]
    return csv_file(rows)


def paired_genotypes(codes: list[str]) -> bytes:
    rows: Rows = [["Sample", *[f"M{i:02d}_{a}" for i in range(1, 7) for a in "ab"]]]
    rows += [[code, *["A", "B"] * 5, "0" if i else "A", "0" if i else "A"] for i, code in enumerate(codes)]
    return csv_file(rows)


LETTERS = '[genotypes]\ncoding = "letters"\n[genotypes.markers]\n' + "".join(
    f'M0{i} = "B"\n' for i in range(1, 7)
)
PAIRS = LETTERS.replace("letters", "pairs")


def respelled(codes: list[str]) -> bytes:
    rows = base(codes)
    for i, row in enumerate(rows[1:]):
        code = row[0]
        ways = (code.lower(), f" {code} ", code.replace("0", "O", 3), f"{code[:2]}\u00a0{code[2:]}")
        row[0] = ways[i % 4]
    return csv_file(rows)


def with_column(heading: str, value: Callable[[int], object]) -> Callable[[list[str]], bytes]:
    """The plain file with one more column, its value by fish."""

    def make(codes: list[str]) -> bytes:
        rows = base(codes)
        return csv_file([[*rows[0], heading], *[[*row, value(i)] for i, row in enumerate(rows[1:])]])

    return make


def shares(heading: str, values: list[float]) -> Callable[[list[str]], bytes]:
    """A file of codes and one column of shares."""
    return lambda codes: csv_file([["Vial", heading], *zip(codes, values, strict=True)])


@dataclass(frozen=True)
class Case:
    make: Callable[[list[str]], bytes]
    results: dict[int, Any] = field(default_factory=expected)
    findings: tuple[str, ...] = ()
    name: str = "return.csv"
    options: tuple[str, ...] = ()
    layout: str | None = None
    n_rows: int = 8
    tolerance: float = 1e-9
    more: int = 0  # blank vials beyond the eight


def rows_added(*added: Callable[[list[str]], list[Any]]) -> Callable[[list[str]], bytes]:
    return lambda codes: csv_file([*base(codes), *[row(codes) for row in added]])


CASES = {
    "plain": Case(changed()),
    "utf-16, tabs": Case(lambda c: csv_file(base(c), "\t").decode().encode("utf-16")),
    "byte-order mark, bars": Case(lambda c: csv_file(base(c), "|").decode().encode("utf-8-sig")),
    "cp1252 note": Case(
        lambda c: csv_file([*base(c), ["Reçu en état médiocre, à refaire"]]).decode().encode("cp1252"),
        options=("--harmless", "Reçu en état médiocre, à refaire"),
    ),
    "decimal commas": Case(decimal_commas),
    "percents without a sign": Case(
        lambda c: percents(c).replace(b"Florida proportion", b"Florida"), tolerance=1e-9
    ),
    "percent signs": Case(percent_signs),
    "spreadsheet's percent cells under a heading that says so": Case(
        book(lambda w, c: (percent_cells(w, c), w.active.__setitem__("B1", "% Florida"))[0]),
        name="return.xlsx",
    ),
    "title rows, totals, notes": Case(book(titles_and_notes), name="return.xlsx"),
    "several sheets, one hidden": Case(
        book(several_sheets),
        name="return.xlsx",
        options=("--harmless", "sheet Old", "--harmless", "sheet Read me"),
    ),
    "two sheets, the second a copy of the first": Case(
        book(two_sheets), findings=("duplicate_row",), name="return.xlsx", n_rows=16
    ),
    "heading in two rows, merged": Case(
        book(two_row_heading), name="return.xlsx", findings=("loci_unknown",), tolerance=1e-9
    ),
    "open document": Case(open_document, name="return.ods"),
    "hidden row": Case(
        book(hidden_row), expected(), ("hidden_rows",), "return.xlsx", ("--harmless", "hidden rows")
    ),
    "hidden row, taken back": Case(
        book(hidden_row),
        expected(_2="held"),
        ("marked",),
        "return.xlsx",
        ("--hold", "hidden rows"),
    ),
    "formula never calculated": Case(
        book(formulas), expected(_1="held"), ("formula_without_value",), "return.xlsx"
    ),
    "error cell": Case(book(error_cell), expected(_1="held"), ("cell_error",), "return.xlsx"),
    "values struck through": Case(
        book(struck_cells),
        expected(_1="held", _3="held"),
        ("struck_out", "struck_out"),
        "return.xlsx",
        ("--harmless", "a note, struck through"),
    ),
    "proportion turned into a date": Case(
        book(date_cell), expected(_1="held"), ("mangled_value",), "return.xlsx"
    ),
    "codes turned into numbers and dates": Case(
        book(mangled_ids), expected(_0=None, _1=None, _2=None), ("unexpected",) * 3, "return.xlsx"
    ),
    "codes in lower case, with spaces, O for 0": Case(
        respelled,
        findings=("code_respelled",),
    ),
    "missing words of every kind": Case(
        changed(r2c1="ND", r3c1="N/A", r4c1="No amp", r5c1="-", r6c1="***", r7c1="", r8c1=" failed "),
        {**dict.fromkeys(range(7), "failed"), 7: 1.0},
        ("failed",) * 7,
    ),
    "a lab's own word for a failure": Case(
        changed(r3c1="kaputt"), expected(_1="failed"), ("failed",), options=("--missing", "Kaputt")
    ),
    "a word that is no number": Case(changed(r3c1="4S"), expected(_1="held"), ("unreadable_value",)),
    "inf, which some programs take for a number": Case(
        changed(r3c1="inf"), expected(_1="held"), ("unreadable_value",)
    ),
    "a proportion of 1.7": Case(changed(r3c1="1.7"), expected(_1="held"), ("impossible_value",)),
    "a negative proportion": Case(changed(r3c1="-0.2"), expected(_1="held"), ("impossible_value",)),
    "minus nought": Case(changed(r2c1="-0.0"), findings=("negative_zero",)),
    "a row twice": Case(rows_added(lambda c: base(c)[3]), findings=("duplicate_row",), n_rows=9),
    "a row twice, differently": Case(
        rows_added(lambda c: [c[2], "0.5000", "0.5263", 38]), expected(_2="held"), ("conflicting",), n_rows=9
    ),
    "failed, then typed": Case(
        rows_added(lambda c: [c[2], "failed", "", ""]),
        expected(_2="held"),
        ("conflicting", "failed"),
        n_rows=9,
    ),
    "a code of nobody": Case(
        rows_added(lambda c: ["BG4F7Q2KR", "0.5", "0.5", 38]), findings=("unexpected",), n_rows=9
    ),
    "a code with one wrong character": Case(changed(r3c0="BG000002J"), expected(_1=None), ("unexpected",)),
    "a result without a code": Case(changed(r3c0=""), expected(_1=None), ("unexpected",)),
    "a blank that gave a genotype": Case(
        rows_added(lambda c: [c[8], "0.5000", "0.5789", 38]), findings=("blank_typed",), n_rows=9, more=1
    ),
    "a blank that stayed blank": Case(rows_added(lambda c: [c[8], "ND", "", ""]), n_rows=9, more=1),
    "shares that do not sum to one": Case(three_taxa, expected(_1="held"), ("sum_not_one",), tolerance=1e-9),
    "H of less than one locus": Case(changed(r6c2="0.001053"), expected(_4="held"), ("less_than_one_locus",)),
    "H of one row a fraction among percents": Case(
        lambda c: csv_file(
            [
                HEADING,
                *[
                    [*row[:2], row[2] if i == 4 else f"{100 * float(row[2]):.2f}", 38]
                    for i, row in enumerate(base(c)[1:])
                ],
            ]
        ),
        expected(_4="held"),
        ("less_than_one_locus",),
        options=("--unit", "heterozygosity=percent"),
    ),
    "H in percent beside a fraction, every value in keeping": Case(
        lambda c: csv_file([HEADING, *[[*row[:2], f"{100 * float(row[2]):.2f}", 38] for row in base(c)[1:]]])
    ),
    "H above its bound": Case(changed(r4c2="0.9"), expected(_2="held"), ("breaks_bound",)),
    "H of the wrong parity": Case(changed(r4c2="0.0263"), findings=("odd_parity",)),
    "H of 0 in a mixed fish": Case(changed(r6c2="0"), findings=("zero_heterozygosity",)),
    "a proportion between two alleles": Case(changed(r6c1="0.1381"), expected(_4=0.1381), ("off_grid",)),
    "loci scored 0": Case(changed(r6c3="0"), expected(_4="held"), ("zero_for_missing",)),
    "eight loci scored in two fish": Case(
        changed(r5c1="0.1250", r5c2="0.2500", r5c3="8", r6c1="0.1250", r6c2="0.1250", r6c3="8"),
        expected(_3=0.125, _4=0.125),
        ("odd_parity", "too_few_loci", "too_few_loci"),
    ),
    "three rows copied down": Case(
        changed(r4c1="0.1316", r4c2="0.1053", r5c1="0.1316", r5c2="0.1053"),
        expected(_2=0.1316, _3=0.1316),
        ("identical_run",),
    ),
    "the lab's F1 with few heterozygous loci": Case(
        with_column("Class", lambda i: "F1" if i == 5 else ""),
        findings=("f1_label_low_heterozygosity",),
    ),
    "the lab's class against ours": Case(
        with_column("Class", lambda i: "Pure Florida" if i in (5, 7) else ""),
        expected(_5="held"),
        ("class_contradicts",),
    ),
    "call rate below nine tenths": Case(
        with_column("Call rate", lambda i: 0.85 if i == 3 else 0.99),
        findings=("low_call_rate",),
    ),
    "call rate of an eighth": Case(
        with_column("Call rate", lambda i: 0.12 if i == 3 else 0.99),
        expected(_3="held"),
        findings=("call_rate_too_low",),
    ),
    "a remark with a comma of its own": Case(
        lambda c: "\n".join(
            ["Vial,Florida proportion,H,Loci scored,Remark"]
            + [
                ",".join(map(str, row)) + (",ok, thanks" if i == 2 else ",")
                for i, row in enumerate(base(c)[1:])
            ]
        ).encode()
    ),
    "the heading again half way down": Case(lambda c: csv_file([*base(c)[:5], HEADING, *base(c)[5:]])),
    "columns named by a person": Case(
        lambda c: csv_file([["Vial", "Result A", "Result B", "Loci scored"], *base(c)[1:]]),
        options=("--column", "q=Result A", "--taxon", "Florida", "--column", "heterozygosity=C"),
    ),
    "genotypes 0, 1, 2": Case(
        counted_genotypes,
        {i: [9, 10, 10, 10, 10, 10, 10, 10][i] / (18 if i == 0 else 20) for i in range(8)},
        ("too_few_loci",),
        options=("--counted", "Florida"),
    ),
    "genotypes AA, AB, BB with a marker table": Case(
        lettered_genotypes, dict.fromkeys(range(8), 0.5), ("too_few_loci",), layout=LETTERS
    ),
    "two columns a marker": Case(
        paired_genotypes, {0: 5 / 12, **dict.fromkeys(range(1, 8), 0.5)}, ("too_few_loci",), layout=PAIRS
    ),
    "several at once": Case(
        lambda c: csv_file(
            [
                ["An invented lab; rapport final, é"],
                ["Sample ID", "Lab no", "% Florida", "% Northern", "% het loci", "SNPs scored", "Comment"],
                [c[0].lower(), 1, "0,00", "100,00", "0,00", "38", ""],
                [c[1], 2, "1,32", "98,68", "2,63", "38", ""],
                [c[1], 2, "1,32", "98,68", "2,63", "38", ""],
                [c[2], 3, "2,63", "90,00", "5,26", "38", ""],
                [c[3], 4, "", "", "", "", "No amp"],
                [c[4], 5, "170", "-70", "10,53", "38", ""],
                [c[5], 6, "26,32", "73,68", "26,32", "30", "few loci"],
                ["BG4F7Q2KR", 7, "50", "50", "100", "38", ""],
                ["Total", "", "", "", "", "", "8"],
            ],
            ";",
        ),
        {0: 0.0, 1: 0.0132, 2: "held", 3: "failed", 4: "held", 5: 0.2632, 6: None, 7: None},
        (
            "code_respelled",
            "duplicate_row",
            "failed",
            "impossible_value",
            "impossible_value",
            "off_grid",
            "sum_not_one",
            "unexpected",
        ),
        n_rows=8,
        options=("--harmless", "An invented lab; rapport final, é", "--harmless", "few loci"),
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_a_torture_file_is_stored_as_it_should_be(
    name: str, run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path
) -> None:
    case = CASES[name]
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, 8, layout=case.layout, blanks=case.more)
        session.commit()
    path = tmp_path / case.name
    path.write_bytes(case.make(codes))
    run_on_sqlite("return", "preview", path, *case.options, "--shipment", "SH-1")
    run_on_sqlite("return", "read", path, *case.options, "--shipment", "SH-1")
    with Session(engine) as session:
        got: dict[int, Any] = dict.fromkeys(range(8))
        stored = session.execute(
            select(Vial.code, Result.q, Result.outcome, Result.standing, Result.fish_id).join(Vial)
        )
        for code, q, outcome, standing, fish_id in stored:
            i = codes.index(code)
            if i < 8:
                got[i] = "held" if standing == "held" else "failed" if outcome == "failed" else q
                assert (fish_id is not None) == isinstance(got[i], float)
            else:
                assert fish_id is None
        kinds = sorted(session.scalars(select(Finding.kind)))
        texts = list(session.scalars(select(Finding.text)))
        n_rows = session.scalar(select(func.count()).select_from(ReturnRow))
        kept = session.scalars(select(ReturnFile.content)).one()
    engine.dispose()
    assert kept == path.read_bytes()
    assert n_rows == case.n_rows
    assert kinds == sorted(case.findings), texts
    assert got == {
        i: pytest.approx(q, abs=case.tolerance) if isinstance(q, float) else q
        for i, q in case.results.items()
    }
    for text in texts:
        assert "{" not in text
        assert text.endswith((".", "?"))


def test_the_torture_set_is_large_enough() -> None:
    assert len(CASES) >= 25


def test_genotypes_are_kept_by_locus(run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path) -> None:
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, 8, layout=LETTERS)
        session.commit()
    path = tmp_path / "return.csv"
    path.write_bytes(lettered_genotypes(codes))
    run_on_sqlite("return", "read", path, "--shipment", "SH-1")
    with Session(engine) as session:
        calls = session.scalars(
            select(Genotype.n_alleles)
            .join(Result, Result.id == Genotype.result_id)
            .join(Vial, Vial.id == Result.vial_id)
            .where(Vial.code == codes[0])
            .order_by(Genotype.marker)
        ).all()
    engine.dispose()
    assert calls == [0, 1, 2, 1, 1, None]


def test_every_kind_of_finding_has_a_sentence_and_a_way_to_close_it() -> None:
    known = {"accept", "recount", "reject", "match", "resample", "close"}
    for kind, told in FINDINGS.items():
        assert told.sentence.endswith(("?", ".")), kind
        assert set(told.decisions) <= known, kind
        assert "close" in told.decisions, kind
        assert not told.stored_as or told.stored_as in FINDINGS, kind


REFUSED = {
    "two columns that could be the share": (
        lambda c: csv_file([["Vial", "Florida run 1", "Florida q", "Florida share"], *base(c)[1:]]),
        "could all be the share of Florida alleles",
    ),
    "percent in the heading, fractions below": (
        lambda c: csv_file([["Vial", "% Florida"], *[row[:2] for row in base(c)[1:]]]),
        "can be read as percent or as fraction",
    ),
    "some with a percent sign": (
        changed(r6c1="13.2%"),
        "1 value names its unit (a percent sign",
    ),
    "ones and noughts alone": (
        lambda c: csv_file([["Vial", "Florida"], *[[code, i % 2] for i, code in enumerate(c)]]),
        "1 may be one percent or the whole",
    ),
    "neither percent nor fraction": (
        shares("Florida", [0.4, 0.7, 1.7, 12, 0.9, 3, 0, 0.8]),
        "can be read as percent or as fraction",
    ),
    "the Latin name that changed": (
        lambda c: csv_file([["Vial", "M. salmoides"], *[row[:2] for row in base(c)[1:]]]),
        "before 2022",
    ),
    "genotypes without a marker table": (lettered_genotypes, "nothing says which allele is Florida's"),
    "genotypes of an unsaid taxon": (counted_genotypes, "--counted Florida or --counted northern"),
    "a second table below": (
        lambda c: csv_file([*base(c)[:5], [], ["Vial", "Northern proportion", "H", "Loci"], *base(c)[5:]]),
        "northern shares turned round",
    ),
    "two sheets of results under other headings, of other vials": (
        book(two_sheets_of_other_headings),
        "2 sheets hold results, under different headings: Sheet and B",
    ),
    "percents and fractions in one column beside fractions": (
        lambda c: csv_file(
            [
                HEADING,
                *[
                    [*row[:2], row[2] if i == 4 else f"{100 * float(row[2]):.2f}", 38]
                    for i, row in enumerate(base(c)[1:])
                ],
            ]
        ),
        "column H can be read as percent or as fraction: 5 of 8 values are above 1",
    ),
    "decimal commas parted by commas": (
        lambda c: "\n".join(["Sample,Florida %,Loci", *(f"{code},21,05,38" for code in c)]).encode(),
        "8 rows have more cells than the heading, which has 3; decimal commas seem to be",
    ),
    "one decimal comma parted by commas": (
        lambda c: "\n".join(
            ["Sample,Florida %,Note", f"{c[0]},21,05,ok", *(f"{x},25,ok" for x in c[1:])]
        ).encode(),
        "1 row has more cells than the heading",
    ),
    "no code column": (
        lambda c: csv_file([["Pond", "Florida"], ["North", 0.4]]),
        "no column holds vial codes",
    ),
    "codes of another kind": (
        lambda c: csv_file([["Sample", "Florida"], ["1.0", 0.4], ["2.0", 0.5]]),
        "none of its values is a vial code",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_with_two_readings_is_refused_whole(
    name: str, run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path
) -> None:
    make, words = REFUSED[name]
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, 8)
        session.commit()
    path = tmp_path / "return.csv"
    path.write_bytes(make(codes))
    said = run_on_sqlite("return", "read", path, "--shipment", "SH-1", fails=5)
    assert words in said.stderr
    with Session(engine) as session:
        assert [
            session.scalar(select(func.count()).select_from(t)) for t in (ReturnFile, Result, Finding)
        ] == [0, 0, 0]
    engine.dispose()
