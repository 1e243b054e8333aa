"""Lab files in random shapes from a known truth, so that what was read can be held against what was meant.

A file is drawn from a truth (alleles and heterozygous loci of each fish), a shape (how the numbers are written, in
which columns and which kind of file) and at most two traps (what a careful person would stop at). ``Made.disowned``
are the fish whose value nobody should count without asking; ``Made.ask`` says that the whole file is such.
return_shapes.py has further shapes, and draws from both.
"""

from __future__ import annotations

import csv
import html
import io
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style, TextProperties
from odf.table import Table, TableCell, TableRow
from odf.text import P
from return_support import READ_AT, a_shipment
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import GeneticlogError
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Fish as FishTable
from geneticlog.store.tables import Lake, Result, Shipment, ShipmentPosition, Vial
from geneticlog.work.lab_return.read_return import LabFile, read_return

PANELS = (25, 35, 38, 60, 61, 64, 73)  # sizes that occur: Silliman et al. 2021 and others


@dataclass(frozen=True)
class Fish:
    """One fish as it is: Florida alleles of 2 x loci, heterozygous loci, loci scored."""

    code: str
    alleles: int
    mixed: int
    loci: int
    failed: bool = False

    @property
    def q(self) -> float:
        return self.alleles / (2 * self.loci)

    @property
    def h(self) -> float:
        return self.mixed / self.loci


@dataclass
class Made:
    """A file with its truth. ``room`` is half a printed unit of q, ``h_room`` of H."""

    content: bytes
    name: str
    fish: dict[str, Fish]
    panel: int
    room: float
    h_room: float
    shape: str
    traps: tuple[str, ...]
    disowned: frozenset[str] = frozenset()
    ask: bool = False
    layout: Layout | None = None  # kept from an earlier file, or a person's honest answers


@dataclass
class Sheet:
    """A table on its way into a file, with marks by (row, column) from 0."""

    rows: list[list[Any]] = field(default_factory=list)
    struck: set[tuple[int, int]] = field(default_factory=set)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    filled: set[tuple[int, int]] = field(default_factory=set)
    comments: dict[tuple[int, int], str] = field(default_factory=dict)
    percent_columns: set[int] = field(default_factory=set)
    formulas: dict[int, str] = field(default_factory=dict)  # column -> formula, never calculated

    def marked(self) -> bool:
        return bool(self.struck or self.hidden_rows or self.hidden_columns or self.filled or self.comments
                    or self.percent_columns or self.formulas)  # fmt: skip


# --- the truth ----------------------------------------------------------------------------------------------


def draw_fish(chance: random.Random, codes: Sequence[str], panel: int) -> list[Fish]:
    """Fish of one kind of lake: nearly northern, mixed, northern with first crosses, or nearly Florida."""
    kind = chance.choice(["northern", "mixed", "mixed", "crosses", "florida"])
    out = []
    for code in codes:
        loci = panel - (0 if chance.random() < 0.6 else chance.randint(1, 3))
        if kind == "crosses" and chance.random() < 0.5:
            alleles, mixed = loci, loci
        else:
            p = {"northern": 0.02, "florida": 0.97}.get(kind, chance.betavariate(2, 2))
            calls = [(chance.random() < p) + (chance.random() < p) for _ in range(loci)]
            alleles, mixed = sum(calls), calls.count(1)
        out.append(Fish(code, alleles, mixed, loci, chance.random() < 0.08))
    return out


# --- how a number is written --------------------------------------------------------------------------------


def _written(share: float, way: str, digits: int) -> Any:
    if way == "fraction":
        return f"{share:.{digits}f}"
    return f"{100 * share:.{digits - 2}f}" + ("%" if way == "sign" else "")


NAMED_Q = {
    "fraction": ["Florida", "Florida proportion", "Prop. Florida alleles", "FLMB ancestry", "Florida share",
                 "q (Florida)"],
    "percent": ["% Florida", "Florida %", "Percent Florida alleles", "Florida alleles (%)", "% FLMB", "Florida",
                "Florida share"],
    "sign": ["Florida", "% Florida", "FLMB"],
    "count": ["Florida alleles", "No. Florida alleles", "FL alleles", "Florida allele count"],
    "ratio": ["Florida alleles", "Florida"],
    "cell": ["Florida", "% Florida", "Florida ancestry"],
}  # fmt: skip
NAMED_H = {
    "fraction": ["H", "Heterozygosity", "Prop. het loci", "Ho"],
    "percent": ["% Heterozygous loci", "Het (%)", "% het"],
    "count": ["Heterozygous loci", "Het loci", "No. heterozygous loci"],
}
NAMED_LOCI = ["Loci scored", "SNPs called", "Markers typed", "No. loci genotyped", "Loci"]
NAMED_VIAL = ["Sample ID", "Vial", "Tube", "Client ID", "Sample", "Your code", "Barcode"]
HARMLESS_COLUMNS: list[tuple[str, Callable[[random.Random, int], Any]]] = [
    ("Lab ID", lambda c, i: f"QG-{1000 + i}"),
    ("Plate", lambda c, i: "P1"),
    ("Well", lambda c, i: f"{'ABCDEFGH'[i % 8]}{i // 8 + 1:02d}"),
    ("Elution (ul)", lambda c, i: c.randint(30, 60)),
    (
        "A260/A280",
        lambda c, i: round(c.uniform(1.6, 2.1), 2),
    ),  # no lengths: those of other fish are asked about
    ("Weight (g)", lambda c, i: c.randint(50, 3000)),
    ("Date received", lambda c, i: "2026-05-20"),
    ("Species", lambda c, i: "LMB"),
    ("Lake", lambda c, i: "Heron"),
    ("DNA (ng/ul)", lambda c, i: round(c.uniform(2, 40), 1)),
]
GOOD_WORDS = ["ok", "pass", "OK", "good", "", "Pass", "yes"]
BAD_WORDS = [
    "FAIL", "contaminated, disregard", "Do not use", "mixed sample?", "rejected", "low quality - exclude",
    "swapped with neighbour?", "NO", "suspect", "Contamination", "unreliable", "re-run needed", "not confirmed",
    "possible cross-contamination", "Excluded from analysis", "wrong species", "bad", "QC fail", "invalid",
]  # fmt: skip
REMARK_COLUMNS = [
    "QC",
    "Remarks",
    "Comments",
    "Status",
    "Notes",
    "QC status",
    "Flag",
    "Sample OK?",
    "Species confirmed",
]
GOOD_LINES = [
    "Quillback Genotyping (an invented laboratory)", "Genotyping report", "Run QB-0412", "Client: Heron Lake office",
    "Date: 2026-05-20", "Page 1 of 1", "Largemouth bass SNP results",
]  # fmt: skip
BAD_LINES = [
    "NOTE: {a} and {b} were exchanged on the plate; values are as run",
    "Samples {a} and {b} were swapped during extraction.",
    "* {a} should read {b} and vice versa",
    "Values are northern bass ancestry",
    "DRAFT - do not cite, preliminary values",
    "These results supersede nothing and are for internal use only: calibration off",
    "All samples of column 2 were contaminated, please disregard",
]
SMALL = 12


# --- one file -----------------------------------------------------------------------------------------------


def make(seed: int, codes: Sequence[str]) -> Made:
    """Draw one file for these vials from a seed."""
    chance = random.Random(seed)
    panel = chance.choice(PANELS)
    some = list(codes[: chance.randint(6, len(codes))])
    fish = draw_fish(chance, some, panel)
    kind = chance.choice(["csv", "csv", "semicolon", "tab", "xlsx", "xlsx", "xls", "ods", "html"])
    shape = chance.choices(["wide", "by taxon", "by locus"], [12, 1, 1])[0]
    if shape == "by taxon":
        return _by_taxon(chance, fish, panel, kind)
    if shape == "by locus":
        return _by_locus(chance, fish, panel, kind)
    return _wide(chance, fish, panel, kind)


def _wide(chance: random.Random, fish: list[Fish], panel: int, kind: str) -> Made:
    way = chance.choice(
        ["fraction", "fraction", "percent", "percent", "sign", "count", "ratio", *["cell"] * (kind == "xlsx")]
    )
    digits = chance.choice([3, 4, 4, 5]) if way != "cell" else 9
    decimal_comma = kind in ("semicolon", "tab") and chance.random() < 0.5
    columns: list[tuple[str, list[Any]]] = [(chance.choice(NAMED_VIAL), [f.code for f in fish])]
    traps: list[str] = []
    ask = False
    disowned: set[str] = set()

    def q_cell(f: Fish, share: float | None = None) -> Any:
        share = f.q if share is None else share
        if f.failed:
            return "ND"
        if way == "count":
            return str(f.alleles)
        if way == "ratio":
            return f"{f.alleles}/{2 * f.loci}"
        if way == "cell":
            return share
        return _written(share, way, digits)

    middle: list[tuple[str, list[Any]]] = []
    bare = way in ("fraction", "percent") and chance.random() < 0.2
    q_name = chance.choice(["q", "Q", "q-value"]) if bare else chance.choice(NAMED_Q[way])
    northern = bare and chance.random() < 0.5
    if northern:
        traps.append("q is northern")
        middle.append((q_name, [q_cell(f, 1 - f.q) for f in fish]))
        ask = True  # only where it is not told; told below
    else:
        middle.append((q_name, [q_cell(f) for f in fish]))
    q_column = middle[0]
    other = way in ("fraction", "percent", "sign") and not bare and chance.random() < 0.5
    if other:
        name = {"fraction": "Northern proportion", "percent": "% Northern", "sign": "Northern"}[way]
        middle.append((name, ["ND" if f.failed else _written(1 - f.q, way, digits) for f in fish]))
    h_way = ""
    if chance.random() < 0.5:
        h_way = chance.choice(["fraction", "percent", "count"])
        cells = [
            "" if f.failed else str(f.mixed) if h_way == "count" else _written(f.h, h_way, 4) for f in fish
        ]
        middle.append((chance.choice(NAMED_H[h_way]), cells))
    with_loci = way == "count" or chance.random() < 0.7
    if with_loci:
        middle.append((chance.choice(NAMED_LOCI), ["" if f.failed else str(f.loci) for f in fish]))
    # decoys, any of which may come before the column that counts
    if with_loci and chance.random() < 0.25:
        middle.insert(
            0,
            (
                chance.choice(["SNPs attempted", "Panel loci", "Loci on panel", "Total SNPs"]),
                [str(panel)] * len(fish),
            ),
        )
    if chance.random() < 0.2:
        middle.insert(
            0,
            (chance.choice(["Failed loci", "Loci missing", "No calls"]), [str(panel - f.loci) for f in fish]),
        )
    if chance.random() < 0.15:
        wrong = [
            _written(min(1.0, max(0.0, f.q * 0.7 + 0.1)), "fraction" if way != "percent" else way, 4)
            for f in fish
        ]
        name = chance.choice(["Florida mean (all fish)", "Florida 2024", "Expected Florida", "Florida (old panel)",
                              "Florida run 1",
                              "Florida lower", "FL prior", "Florida draft", "Florida mtDNA"])  # fmt: skip
        middle.insert(0, (name, wrong))
        traps.append("another share first")
    for name, value in chance.sample(HARMLESS_COLUMNS, chance.randint(0, 3)):
        middle.insert(chance.randint(0, len(middle)), (name, [value(chance, i) for i in range(len(fish))]))
    columns += middle
    if chance.random() < 0.35:
        words = [chance.choice(GOOD_WORDS) for _ in fish]
        name = chance.choice(REMARK_COLUMNS)
        if chance.random() < 0.7:
            for i in chance.sample(range(len(fish)), chance.randint(1, 3)):
                words[i] = chance.choice(BAD_WORDS)
                disowned.add(fish[i].code)
            traps.append("the lab says no")
        columns.insert(chance.randint(1, len(columns)), (name, words))
    if chance.random() < 0.1:
        columns = columns[1:] + columns[:1]
    sheet = Sheet()
    lines = [[line] for line in chance.sample(GOOD_LINES, chance.randint(0, 2))]
    if northern and chance.random() < 0.6:
        lines.append(
            [
                chance.choice(
                    [
                        "q = proportion of northern alleles",
                        "Northern ancestry (q) per sample",
                        "Q: nigricans share",
                    ]
                )
            ]
        )
    sheet.rows += [*lines, *([[]] if lines and chance.random() < 0.5 else [])]
    top = len(sheet.rows)
    sheet.rows.append([name for name, _ in columns])
    order = list(range(len(fish)))
    if chance.random() < 0.5:
        chance.shuffle(order)
    for i in order:
        sheet.rows.append([cells[i] for _, cells in columns])
    if chance.random() < 0.15:
        sheet.rows.append(list(chance.choice(sheet.rows[top + 1 :])))
    names = [name for name, _ in columns]
    at = names.index(q_column[0])
    if chance.random() < 0.2:
        traps.append("a line that changes the meaning")
        a, b = fish[0].code, fish[1].code
        line = [chance.choice(BAD_LINES).format(a=a, b=b)]
        if chance.random() < 0.5:
            sheet.rows.append(line)
        else:
            sheet.rows.insert(0, line)
            top += 1
        ask = True
    if kind in ("xlsx", "xls", "ods") and chance.random() < 0.4:
        _mark(chance, sheet, kind, top, at, names, disowned, traps)
        ask = ask or "never calculated" in traps
    if way == "cell":
        sheet.percent_columns.add(at)
    number = "," if decimal_comma else "."
    content, name = write(sheet, kind, number)
    halves = {"count": 1e-9, "ratio": 1e-9, "cell": 1e-9}
    return Made(
        content, name, {f.code: f for f in fish}, panel,
        halves.get(way, 0.5 * 10**-digits), {"count": 1e-9, "": 1.0}.get(h_way, 0.5e-4),
        f"wide, {way}, {kind}", tuple(traps), frozenset(disowned), ask,
    )  # fmt: skip


def _mark(
    chance: random.Random,
    sheet: Sheet,
    kind: str,
    top: int,
    at: int,
    names: list[str],
    disowned: set[str],
    traps: list[str],
) -> None:
    vial = next(i for i, cell in enumerate(sheet.rows[top]) if cell in NAMED_VIAL)
    last = len(sheet.rows)
    body = [i for i in range(top + 1, last) if len(sheet.rows[i]) == len(names)]
    row = chance.choice(body)
    code = sheet.rows[row][vial]
    options = ["struck", "hidden row", "colour", *(["hidden column"] if kind != "ods" else [])]
    if kind == "xlsx":
        options += ["comment", "never calculated"]
    mark = chance.choice(options)
    if mark == "struck":
        sheet.struck |= {(row, c) for c in range(len(names))} if chance.random() < 0.5 else {(row, at)}
        disowned.add(code)
    elif mark == "hidden row":
        sheet.hidden_rows.add(row)
        disowned.add(code)
    elif mark == "colour":
        sheet.filled |= {(row, c) for c in range(len(names))}
        disowned.add(code)
    elif mark == "comment":
        sheet.comments[row, at] = chance.choice(
            ["contaminated, do not use", "this is the neighbour's value", "see e-mail: wrong tube"]
        )
        disowned.add(code)
    elif mark == "hidden column":
        for line in sheet.rows:
            if len(line) == len(names):
                line.insert(at, "Florida" if line is sheet.rows[top] else "0.5")
        sheet.hidden_columns.add(at)
        sheet.percent_columns = set()
    else:
        sheet.formulas[at] = "=RAND()"
        for i in body:
            sheet.rows[i][at] = "0"
    # the same fish in a second row that is not marked still counts as disowned
    traps.append(mark)


def _by_taxon(chance: random.Random, fish: list[Fish], panel: int, kind: str) -> Made:
    sheet = Sheet([["Sample ID", "Taxon", chance.choice(["q", "Share", "Proportion", "Ancestry"])]])
    both = chance.random() < 0.5
    for f in fish:
        if f.failed:
            continue
        if both:
            pair = [[f.code, "Florida", f"{f.q:.4f}"], [f.code, "Northern", f"{1 - f.q:.4f}"]]
            chance.shuffle(pair)
            sheet.rows += pair
        else:
            taxon, share = ("Florida", f.q) if f.q > 0.5 else ("Northern", 1 - f.q)
            sheet.rows.append([f.code, taxon, f"{share:.4f}"])
    content, name = write(sheet, kind, ".")
    return Made(content, name, {f.code: f for f in fish}, panel, 0.5e-4, 1.0, f"by taxon, {kind}", ())


def _by_locus(chance: random.Random, fish: list[Fish], panel: int, kind: str) -> Made:
    sheet = Sheet([["Sample ID", "Locus", "Florida alleles"]])
    truth = {}
    for f in fish[:6]:
        calls = [2] * ((f.alleles - f.mixed) // 2) + [1] * f.mixed
        calls += [0] * (f.loci - len(calls))
        truth[f.code] = Fish(f.code, f.alleles, f.mixed, f.loci)
        sheet.rows += [[f.code, f"M{i:02d}", str(c)] for i, c in enumerate(calls, 1)]
    content, name = write(sheet, kind, ".")
    return Made(content, name, truth, panel, 1e-9, 1e-9, f"by locus, {kind}", ())


# --- kinds of file ------------------------------------------------------------------------------------------


def _plain(value: Any, mark: str) -> str:
    text = str(value)
    return text.replace(".", ",") if mark == "," and _number(text.rstrip("%")) is not None else text


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def write(sheet: Sheet, kind: str, mark: str = ".") -> tuple[bytes, str]:
    """Return a sheet as the bytes of one kind of file, and a name for it."""
    if kind in ("csv", "semicolon", "tab"):
        out = io.StringIO(newline="")
        separator = {"csv": ",", "semicolon": ";", "tab": "\t"}[kind]
        csv.writer(out, delimiter=separator).writerows([[_plain(v, mark) for v in row] for row in sheet.rows])
        return out.getvalue().encode("utf-8"), "return.csv"
    if kind == "html":
        body = "".join(
            f"<tr>{''.join(f'<td>{html.escape(str(v))}</td>' for v in row)}</tr>" for row in sheet.rows
        )
        return f"<html><body><table>{body}</table></body></html>".encode(), "return.xls"
    return {"xlsx": _xlsx, "xls": _xls, "ods": _ods}[kind](sheet), f"return.{kind}"


def _xlsx(sheet: Sheet) -> bytes:
    import xlsxwriter

    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    page = book.add_worksheet("Results")
    percent, struck, filled = (
        book.add_format(f)
        for f in ({"num_format": "0.0%"}, {"font_strikeout": True}, {"bg_color": "#FFC000"})
    )
    for r, row in enumerate(sheet.rows):
        for c, value in enumerate(row):
            form = (
                struck
                if (r, c) in sheet.struck
                else filled
                if (r, c) in sheet.filled
                else percent
                if c in sheet.percent_columns
                else None
            )
            number = value if isinstance(value, (int, float)) else _number(value)
            if c in sheet.formulas and number is not None:
                page.write_formula(r, c, sheet.formulas[c], form)
            elif number is not None:
                page.write_number(r, c, number, form)
            elif value != "":
                page.write_string(r, c, str(value), form)
    for r in sheet.hidden_rows:
        page.set_row(r, None, None, {"hidden": True})
    for c in sheet.hidden_columns:
        page.set_column(c, c, None, None, {"hidden": True})
    for (r, c), text in sheet.comments.items():
        page.write_comment(r, c, text)
    book.close()
    return out.getvalue()


def _xls(sheet: Sheet) -> bytes:
    import xlwt

    book = xlwt.Workbook()
    page = book.add_sheet("Results")
    struck = xlwt.easyxf("font: struck_out on")
    filled = xlwt.easyxf("pattern: pattern solid, fore_colour orange")
    plain = xlwt.easyxf()
    for r, row in enumerate(sheet.rows):
        for c, value in enumerate(row):
            form = struck if (r, c) in sheet.struck else filled if (r, c) in sheet.filled else plain
            number = value if isinstance(value, (int, float)) else _number(value)
            page.write(r, c, value if number is None else number, form)
    for r in sheet.hidden_rows:
        page.row(r).hidden = True
    for c in sheet.hidden_columns:
        page.col(c).hidden = True
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _ods(sheet: Sheet) -> bytes:
    from odf.office import Annotation
    from odf.style import TableCellProperties

    document = OpenDocumentSpreadsheet()
    struck = Style(name="struck", family="table-cell")
    struck.addElement(TextProperties(textlinethroughstyle="solid"))
    filled = Style(name="filled", family="table-cell")
    filled.addElement(TableCellProperties(backgroundcolor="#ffc000"))
    document.automaticstyles.addElement(struck)
    document.automaticstyles.addElement(filled)
    table = Table(name="Results")
    for r, row in enumerate(sheet.rows):
        line = TableRow(**({"visibility": "collapse"} if r in sheet.hidden_rows else {}))
        for c, value in enumerate(row):
            style = (
                {"stylename": struck}
                if (r, c) in sheet.struck
                else {"stylename": filled}
                if (r, c) in sheet.filled
                else {}
            )
            number = value if isinstance(value, (int, float)) else _number(value)
            kind = {"valuetype": "float", "value": number} if number is not None else {"valuetype": "string"}
            cell = TableCell(**kind, **style)
            if value != "":
                cell.addElement(P(text=str(value)))
            if (r, c) in sheet.comments:
                note = Annotation()
                note.addElement(P(text=sheet.comments[r, c]))
                cell.addElement(note)
            line.addElement(cell)
        if not row:
            line.addElement(TableCell())
        table.addElement(line)
    document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.write(out)
    return out.getvalue()


# --- what came of it ----------------------------------------------------------------------------------------


def silently_wrong(
    made: Made, results: Sequence[tuple[str, str, float | None, float | None, int | None]]
) -> list[str]:
    """Return what stands that a careful person would not believe; [] for a file that is right.

    results
        of every current result that was stored without an answer from a person: code, outcome, q, H, loci.
    """
    wrong = []
    if made.ask and any(outcome == "typed" for _, outcome, *_ in results):
        wrong.append(f"nobody was asked: {', '.join(made.traps)}")
    for code, outcome, q, h, loci in results:
        f = made.fish.get(code)
        if f is None:
            wrong.append(f"{code} is in no row")
        elif outcome == "failed":
            if not f.failed and code not in made.disowned:
                wrong.append(f"{code} did not fail")
        elif code in made.disowned:
            wrong.append(f"{code} counts although the lab took it back")
        elif f.failed:
            wrong.append(f"{code} failed and has q {q}")
        elif q is not None and abs(q - f.q) > made.room + 1e-6:
            wrong.append(f"{code}: q {q}, in truth {f.q:.4f}")
        elif h is not None and abs(h - f.h) > made.h_room + 1e-6:
            wrong.append(f"{code}: H {h}, in truth {f.h:.4f}")
        elif loci is not None and loci != f.loci:
            wrong.append(f"{code}: {loci} loci, in truth {f.loci}")
    return wrong


def a_plate_of_vials(session: Session, n: int) -> list[str]:
    """Store a sent shipment SH-1 of n vials in the first wells of a plate, down the columns; return their codes.

    They are in the order of the wells, which is not that of the codes. The fish are from 300 mm on, 10 mm apart.
    """
    made = a_shipment(session, n)
    session.scalars(select(Shipment)).one().container = "plate96"
    session.scalars(select(Lake)).one().name = "Heron Lake"
    order = random.Random(n).sample(range(n), n)
    for at, i in zip(
        session.scalars(select(ShipmentPosition).order_by(ShipmentPosition.id)), order, strict=True
    ):
        at.position = f"{'ABCDEFGH'[i % 8]}{i // 8 + 1:02d}"
    for i, fish in enumerate(session.scalars(select(FishTable).order_by(FishTable.number))):
        fish.length = fish.length_mm = 300 + 10 * i
    session.commit()
    return [code for _, code in sorted(zip(order, made, strict=True))]


def read_unanswered(session: Session, made: Made) -> tuple[str, list[str], str]:
    """Read a file for shipment SH-1 without answering anything but what ``made.layout`` says, and roll back.

    Returns what came of it, what is silently wrong, and what was said.
    """
    try:
        read_return(
            session, LabFile(made.content, made.name), "SH-1", stamp=Stamp(READ_AT, "Ada"), layout=made.layout
        )
    except GeneticlogError as refusal:
        session.rollback()
        return "asked or refused", [], str(refusal)
    found = session.execute(
        select(Vial.code, Result.outcome, Result.q, Result.heterozygosity, Result.n_loci)
        .join(Vial, Vial.id == Result.vial_id)
        .where(Result.standing == "current")
    ).all()
    n_held = session.scalar(select(func.count()).where(Result.standing == "held"))
    session.rollback()
    wrong = silently_wrong(made, [(code, outcome, q, h, loci) for code, outcome, q, h, loci in found])
    return "right, some held" if n_held else "right", wrong, ""
