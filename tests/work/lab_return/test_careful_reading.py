"""Lab files as they come, each beside what a careful person would conclude who has only the file and the labels.

All files are about the same eight fish of an invented lake, typed at 38 loci. A conclusion is the q of each fish, with
"held", "failed" or None (nothing) where it is not to count, or ASK where that person would telephone the lab first.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from openpyxl.comments import Comment
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import Font, PatternFill
from return_generator import Sheet, write
from return_support import READ_AT, a_shipment, as_stored, codes, csv_file, nearly
from sqlalchemy import select
from sqlalchemy.orm import Session
from workbook_by_hand import changed_workbook, number_or_text

from geneticlog.errors import GeneticlogError
from geneticlog.rules.lab_return.doubts_of_files.sorted_alone import sorted_alone
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.words.headings import answer_key
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.engine import open_engine
from geneticlog.store.tables import Fish, Lake, Panel, Shipment, ShipmentPosition
from geneticlog.work.lab_return.read_return import LabFile, read_return

ALLELES = [3, 12, 27, 38, 41, 60, 70, 76]  # Florida alleles of 76
MIXED = [3, 8, 17, 20, 25, 14, 6, 0]  # heterozygous loci of 38
N = 8
ASK = "ask the lab first"
Codes = list[str]
Rows = list[list[Any]]


def f(i: int, digits: int = 4) -> str:
    return f"{ALLELES[i] / 76:.{digits}f}"


def p(i: int, digits: int = 2) -> str:
    return f"{100 * ALLELES[i] / 76:.{digits}f}"


def genotype(i: int, m: int) -> int:
    """Florida alleles of fish i at its m-th locus, from 1."""
    both = (ALLELES[i] - MIXED[i]) // 2
    return 2 if m <= both else 1 if m <= both + MIXED[i] else 0


def h(i: int) -> str:
    return f"{MIXED[i] / 38:.4f}"


def table(codes: Codes, heading: list[str], row: Callable[[int], list[Any]]) -> Rows:
    """A heading that begins with the vial, and a row for each fish."""
    return [heading, *([code, *row(i)] for i, code in enumerate(codes))]


def right(**changes: Any) -> dict[int, Any]:
    out: dict[int, Any] = {i: k / 76 for i, k in enumerate(ALLELES)}
    out.update({int(key[1:]): value for key, value in changes.items()})
    return out


def plain(codes: Codes) -> Rows:
    return table(codes, ["Sample ID", "Florida proportion", "Loci scored"], lambda i: [f(i), 38])


def with_remarks(heading: str, *words: str, first: int = 0) -> Callable[[Codes], Rows]:
    """The plain table with a column of words, the first of them beside fish ``first``."""

    def make(codes: Codes) -> Rows:
        rows = plain(codes)
        for i, row in enumerate(rows):
            row.append(
                heading if not i else words[(i - 1 - first) % N] if (i - 1 - first) % N < len(words) else "ok"
            )
        return rows

    return make


def lines(above: list[str] | None = None, below: list[str] | None = None) -> Callable[[Codes], Rows]:
    """The plain table with lines above or below it; {0} to {7} are the codes."""

    def make(codes: Codes) -> Rows:
        top, bottom = ([[text.format(*codes)] for text in texts or []] for texts in (above, below))
        return [*top, *plain(codes), *bottom]

    return make


def columns(heading: list[str], row: Callable[[int], list[Any]]) -> Callable[[Codes], Rows]:
    return lambda codes: table(codes, heading, row)


def book(
    change: Callable[[Any, Codes], None], rows: Callable[[Codes], Rows] = plain
) -> Callable[[Codes], bytes]:
    """An XLSX workbook of the table, changed by hand."""

    return lambda codes: changed_workbook(rows(codes), lambda workbook: change(workbook, codes))


def fill(workbook: Any, places: str, colour: str = "FFFF00") -> None:
    for place in places.split():
        workbook.active[place].fill = PatternFill("solid", fgColor=colour)


def marked_legend(workbook: Any, codes: Codes) -> None:
    fill(workbook, "A3 B3 C3", "FF0000")
    workbook.active.append(["Red: re-extraction gave another genotype, do not use"])


def banded(workbook: Any, codes: Codes) -> None:
    for row in range(2, 10, 2):
        fill(workbook, f"A{row} B{row} C{row}", "DDEBF7")


def red_ink(workbook: Any, codes: Codes) -> None:
    workbook.active["B4"].font = Font(color="FF0000")


def hidden_sheet(workbook: Any, codes: Codes) -> None:
    old = workbook.create_sheet("final v2")
    for i, row in enumerate(plain(codes)):
        old.append([row[0], number_or_text(row[1]) if not i else 0.5, row[2]])
    old.sheet_state = "hidden"


def hidden_column(workbook: Any, codes: Codes) -> None:
    workbook.active.column_dimensions["B"].hidden = True


def comment(text: str) -> Callable[[Any, Codes], None]:
    def put(workbook: Any, codes: Codes) -> None:
        workbook.active["B3"].comment = Comment(text, "R. Bell")

    return put


def key_of_colours(workbook: Any, codes: Codes) -> None:
    fill(workbook, "B5")
    sheet = workbook.create_sheet("Legend")
    sheet.append(["Yellow cells: sample identity in doubt"])


def second_sheet_corrects(workbook: Any, codes: Codes) -> None:
    sheet = workbook.create_sheet("Corrections")
    sheet.append(["Sample", "Florida (corrected)"])
    sheet.append([codes[2], 0.9])


def never_calculated(workbook: Any, codes: Codes) -> None:
    for row in range(2, 10):
        workbook.active[f"B{row}"] = f"=C{row}/76"


def kept(**columns_: str) -> Layout:
    """A layout kept from a file in percent."""
    return Layout(columns=columns_, kept_units={"q": "percent"})


CASES: dict[str, tuple[Callable[[Codes], Rows | bytes], Any, Layout | None]] = {}


def case(
    name: str, make: Callable[[Codes], Rows | bytes], conclusion: Any, layout: Layout | None = None
) -> None:
    assert name not in CASES
    CASES[name] = (make, conclusion, layout)


# --- the lab says no ----------------------------------------------------------------------------------------
case("qc column, one fail", with_remarks("QC", "FAIL"), right(_0="held"))
case("qc pass or fail in lower case", with_remarks("qc result", "fail", "pass"), right(_0="held"))
case("a remark takes one back", with_remarks("Remarks", "contaminated, disregard", first=3), right(_3="held"))
case("species was looked at", with_remarks("Species confirmed", "NO", "YES"), right(_0="held"))
case("usable, yes or no", with_remarks("Usable?", "N", "Y", "Y", "Y", "Y", "Y", "Y", "Y"), right(_0="held"))
case("pass, true or false", with_remarks("Passed filter", "FALSE", *["TRUE"] * 7), right(_0="held"))
case("another species", with_remarks("Notes", "looks like spotted bass", first=6), right(_6="held"))
case("a question mark", with_remarks("Comment", "tube 3 or 4?", first=2), right(_2="held"))
case("a word nobody knows", with_remarks("Flag", "XQ2"), ASK)
case("a sentence nobody can judge", with_remarks("Comments", "see e-mail of 3 May"), ASK)
case("everything was good", with_remarks("QC", "pass", "Pass", "PASS", "ok"), right())
case("no problem", with_remarks("Comments", "no contamination", "no issues", "None", "-"), right())
case("a failure beside an empty value", columns(["Vial", "Florida proportion", "Note"],
     lambda i: ["", "no amplification"] if i == 2 else [f(i), ""]), right(_2="failed"))  # fmt: skip
case("below the lab's own threshold", with_remarks("Status", "Below threshold", first=5), right(_5="held"))
case("excluded from the summary", with_remarks("Included in analysis", "no", *["yes"] * 7), right(_0="held"))
case("two remark columns, the first one good", lambda c: [
     [*row, *(["QC", "Remark"] if not i else ["pass", "swapped with next?" if i == 5 else ""])]
     for i, row in enumerate(plain(c))], right(_4="held"))  # fmt: skip
case("the class contradicts the share", columns(["Vial", "Florida proportion", "Class"],
     lambda i: [f(i), "Pure northern" if i == 7 else ""]), right(_7="held"))  # fmt: skip
case("words in a column without a heading", lambda c: [
     [*row, "" if i != 4 else "wrong tube"] for i, row in enumerate(plain(c))], right(_3="held"))  # fmt: skip
case("a lake that takes a value back", with_remarks("Lake", "Heron - DISREGARD"), right(_0="held"))
case("the analyst's column", with_remarks("Technician", "KB", "KB"), right())
case(
    "a number in the remarks", with_remarks("QC", "0.3", "0.9", "0.9", "0.9", "0.9", "0.9", "0.9", "0.9"), ASK
)

case("rejected, marked by a cross", columns(["Sample", "Florida proportion", "Reject"],
     lambda i: [f(i), "x" if i == 2 else ""]), right(_2="held"))  # fmt: skip
case("contaminated, yes or no", columns(["Sample", "Florida proportion", "Contaminated"],
     lambda i: [f(i), "yes" if i == 2 else "no"]), right(_2="held"))  # fmt: skip
case("excluded, true or false", columns(["Sample", "Florida proportion", "Excluded"],
     lambda i: [f(i), "TRUE" if i == 2 else "FALSE"]), right(_2="held"))  # fmt: skip
case("an error, yes", columns(["Sample", "Florida proportion", "Error"],
     lambda i: [f(i), "yes" if i == 2 else ""]), right(_2="held"))  # fmt: skip
case("a mixed sample", columns(["Sample", "Florida proportion", "Mixed sample"],
     lambda i: [f(i), "yes" if i == 2 else "no"]), right(_2="held"))  # fmt: skip
case("a species of another name", columns(["Sample", "Florida proportion", "Species"],
     lambda i: [f(i), "Spotted bass" if i == 2 else "Largemouth bass"]), right(_2="held"))  # fmt: skip
case("a species in letters", columns(["Sample", "Florida proportion", "Species"],
     lambda i: [f(i), "SPB" if i == 2 else "LMB"]), ASK)  # fmt: skip
case("a control among the fish", columns(["Sample", "Florida proportion", "Sample type"],
     lambda i: [f(i), "control" if i == 2 else "fish"]), right(_2="held"))  # fmt: skip
case("accepted by a word, one left blank", columns(["Sample", "Florida proportion", "Accepted"],
     lambda i: [f(i), "" if i == 2 else "yes"]), ASK)  # fmt: skip
case(
    "passed, 1 or 0",
    columns(["Sample", "Florida proportion", "Pass"], lambda i: [f(i), 0 if i == 2 else 1]),
    ASK,
)
case("low confidence", columns(["Sample", "Florida proportion", "Confidence"],
     lambda i: [f(i), "low" if i == 2 else "high"]), right(_2="held"))  # fmt: skip
case("a star behind a value", columns(["Sample", "Florida proportion"], lambda i: [f(i) + "*" * (i == 3)]),
     right(_3="held"))  # fmt: skip
case("below what could be measured", columns(["Sample", "% Florida"], lambda i: ["<5" if not i else p(i)]),
     right(_0="held"))  # fmt: skip

# --- units --------------------------------------------------------------------------------------------------
case("kept in percent, now a fraction", plain, ASK, kept(vial="Sample ID", q="Florida proportion"))
case("kept in percent, still percent", columns(["Sample ID", "Florida"], lambda i: [p(i)]), right(),
     kept(vial="Sample ID", q="Florida"))  # fmt: skip
case("alleles counted", columns(["Sample", "Florida alleles", "Loci"], lambda i: [ALLELES[i], 38]), ASK)
case("alleles counted, in as many words", columns(["Sample", "No. of Florida alleles", "Loci scored"],
     lambda i: [ALLELES[i], 38]), right())  # fmt: skip
case("alleles counted of both taxa", columns(["Sample", "Florida alleles", "Northern alleles", "Loci scored"],
     lambda i: [ALLELES[i], 76 - ALLELES[i], 38]), right())  # fmt: skip
case("a ratio of alleles", columns(["Sample", "Florida alleles", "Loci called"],
     lambda i: [f"{ALLELES[i]}/76", "38/38"]), right())  # fmt: skip
case("a ratio out of another number", columns(["Sample", "Florida alleles", "Loci scored"],
     lambda i: [f"{ALLELES[i]}/76", 36 if i == 2 else 38]), right(_2="held"))  # fmt: skip
case("percent signs", columns(["Sample", "Florida"], lambda i: [p(i) + "%"]), right())
case("percents in one half, fractions in the other", columns(["Sample", "Florida"],
     lambda i: [p(i) if i < 4 else f(i)]), ASK)  # fmt: skip
case("the heading says percent, the values do not", columns(["Sample", "% Florida"], lambda i: [f(i)]), ASK)
case("the heading says percent, one value is 3.95", columns(["Sample", "% Florida"],
     lambda i: ["3.95" if i == 0 else f(i)]), ASK)  # fmt: skip
case("few alleles in percent under share", lambda c: table(c, ["Sample", "Florida share"],
     lambda i: ["0.66" if i in (1, 4) else "0.00"]), ASK)  # fmt: skip
case("heterozygous loci counted", columns(["Sample", "Florida proportion", "Heterozygous loci", "Loci scored"],
     lambda i: [f(i), MIXED[i], 38]), right())  # fmt: skip
case(
    "per mille",
    columns(["Sample", "Florida", "Loci scored"], lambda i: [f"{1000 * ALLELES[i] / 76:.1f}", 38]),
    ASK,
)
case(
    "decimal commas",
    lambda c: csv_file([[str(x).replace(".", ",") for x in row] for row in plain(c)], ";"),
    right(),
)
case("cells shown in percent", book(lambda w, c: [setattr(w.active[f"B{r}"], "number_format", "0.0%")
     for r in range(2, 10)] and None,
     columns(["Sample", "% Florida"], lambda i: [ALLELES[i] / 76])), right())  # fmt: skip
case("northern and Florida sum to 100", columns(["Sample", "Northern", "Florida"],
     lambda i: [f"{100 - float(p(i)):.2f}", p(i)]), right())  # fmt: skip
case("whole percents without a word", columns(["Sample", "Florida"], lambda i: [p(i, 0)]), ASK)
case("no whole number of alleles in the file", columns(["Sample", "Florida proportion", "Loci scored"],
     lambda i: [f"{0.0713 + 0.1117 * i:.4f}", 38]), ASK)  # fmt: skip
case(
    "loci of another panel",
    columns(["Sample", "Florida proportion", "Loci scored"], lambda i: [f(i), 61]),
    ASK,
)
case("formulas never calculated", book(never_calculated), ASK)

# --- which column -------------------------------------------------------------------------------------------
case(
    "a fork length before q",
    columns(["Sample", "FL (cm)", "Florida proportion"], lambda i: [20 + i, f(i)]),
    right(),
)
case("FL alone, and q", columns(["Sample", "FL", "Florida proportion"], lambda i: [f"0.{2 + i}", f(i)]), ASK)
case("a mean of all fish before q", columns(["Sample", "Florida mean (all fish)", "Florida q"],
     lambda i: ["0.5378", f(i)]), ASK)  # fmt: skip
case(
    "an older year before q",
    columns(["Sample", "Florida 2024", "Florida 2026"], lambda i: ["0.5000", f(i)]),
    ASK,
)
case("two shares", columns(["Sample", "Florida", "Florida ancestry"], lambda i: ["0.5000", f(i)]), ASK)
case("the same share twice", columns(["Sample", "Florida", "% Florida"], lambda i: [f(i), p(i)]), right())
case("attempted before called", columns(["Sample", "SNPs attempted", "SNPs called", "Florida proportion"],
     lambda i: [38, 38 if i else 36, "0.0417" if not i else f(i)]), right(_0=3 / 72))  # fmt: skip
case("failed loci", columns(["Sample", "Failed loci", "Florida proportion"], lambda i: [0, f(i)]), right())
case("expected heterozygosity beside the observed", columns(
     ["Sample", "Florida proportion", "Expected heterozygosity", "Observed heterozygosity"],
     lambda i: [f(i), "0.4210", h(i)]), ASK)  # fmt: skip
case("a hidden draft before the value", book(hidden_column, columns(
     ["Sample", "Florida (draft)", "Florida proportion"], lambda i: ["0.5", f(i)])), ASK)  # fmt: skip
case(
    "a column nobody explains",
    columns(["Sample", "Florida proportion", "Zeta"], lambda i: [f(i), i * 1.7]),
    ASK,
)
case("lengths, weights, dates and a well", columns(
     ["Sample", "TL (mm)", "Weight (g)", "Date received", "Well", "Florida proportion"],
     lambda i: [300 + i, 400 + i, "2026-05-20", f"A{i + 1:02d}", f(i)]), right())  # fmt: skip
case("limits of an interval", columns(["Sample", "Florida proportion", "Florida lower 95% CI", "Florida upper 95% CI"],
     lambda i: [f(i), "0.01", "0.99"]), right())  # fmt: skip
case("a probability of assignment", columns(["Sample", "Assigned taxon", "q"],
     lambda i: ["Florida" if ALLELES[i] > 38 else "Northern", f"{max(ALLELES[i], 76 - ALLELES[i]) / 76:.4f}"]),
     ASK)  # fmt: skip
case("an unnamed q", columns(["Sample", "q"], lambda i: [f(i)]), ASK)
case("an unnamed q under a title for the other taxon", lambda c: [
     ["Northern largemouth ancestry"], *table(c, ["Sample", "q"], lambda i: [f(i)])], ASK)  # fmt: skip
case("an unnamed q that a line explains", lambda c: [
     ["q: proportion of Florida alleles"], *table(c, ["Sample", "q"], lambda i: [f(i)])], right())  # fmt: skip
case("an unnamed q and a class that agrees", columns(["Sample", "q", "Class"],
     lambda i: [f(i), {7: "Pure Florida", 6: "Florida", 0: "northern"}.get(i, "mixed")]), right())  # fmt: skip
case("an unnamed q that a line turns round", lambda c: [
     ["q = 1 - Florida"], *table(c, ["Sample", "q"], lambda i: [f(i)])], ASK)  # fmt: skip
case("loci of one taxon", columns(["Sample", "Florida loci", "Loci scored"], lambda i: [MIXED[i], 38]), ASK)
case(
    "corrected beside raw",
    columns(["Sample", "Florida (raw)", "Florida (corrected)"], lambda i: ["0.5", f(i)]),
    ASK,
)
case("two runs", columns(["Sample", "Florida rep1", "Florida rep2"], lambda i: [f(i), f(i)]), ASK)
case("a probability", columns(["Sample", "P(Florida)"], lambda i: [f(i)]), ASK)
case("two tables side by side", lambda c: [["Sample", "Florida proportion", "", "Sample", "Florida proportion"],
     *[[c[i], f(i), "", c[i + 4], f(i + 4)] for i in range(4)]], right())  # fmt: skip
case("a plain file of many columns", columns(
     ["Sample ID", "Lake", "TL_mm", "FL%", "NL%", "#Loci", "Hybrid class", "Tissue type", "DNA conc. (ng/uL)"],
     lambda i: ["Heron", 300 + i, p(i), f"{100 - float(p(i)):.2f}", 38, "Fx" if 0 < ALLELES[i] < 76 else "pure", "swab",
                12.5]), right())  # fmt: skip
case("northern alone", columns(["Sample", "Northern proportion"], lambda i: [f(i)]), ASK)
case("salmoides", columns(["Sample", "M. salmoides proportion"], lambda i: [f(i)]), ASK)
case("a row for each taxon", lambda c: [["Sample", "Taxon", "Proportion"], *(
     row for i, code in enumerate(c)
     for row in ([code, "Florida", f(i)], [code, "Northern", f"{1 - ALLELES[i] / 76:.4f}"])
     )], right())  # fmt: skip
case("a row for each fish, its better taxon", lambda c: [["Sample", "Taxon", "Proportion"], *(
     [code, "Florida" if ALLELES[i] > 38 else "Northern", f"{max(ALLELES[i], 76 - ALLELES[i]) / 76:.4f}"]
     for i, code in enumerate(c))], ASK)  # fmt: skip

# --- lines and marks ----------------------------------------------------------------------------------------
case(
    "two samples exchanged, in a footnote", lines(below=["* {1} and {2} were exchanged during plating"]), ASK
)
case(
    "exchanged, without their codes",
    lines(below=["Please note that wells B2 and B3 were interchanged."]),
    ASK,
)
case("a draft", lines(above=["DRAFT"]), ASK)
case("preliminary", lines(above=["Preliminary results, Heron Lake"]), ASK)
case(
    "a letterhead",
    lines(above=["Quillback Genotyping", "Run QB-0601, largemouth bass, 38 loci", "Page 1 of 1"]),
    right(),
)
case("totals below", lines(below=["Mean", "n = 8", "Total samples: 8"]), right())
case("the unit in a line", lines(above=["All values are given in percent"]), ASK)
case("the unit in a line that agrees", lambda c: [["Results in percent"], *table(c, ["Sample", "Florida"],
     lambda i: [p(i)])], right())  # fmt: skip
case("a plate lost its order", lines(below=["Plate 2 was loaded upside down"]), ASK)
case("signed by a person", lines(below=["Reviewed by: K. Bell", "Date: 2026-06-02"]), right())
case("a legend for red", book(marked_legend), ASK)
case("a key of colours on another sheet", book(key_of_colours), ASK)
case("banded rows", book(banded), right())
case("red ink", book(red_ink), ASK)
case("a comment takes a value back", book(comment("contaminated - do not report")), right(_1="held"))
case("a comment nobody can judge", book(comment("cf. run 3")), ASK)
case("a remark out of sight", book(lambda w, c: setattr(w.active.column_dimensions["D"], "hidden", True),
     with_remarks("QC", "FAIL")), ASK)  # fmt: skip
case("a sheet out of sight", book(hidden_sheet), ASK)
case("corrections on a second sheet", book(second_sheet_corrects), ASK)
case("struck through in .xls", lambda c: write(Sheet(plain(c), struck={(3, 1)}), "xls")[0], right(_2="held"))
case("struck through in .ods", lambda c: write(Sheet(plain(c), struck={(3, 1)}), "ods")[0], right(_2="held"))
case("hidden rows in .xls", lambda c: write(Sheet(plain(c), hidden_rows={3}), "xls")[0], ASK)
case("hidden rows in .ods", lambda c: write(Sheet(plain(c), hidden_rows={3}), "ods")[0], ASK)

# --- other shapes -------------------------------------------------------------------------------------------
case("a web page named .xls", lambda c: write(Sheet(plain(c)), "html")[0], right())
case("a real .xls", lambda c: write(Sheet(plain(c)), "xls")[0], right())
case("a row of units below the heading", lambda c: [
     ["Sample", "Florida", "H", "Loci scored"], ["", "(%)", "(%)", "(n)"],
     *([code, p(i), f"{100 * MIXED[i] / 38:.2f}", 38] for i, code in enumerate(c))], right())  # fmt: skip
case("three heading rows", lambda c: [
     ["Sample", "Ancestry", "", "Quality"], ["ID", "Florida", "Northern", "Loci"], ["", "%", "%", "scored"],
     *([code, p(i), f"{100 - float(p(i)):.2f}", 38] for i, code in enumerate(c))], right())  # fmt: skip
case("failures with their reason", columns(["Sample", "Florida proportion"],
     lambda i: ["fail – low DNA" if i == 2 else "no amp (2 tries)" if i == 5 else f(i)]),
     right(_2="failed", _5="failed"))  # fmt: skip
case("codes with their well", lambda c: [[row[0] if not i else f"{row[0]}_{'ABCDEFGH'[i - 1]}01", *row[1:]]
     for i, row in enumerate(plain(c))], right())  # fmt: skip
case("codes with direction marks", lambda c: [[row[0] if not i else f"\u202a{row[0]}\u202c", *row[1:]]
     for i, row in enumerate(plain(c))], right())  # fmt: skip
case("a row for each locus", lambda c: [["Sample", "Locus", "Florida alleles"], *(
     [code, f"M{m:02d}", genotype(i, m)]
     for i, code in enumerate(c) for m in range(1, 39))], right())  # fmt: skip
case("a key of the lab's own numbers", book(lambda w, c: [
     sheet.append(row) for sheet in [w.create_sheet("Key")]
     for row in [["Lab ID", "Client ID"], *[[f"Q{100 + i}", code] for i, code in enumerate(c)]]] and None,
     lambda c: [[row[0] if not i else f"Q{99 + i}", *row[1:]] for i, row in enumerate(plain(c))]), right())  # fmt: skip


def with_key(
    *columns_: Callable[[int], Any], heads: Sequence[str], line: str = ""
) -> Callable[[Codes], bytes]:
    """The table by the lab's own numbers, and a key sheet with further columns."""

    def change(workbook: Any, codes: Codes) -> None:
        sheet = workbook.create_sheet("Key")
        for row in ([line], []) if line else ():
            sheet.append(row)
        sheet.append(["Lab ID", "Client ID", *heads])
        for i, code in enumerate(codes):
            sheet.append([f"Q{100 + i}", code, *(cell(i) for cell in columns_)])

    return book(
        change, lambda c: [[row[0] if not i else f"Q{99 + i}", *row[1:]] for i, row in enumerate(plain(c))]
    )


case("a note in the key", with_key(lambda i: "2/3 possibly swapped" if i in (2, 3) else "", heads=["Note"]),
     right(_2="held", _3="held"))  # fmt: skip
case("a word nobody knows in the key", with_key(lambda i: "cf. 7" * (i == 2), heads=["Remark"]), ASK)
case("a species in the key", with_key(lambda i: "Spotted bass" if i == 2 else "LMB", heads=["Species"]),
     right(_2="held"))  # fmt: skip
case("a key of tubes and dates", with_key(lambda i: f"T-{i}", lambda i: "2026-05-20", lambda i: "A1",
     heads=["Tube", "Date received", "Box"]), right())  # fmt: skip
case("a line above the key", with_key(heads=[], line="Q102 and Q103 were exchanged"), ASK)
case("codes that a spreadsheet turned into dates", lambda c: [[row[0] if i != 3 else "4-Mar", *row[1:]]
     for i, row in enumerate(plain(c))], right(_2=None))  # fmt: skip
case("the same vial twice, other values", lambda c: [*plain(c), [c[0], "0.5000", 38]], right(_0="held"))


# --- written by hand, as further laboratories may send them -----------------------------------------------------
def with_sheet(name: str, *rows: list[Any]) -> Callable[[Codes], bytes]:
    """The plain table, and another sheet beside it."""
    return book(lambda w, c: [sheet.append(row) for sheet in [w.create_sheet(name)] for row in rows] and None)


def coloured_by_a_rule(workbook: Any, codes: Codes) -> None:
    rule = CellIsRule(operator="lessThan", formula=["0.1"], fill=PatternFill("solid", bgColor="FF0000"))
    workbook.active.conditional_formatting.add("B2:B9", rule)


def merged_over_two(workbook: Any, codes: Codes) -> None:
    workbook.active["B4"] = None
    workbook.active.merge_cells("B3:B4")


def held_as(text: str) -> Layout:
    return Layout(against=frozenset({text}))


def named(taxon: str = "", **columns_: str) -> Layout:
    """What a person says of one file: its columns, and whose alleles q counts."""
    return Layout(columns=columns_, answered=frozenset(columns_), taxon_of_q=taxon)


LETTERS = named(vial="A", q="B", n_loci="C")
case("two decimal marks in one column", lambda c: csv_file(table(c, ["Sample", "Florida", "Loci scored"],
     lambda i: [(p(i) if i % 2 else p(i).replace(".", ",")) + " %", 38]), ";"), right())  # fmt: skip
case(
    "a margin behind each value",
    columns(["Sample", "Florida proportion"], lambda i: [f"{f(i)} ± 0.03"]),
    right(),
)
case("an interval behind each value", columns(["Sample", "Florida proportion"], lambda i: [f"{f(i)} (0.01-0.99)"]),
     right())  # fmt: skip
case("means between the plates", lambda c: [
     *plain(c)[:5], ["Average plate 1", "0.2632", 38], [], *plain(c)[5:], ["Overall", "0.5", ""]], right())  # fmt: skip
case("an interval behind each value, two of other fish", columns(["Sample", "Florida proportion"],
     lambda i: [f"{f(i)} (0.70-0.90)" if i in (2, 4) else f"{f(i)} (0.00-1.00)"]),
     right(_2="held", _4="held"))  # fmt: skip
case("another shipment above", lines(["Shipment: SH-7"]), ASK)
case("this shipment and another above", lines(["Shipment: SH-1, sent with SH-7"]), right())
case("analysed before the catch", lines(["Date of analysis: 1999-11-03"]), ASK)
case("reported before the catch", lines(["Date printed: 1999-11-03"]), right())
case("two rows analysed before the catch", columns(["Sample", "Florida proportion", "Date analysed"],
     lambda i: [f(i), "3/11/1999" if i in (2, 5) else "2026-06-10"]), right(_2="held", _5="held"))  # fmt: skip
case("lakes as titles between", lambda c: [
     plain(c)[0], ["Heron Lake"], *plain(c)[1:5], [], ["Lake Heron"], *plain(c)[5:]], right())  # fmt: skip
case("a table lying on its side", lambda c: [["Sample", *c], ["Florida proportion", *map(f, range(N))],
     ["Loci scored", *[38] * N]], right())  # fmt: skip
case("no heading", lambda c: plain(c)[1:], ASK)
case("no heading, columns by letter", lambda c: plain(c)[1:], ASK, LETTERS)
case(
    "no heading, columns by letter, of Florida",
    lambda c: plain(c)[1:],
    right(),
    replace(LETTERS, taxon_of_q="Florida"),
)
northern = columns(["Sample", "Northern %"], lambda i: [f"{100 - float(p(i)):.2f}"])
case("northern alone, named as q", northern, ASK, named(q="Northern %"))
case("northern alone, named as q by the lab's layout", northern, ASK, Layout(columns={"q": "Northern %"}))
case("northern alone, named as q of northern alleles", northern, right(), named("northern", q="Northern %"))
case("northern alone, and nothing else is left", northern, right(), Layout(taxon_of_q="northern"))
case("northern alone, named as that", northern, right(), named(other_q="Northern %"))
case("northern alone, kept as that", northern, ASK, Layout(columns={"other_q": "Northern %"}))
case(
    "Florida named as northern", columns(["Sample", "% FLMB"], lambda i: [p(i)]), ASK, named(other_q="% FLMB")
)
case("salmoides named as northern", columns(["Sample", "M. salmoides proportion"], lambda i: [f(7 - i)]),
     {i: 1 - ALLELES[7 - i] / 76 for i in range(N)}, named(other_q="M. salmoides proportion"))  # fmt: skip
case("northern and a third lineage", columns(["Sample", "Northern %", "Delta %"], lambda i: [p(i), "0"]), ASK,
     Layout(taxon_of_q="northern"))  # fmt: skip
turned = columns(["Sample", "1 - Florida"], lambda i: [f"{1 - ALLELES[i] / 76:.4f}"])
case("what Florida leaves", turned, ASK)
case("what Florida leaves, named as q", turned, ASK, named(q="1 - Florida"))
case("what Florida leaves, named as northern", turned, right(), named("northern", q="1 - Florida"))
case("not northern, named as northern", columns(["Sample", "Non-northern %"], lambda i: [p(i)]), ASK,
     named(other_q="Non-northern %"))  # fmt: skip
case(
    "a code with a question mark, and the plain one",
    lambda c: [*plain(c), [f"{c[0]}?", "0.5000", 38]],
    right(_0="held"),
)
assays = columns(
    ["Sample", "Assay", "Florida"], lambda i: ["Spotted bass v2" if i in (2, 5) else "LMB38", f(i)]
)
case("two assays", assays, ASK)
case(
    "two assays, one of which is held",
    assays,
    right(_2="held", _5="held"),
    Layout(against=frozenset({"spotted bass v2"})),
)
case("one assay", columns(["Sample", "Assay", "Florida"], lambda i: ["LMB38", f(i)]), right())
case(
    "an assay of another species",
    columns(["Sample", "Assay", "Florida"], lambda i: ["Spotted bass", f(i)]),
    ASK,
)
case(
    "shares rounded to whole numbers",
    columns(["Sample", "Florida proportion", "Loci"], lambda i: [i % 2, 38]),
    ASK,
)
case("classes of one letter", columns(["Sample", "Pct FLMB", "class"],
     lambda i: [p(i), {7: "F", 0: "F", 1: "N"}.get(i, "X")]), right(_0="held"))  # fmt: skip
case("the rest of each share", columns(["Sample", "Pct FLMB", "LMB-N"], lambda i: [p(i), f"{100 - float(p(i)):.2f}"]),
     right(), named(other_q="LMB-N"))  # fmt: skip
twice = columns(["Sample", "Florida", "Florida %"], lambda i: [f(i), "0.0" if i == 3 else p(i)])
case("the same shares twice, one of them otherwise", twice, ASK)
case("the same shares twice, one of them otherwise, one named", twice, right(_3="held"), named(q="Florida"))
exchanged_labels = columns(["Customer ID", "Tube label", "Florida"],
     lambda i: [codes(N)[{2: 3, 3: 2}.get(i, i)], f(i)])  # fmt: skip
case(
    "two vials exchanged in a second column",
    exchanged_labels,
    right(_2="held", _3="held"),
    named(vial="Customer ID"),
)
case("a star behind a good word", with_remarks("Status", "OK", "Pass*"), ASK)
case("a star behind a good word, which means nothing", with_remarks("Status", "OK", "Pass*"), right(),
     Layout(harmless=frozenset({"pass *"})))  # fmt: skip
two_lines = [["Sample", "Florida", "Loci"], ["(code)", "(1 = northern)", "(max 38)"]]
case(
    "a second line of the heading", lambda c: [*two_lines, *([one, f(i), 38] for i, one in enumerate(c))], ASK
)
case("a line of the heading, said so", lambda c: [*two_lines, *([one, f(i), 38] for i, one in enumerate(c))], ASK,
     Layout(heading_row=1, heading_rows=2))  # fmt: skip
clusters = columns(["Sample", "Q1", "Q2"], lambda i: [f"{1 - ALLELES[i] / 76:.4f}", f(i)])
case("two clusters without a name", clusters, ASK)
case("one of two clusters named as q", clusters, ASK, replace(named(q="Q1"), harmless=frozenset({"q2"})))
case("both clusters named", clusters, right(), named("Florida", q="Q2", other_q="Q1"))
case("both clusters named in an earlier file", clusters, ASK, Layout(columns={"q": "Q2", "other_q": "Q1"}))
case("one of two clusters named as northern", clusters, right(),
     replace(named("northern", q="Q1"), harmless=frozenset({"q2"})))  # fmt: skip
case("a value merged over two samples", book(merged_over_two), ASK)
case("coloured where a condition holds", book(coloured_by_a_rule), ASK)
case("coloured where a condition holds, said to be harmless", book(coloured_by_a_rule), right(),
     Layout(harmless=frozenset({"rule < 0 1"})))  # fmt: skip
case("the share of the better taxon, as a person says", columns(["Sample", "Assigned taxon", "q"],
     lambda i: ["Florida" if ALLELES[i] > 38 else "Northern", f"{max(ALLELES[i], 76 - ALLELES[i]) / 76:.4f}"]),
     right(), Layout(taxon_of_q="each row"))  # fmt: skip
case("each row, where no column names a taxon", columns(["Sample", "q"], lambda i: [f(i)]), ASK,
     Layout(taxon_of_q="each row"))  # fmt: skip
case("ok or failed under Call", columns(["Sample", "Call", "Florida proportion"],
     lambda i: ["failed" if i == 2 else "ok", f(i)]), right(_2="held"))  # fmt: skip
case("q and H under each other's heading", columns(["Sample", "Florida proportion", "H", "Loci scored"],
     lambda i: [h(i), f(i), 38]), ASK)  # fmt: skip
case("loci scored of those tried, beside a count", columns(["Sample", "No. of Florida alleles", "Loci scored"],
     lambda i: [ALLELES[i], "38/38"]), right())  # fmt: skip
case(
    "units in the name of H", columns(["Sample", "Florida (0-1)", "H (0-1)"], lambda i: [f(i), h(i)]), right()
)
case("a mark that stands for something", with_remarks("Status", "(!)", first=3), ASK)
case("a word under Code, once", columns(["Sample", "Florida proportion", "Code"],
     lambda i: [f(i), "X" if i == 3 else ""]), ASK)  # fmt: skip
case("words under Code, one with a number", columns(["Sample", "Florida proportion", "Code"],
     lambda i: [f(i), "see note 3" if i == 3 else "ok"]), ASK)  # fmt: skip
case("a footnote below the first column, the vial last", lambda c: [["Florida proportion", "Vial"],
     *[[f(i), code] for i, code in enumerate(c)], ["Two of the samples were exchanged on the plate"]], ASK)  # fmt: skip
case("two loci scored", columns(["Sample", "Florida proportion", "Loci scored"],
     lambda i: ["0.5000", 2] if i == 3 else [f(i), 38]), right(_3="held"))  # fmt: skip
case("an eighth of the loci called", columns(["Sample", "Florida proportion", "Call rate"],
     lambda i: [f(i), 0.12 if i == 3 else 0.98]), right(_3="held"))  # fmt: skip
case(
    "means on a sheet of their own",
    with_sheet("Summary", ["Lake", "n", "Mean Florida"], ["Heron", 8, 0.5]),
    right(),
)
case(
    "a summary that says more",
    with_sheet("Summary", ["Lake", "n"], ["The values are northern ancestry"]),
    ASK,
)
case("a summary of corrections", with_sheet("Totals", ["Lake", "n"], ["Heron (rejected)", 8]), ASK)
case("a unit in each row", columns(["Sample", "Florida", "Unit"],
     lambda i: [p(i), "%"] if i % 2 else [f(i), "prop"]), right())  # fmt: skip
case("another vial for each", lambda c: [["Sample", "New ID", "Florida proportion"], *(
     [code, c[(i + 1) % N], f(i)] for i, code in enumerate(c))], ASK)  # fmt: skip
case("corrected values below", lambda c: [*plain(c), [], ["Corrected values:"], [c[2], "0.9000", 38]], ASK)
case(
    "re-runs on a second sheet",
    lambda c: with_sheet("Re-runs", plain(c)[0], [c[2], 0.9, 38])(c),
    right(_2="held"),
)
case("a heading that takes its column back", columns(["Sample", "Florida - DO NOT USE", "Florida q"],
     lambda i: ["0.5", f(i)]), ASK)  # fmt: skip
case(
    "alleles a locus",
    columns(["Sample", "Florida alleles per locus"], lambda i: [f"{ALLELES[i] / 38:.4f}"]),
    ASK,
)
case("a logit", columns(["Sample", "Florida logit"], lambda i: [f"{(ALLELES[i] - 38) / 10:.3f}"]), ASK)
case("exchanged, in another language", lines(below=["Les tubes 3 et 4 ont été inversés"]), ASK)
case("a draft, in another language", lines(above=["Entwurf - nicht zur Weitergabe"]), ASK)
case("a remark behind a code", lambda c: [[row[0] if i != 4 else f"{row[0]} (mislabelled)", *row[1:]]
     for i, row in enumerate(plain(c))], right(_3="held"))  # fmt: skip


def with_codes(change: Callable[[int, Codes], str]) -> Callable[[Codes], Rows]:
    """The plain table, its codes written otherwise."""
    return lambda c: [[row[0] if not i else change(i - 1, c), *row[1:]] for i, row in enumerate(plain(c))]


for n, behind in enumerate(("_rerun", "-R2", " rep", " (2)", "rerun")):
    again = lambda c, behind=behind: [*plain(c), [c[0] + behind, "0.5000", 38]]  # noqa: E731
    case(f"a re-run below, {n}", again, right(_0="held"))
case("a re-run before the plain row", lambda c: [plain(c)[0], [f"rerun {c[0]}", "0.5000", 38], *plain(c)[1:]],
     right(_0="held"))  # fmt: skip
case("a re-run that says the same", lambda c: [*plain(c), [f"{c[0]} rep", f(0), 38]], right())
case("a re-run that failed", lambda c: [*plain(c), [f"{c[0]}_rerun", "", 38]], right(_0="held"))
case("two codes on one tube", with_codes(lambda i, c: f"{c[3]}/{c[4]}" if i == 3 else c[i]), right(_3=None))
numbered = with_codes(lambda i, c: f"{c[i]}_S{i + 1}")
case("a number behind every code", numbered, ASK)
beside = frozenset({"text beside the codes"})
case("a number behind every code, which changes nothing", numbered, right(), Layout(harmless=beside))
case(
    "a number behind every code, which may", numbered, dict.fromkeys(range(N), "held"), Layout(against=beside)
)
case("a number behind every code, and one re-run", with_codes(lambda i, c: f"{c[i]}_S{i}{' re-run' * (i == 2)}"),
     right(_2="held"), Layout(harmless=beside))  # fmt: skip
case("a remark behind a value", columns(["Sample", "Florida proportion"],
     lambda i: [f(i) + " (low conf.)" * (i == 3)]), right(_3="held"))  # fmt: skip
case("date numbers and scientific notation", columns(["Sample", "Date", "Florida proportion", "Loci scored"],
     lambda i: [46163 + i, f"{ALLELES[i] / 76:.3E}", 38]), right())  # fmt: skip
case("a per cent column with one fraction of a hundred", columns(["Sample", "% Florida"],
     lambda i: ["100" if i == 7 else f(i)]), ASK)  # fmt: skip
case(
    "yes or no under Florida",
    columns(["Sample", "Florida", "q"], lambda i: ["yes" if i > 3 else "no", f(i)]),
    ASK,
)
case("two panels side by side", columns(["Sample", "Florida (38 SNPs)", "Florida (61 SNPs)"],
     lambda i: [f(i), "0.5"]), ASK)  # fmt: skip
case("a second table of the other taxon below", lambda c: [*plain(c)[:5], [], ["Sample", "Northern proportion", "Loci"],
     *([c[i], f"{1 - ALLELES[i] / 76:.4f}", 38] for i in range(4, N))], ASK)  # fmt: skip


# --- a third lineage ------------------------------------------------------------------------------------------
def with_third(*heads: str, other: bool = True, percent: bool = False) -> Callable[[Codes], Rows]:
    """Fish 2 has a fifth, and fish 5 a hundredth, of the lineages in further columns, the others nothing of them."""

    def shares(i: int) -> list[str]:
        third = {2: 0.2, 5: 0.01}.get(i, 0.0)
        parts = [ALLELES[i] / 76 * (1 - third), (1 - ALLELES[i] / 76) * (1 - third)][: 1 + other]
        parts += [third / len(heads)] * len(heads)
        return [f"{100 * part:.2f}" if percent else f"{part:.4f}" for part in parts]

    return columns(
        ["Sample", *["% Florida" if percent else "Florida", "Northern"][: 1 + other], *heads], shares
    )


THIRDS = ("Spotted bass", "Alabama", "% Shoal", "SPB", "Other", "M. henshalli")
third_held = right(_2="held", _5=pytest.approx(60 / 76 * 0.99, abs=1e-3))
for head in THIRDS:
    case(f"{head} beside the two, unanswered", with_third(head), ASK)
    case(f"{head} as the third share", with_third(head), third_held, named(third_q=head))
    case(f"{head} called harmless", with_third(head, other=False, percent="%" in head), third_held,
         Layout(harmless=frozenset({answer_key(head)})))  # fmt: skip
case("a third share that is known by its name", with_third("Delta"), third_held)
case("two more lineages, of which one is named", with_third("Alabama", "Shoal", other=False), third_held,
     replace(named(third_q="Alabama"), harmless=frozenset({"shoal"})))  # fmt: skip
case("beds of spotted grass, in words", columns(["Sample", "Florida", "Shoal"],
     lambda i: [f(i), "no" if i == 2 else "yes"]), ASK)  # fmt: skip


# --- a person says: yes, it changes the values ------------------------------------------------------------------
def held(*texts: str) -> Layout:
    return Layout(against=frozenset(answer_key(text.format(*codes(N))) for text in texts))


def of_unit(unit: str) -> Layout:
    return Layout(units={"q": unit})


swapped = "{1} and {2} were exchanged during plating"
rows_2_and_3 = right(_1="held", _2="held")
everything: dict[int, Any] = dict.fromkeys(range(N), "held")
case("exchanged, and held", lines(below=[swapped]), rows_2_and_3, held(swapped))
as_printed = " was contaminated by ".join(map(printed, codes(N)[1:3]))
case("exchanged, codes as printed, and held", lines(below=[as_printed]), rows_2_and_3, held(as_printed))
case("interchanged wells, and held", lines(below=["Wells B2 and B3 were interchanged"]), everything,
     held("Wells B2 and B3 were interchanged"))  # fmt: skip
case("a footnote, and held", lambda c: [*with_remarks("Plate", "1*", "1", first=2)(c), ["* low DNA"]],
     right(_2="held"), held("* low DNA"))  # fmt: skip
case("a legend, and held", book(marked_legend), right(_1="held"),
     held("Red: re-extraction gave another genotype, do not use", "colour FF0000"))  # fmt: skip
case(
    "a sheet of corrections, and held",
    book(second_sheet_corrects),
    right(_2="held"),
    held("sheet Corrections"),
)
case("a sheet out of sight, and held", book(hidden_sheet), everything, held("sheet final v2"))
case("a column nobody explains, and held",
     columns(["Sample", "Florida proportion", "Zeta"], lambda i: [f(i), 1.7 if i in (3, 5) else ""]),
     right(_3="held", _5="held"), held("Zeta"))  # fmt: skip
case("many words, and the column held",
     columns(["Sample", "Florida proportion", "Remark"], lambda i: [f(i), "ok" if i == 2 else f"batch q{i}x"]),
     {**everything, 2: 27 / 76}, held("Remark"))  # fmt: skip
case("no whole number of alleles, and held", columns(["Sample", "Florida proportion", "Loci scored"],
     lambda i: [f"{0.0713 + 0.1117 * i:.4f}", 38]), everything, held("not whole numbers"))  # fmt: skip
case("a third lineage", columns(["Sample", "FLMB", "NLMB", "SPB"],
     lambda i: [f(i), f"{1 - ALLELES[i] / 76:.4f}", "0"]), right(), named(third_q="SPB"))  # fmt: skip

starred = with_remarks("Status", "Pass*", "Pass", first=3)
case("a star behind a good word, and held", starred, right(_3="held"), held("Pass*"))
case(
    "a star behind a good word, which changes nothing",
    starred,
    right(),
    Layout(harmless=frozenset({"pass *"})),
)
case("the good word without the star held", starred, ASK, held("Pass"))
case("a doubled mark is another one", with_remarks("Status", "Pass**", "Pass*", first=3), ASK, held("Pass*"))

# --- a unit that a person names, against the rest of the column -------------------------------------------------
both = columns(["Sample", "Florida"], lambda i: [p(i) if i < 4 else f(i)])
case(
    "two units, said to be percent", both, right(**{f"_{i}": "held" for i in range(4, N)}), of_unit("percent")
)
case("two units, said to be a fraction", both, everything, of_unit("fraction"))
case("a fraction, and two percents", columns(["Sample", "Florida"], lambda i: ["45"] if i == 2 else ["1"] if i == 5
     else [f(i)]), right(_2="held", _5="held"), of_unit("fraction"))  # fmt: skip
case(
    "percent, as a person says", columns(["Sample", "Florida"], lambda i: [p(i)]), right(), of_unit("percent")
)
case("a ratio among fractions", columns(["Sample", "Florida"], lambda i: ["19/38"] if i == 3 else [f(i)]), right(),
     of_unit("fraction"))  # fmt: skip
case("fractions among signed percents", columns(["Sample", "Florida"],
     lambda i: [f(i) if i in (2, 5) else p(i) + "%"]), right(_2="held", _5="held"), of_unit("percent"))  # fmt: skip
case("fractions among signed percents, said to be fractions", columns(["Sample", "Florida"],
     lambda i: [f(i) if i in (2, 5) else p(i) + "%"]), right(), of_unit("fraction"))  # fmt: skip


# --- counts of alleles out of what was scored -------------------------------------------------------------------
def counted(*heads: str, loci: str = "") -> Callable[[Codes], Rows]:
    """Alleles counted of all 76, and of half of the loci in fish 3 and 4."""

    def cells(i: int) -> list[Any]:
        alleles, scored = (ALLELES[i] // 2, 38) if i in (3, 4) else (ALLELES[i], 76)
        shown = {"other": scored - alleles, "total": scored}
        return [
            alleles,
            *(shown["total" if "otal" in head or "scored" in head else "other"] for head in heads),
        ]

    return columns(["Sample", "No. Florida alleles", *heads], cells)


halves = right(_3=0.5, _4=20 / 38)
no_n = Layout(units={"q": "count"}, harmless=frozenset({"n alleles"}))
case("counts beside their total", counted("Total alleles scored"), halves)
case("counts of both taxa beside their total", counted("Northern alleles", "Alleles scored"), halves)
case("counts and a column that is called harmless", counted("N alleles", "Total alleles"), halves, no_n)
case("alleles scored of those tried", columns(["Sample", "Florida alleles", "Gene copies scored"],
     lambda i: [f"{ALLELES[i]}/76", "76/76"]), right())  # fmt: skip


# --- how sure the lab was --------------------------------------------------------------------------------------
def sure(heading: str, usual: float, odd: float, *rows_: int, vary: float = 0.01) -> Callable[[Codes], Rows]:
    """A column of sureness in which some rows are far from the others."""
    return columns(["Sample", "Florida proportion", heading, "Loci scored"],
                   lambda i: [f(i), odd if i in rows_ else round(usual * (1 - vary * (i % 3)), 3), 38])  # fmt: skip


case("one confidence far below the others", sure("Confidence", 0.98, 0.41, 3), right(_3="held"))
case("one confidence far below, in percent", sure("Confidence (%)", 98, 41, 3), right(_3="held"))
for heading in ("Posterior", "Call quality", "GenCall score", "Assignment probability"):
    said = Layout(harmless=frozenset({answer_key(heading)}))
    case(f"{heading} without an answer", sure(heading, 0.98, 0.41, 3), ASK)
    case(f"{heading}, two far below, called harmless", sure(heading, 0.98, 0.41, 3, 5),
         right(_3="held", _5="held"), said)  # fmt: skip
    case(f"{heading} that varies, called harmless", sure(heading, 0.98, 0.41, 3, vary=0.25), right(), said)
case("confidence that is low in half of the rows", sure("Confidence", 0.98, 0.41, 1, 3, 5, 7), right())
case("few reads of one", sure("Reads", 9000, 80, 3, vary=0.3), right(_3="held"))
case("half of the reads", sure("Reads", 9000, 4000, 3), right())
case("limits of a confidence interval", sure("Lower confidence limit", 0.5, 0.01, 3), right())
case("loci missing, and no number scored", columns(["Sample", "Florida proportion", "Missing loci"],
     lambda i: [f(i), 30 if i == 3 else i % 3]), right(_3="held"))  # fmt: skip
case("loci missing against those scored", columns(["Sample", "Florida proportion", "Missing loci", "Loci scored"],
     lambda i: [f(i), 30 if i == 3 else i % 3, 38]), right(_3="held"))  # fmt: skip


# --- titles between, units above, and rows of words --------------------------------------------------------------
def two_titles(first: str, second: str, *, again: bool) -> Callable[[Codes], Rows]:
    """One table with a title above it and one in the middle, where the second half is what Florida leaves."""
    head = ["Sample", "Florida", "Loci"]

    def make(codes: Codes) -> Rows:
        top = [[codes[i], f(i), 38] for i in range(4)]
        rest = [[codes[i], f"{1 - ALLELES[i] / 76:.4f}", 38] for i in range(4, N)]
        return [[first], head, *top, [], [second], *([head] if again else []), *rest]

    return make


florida, northern = "Table 1: Florida ancestry", "Table 2: northern ancestry (share)"
both_said = Layout(harmless=frozenset(map(answer_key, (florida, northern))))
all_held: dict[int, Any] = dict.fromkeys(range(N), "held")
case("two titles, both called harmless", two_titles(florida, northern, again=True), ASK, both_said)
case("two titles under one heading, both called harmless", two_titles(florida, northern, again=False), ASK,
     both_said)  # fmt: skip
second_held = right(**{f"_{i}": "held" for i in range(4, N)})
case("two titles, the second held", two_titles(florida, northern, again=True), second_held,
     replace(both_said, against=frozenset({answer_key(northern)})))  # fmt: skip
case("a batch that is held, and the next one", lambda c: [*plain(c)[:3], ["Batch 2 (contaminated)"], *plain(c)[3:6],
     ["Batch 3"], *plain(c)[6:]], right(_2="held", _3="held", _4="held"),
     Layout(harmless=frozenset({"batch 3"}), against=frozenset({"batch 2 contaminated"})))  # fmt: skip
pond = "Northern Pond"
case("the name of a pond between", lambda c: [*plain(c)[:4], [pond], *plain(c)[4:]], right(),
     Layout(harmless=frozenset({answer_key(pond)})))  # fmt: skip
in_percent = "Florida ancestry, values in percent"
harmless_title = Layout(harmless=frozenset({answer_key(in_percent)}))


def under_percent(c: Codes) -> Rows:
    return [[in_percent], *table(c, ["Sample", "Florida"], lambda i: [f"{ALLELES[i] / 80:.2f}"])]


case("percent above fractions, called harmless", under_percent, ASK, harmless_title)
case("percent above fractions, said to be fractions", under_percent, right(**{f"_{i}": round(k / 80, 2)
     for i, k in enumerate(ALLELES)}), replace(harmless_title, units={"q": "fraction"}))  # fmt: skip
case("loci that a row excludes", lambda c: [
     ["Sample", *[f"M{m:02d}" for m in range(1, 39)]], ["Status", *["keep"] * 28, *["exclude"] * 10],
     *[[code, *[genotype(i, m) for m in range(1, 39)]] for i, code in enumerate(c)]], ASK,
     Layout(counted="Florida", coding="counts"))  # fmt: skip
notes = ["Extraction by magnetic beads"], ["Plate row D: pipetting error, values not valid"]
notes_harmless, second_note = frozenset({"sheet notes"}), frozenset({answer_key(notes[1][0])})
case("a sheet of notes, called harmless", with_sheet("Notes", *notes), ASK, Layout(harmless=notes_harmless))
case("a sheet of notes, each line answered", with_sheet("Notes", *notes), right(),
     Layout(harmless=notes_harmless | second_note))  # fmt: skip
case("a sheet of notes, one line held", with_sheet("Notes", *notes), all_held,
     Layout(harmless=notes_harmless, against=second_note))  # fmt: skip


# --- what only the look of a cell says, and what stands beside the share -----------------------------------------
def formatted(code: str, places: str) -> Callable[[Codes], bytes]:
    def change(workbook: Any, codes: Codes) -> None:
        for place in places.split():
            workbook.active[place].number_format = code

    return book(change)


for code in ('"FAIL"', '0.00"*"', r"0.00\*", '[<0.5]"low";0.00'):
    case(f"a format that shows {code}", formatted(code, "B4"), ASK)
case("a format that shows a unit", formatted('0.0000" loci"', "C4"), right())
case("a format of all rows", formatted('"q "0.0000', " ".join(f"B{n}" for n in range(2, 10))), right())


def page(change: Callable[[int], str], style: str = "") -> Callable[[Codes], bytes]:
    """The plain table as a web page; ``change`` gives the attributes of a row."""

    def make(codes: Codes) -> bytes:
        body = "".join(
            f"<tr{change(n)}>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>"
            for n, row in enumerate(plain(codes))
        )
        return f"<html><head><style>{style}</style></head><body><table>{body}</table></body></html>".encode()

    return make


case("a row struck through by its class", page(lambda n: ' class="void"' * (n == 3),
     ".a, .b{color:red} .void td{text-decoration:line-through}"), right(_2="held"))  # fmt: skip
case(
    "a page of classes that say nothing",
    page(lambda n: ' class="odd"' * (n % 2), ".odd td{padding:1px}"),
    right(),
)
case("a word shown beside the pointer", lambda c: page(lambda n: "")(c).replace(
     f"<td>{f(2)}".encode(), f'<td title="do not use, contaminated">{f(2)}'.encode()), right(_2="held"))  # fmt: skip
case("pure northern at nearly a half", columns(["Sample", "Florida proportion", "Category"],
     lambda i: [f(i), "Pure northern" if i == 2 else ""]), right(_2="held"))  # fmt: skip
case("northern at nearly a half", columns(["Sample", "Florida proportion", "Category"],
     lambda i: [f(i), "Northern" if i == 2 else ""]), right())  # fmt: skip
counts_beside = columns(["Sample", "Florida", "FL alleles", "Alleles scored"],
                        lambda i: [f(i), ALLELES[7] if i == 2 else ALLELES[i], 76])  # fmt: skip
case("counts beside the share that contradict it", counts_beside, right(_2="held"),
     replace(named(q="Florida"), harmless=frozenset({"fl alleles"})))  # fmt: skip

case("two days of collecting that are another survey's", columns(["Sample", "Date collected", "Florida proportion"],
     lambda i: ["2024-05-18" if i in (2, 5) else "2026-05-01", f(i)]), right(_2="held", _5="held"))  # fmt: skip
case("days of collecting one day off", columns(["Sample", "Sampled on", "Florida proportion"],
     lambda i: ["2 May 2026", f(i)]), right())  # fmt: skip
case("days of a visit, for all", columns(["Sample", "Date collected", "Florida proportion"],
     lambda i: ["2026-05-11", f(i)]), right())  # fmt: skip
case("all collected in another year", columns(["Sample", "Collection date", "Florida proportion"],
     lambda i: ["5/1/2025", f(i)]), dict.fromkeys(range(N), "held"))  # fmt: skip
case("another tissue in two rows", columns(["Sample", "Tissue", "Florida proportion"],
     lambda i: ["scale" if i in (2, 5) else "mouth swab", f(i)]), ASK)  # fmt: skip
case("clips in a shipment of swabs", columns(["Sample", "Tissue", "Florida proportion"],
     lambda i: ["fin clip" if i in (2, 5) else "mouth swab", f(i)]), right(_2="held", _5="held"))  # fmt: skip


# --- keys by two columns, hidden codes, rows of words, and a column mostly out of its unit -----------------------
def two_plates(ours_first: bool, *, unique: bool = True) -> Callable[[Codes], bytes]:
    """Results by plate and well, and a key of both; plate P2 is another customer's and uses the same wells."""

    def make(codes: Codes) -> bytes:
        ours = [["P1", f"A{i + 1}", code] for i, code in enumerate(codes)]
        others = [["P2", f"A{i + 1}", f"OC-{i:03d}"] for i in range(N)]
        body = [*ours, *others] if ours_first else [*others, *ours]
        key = [["Plate", "Well", "Vial"], *(body if unique else [row[1:] for row in body])]
        results = [["Plate", "Well", "Florida proportion", "Loci"]]
        results += [
            ["P1", f"A{i + 1}", f(i), 38] for i in range(2, N)
        ]  # our first two failed and are left out
        results += [["P2", f"A{i + 1}", "0.1100", 38] for i in range(N)]
        return changed_workbook(
            results, lambda w: [w.create_sheet("Key")] and [w["Key"].append(row) for row in key]
        )

    return make


of_plate_1 = right(_0=None, _1=None)
case("a key by plate and well", two_plates(ours_first=True), of_plate_1)
case("a key by plate and well, ours below", two_plates(ours_first=False), of_plate_1)
case("a key by well alone, though two plates have it", two_plates(ours_first=True, unique=False), ASK)


def hidden_codes(workbook: Any, codes: Codes) -> None:
    workbook.active.column_dimensions["B"].hidden = True
    sheet = workbook.create_sheet("Key")
    for row in [["Lab ID", "Vial"], *[[f"Q{i}", code] for i, code in enumerate(codes)]]:
        sheet.append(row)


old_codes = lambda c: [["Lab ID", "Vial (old)", "Florida proportion", "Loci"],  # noqa: E731
                       *[[f"Q{i}", c[i - 1], f(i), 38] for i in range(N)]]  # fmt: skip
case("hidden codes beside a key", book(hidden_codes, old_codes), ASK)
case("hidden codes beside a key, which is called harmless", book(hidden_codes, old_codes), ASK,
     Layout(harmless=frozenset({"sheet key"})))  # fmt: skip


def loci_and(*row: str, last: bool = False) -> Callable[[Codes], Rows]:
    """Genotypes as counts, and a row that says something of each locus."""

    def make(codes: Codes) -> Rows:
        said_of = [row[0], *[row[1 + (m > 19)] for m in range(38)]]
        body = [[code, *[genotype(i, m) for m in range(1, 39)]] for i, code in enumerate(codes)]
        head = ["Sample", *[f"M{m:02d}" for m in range(1, 39)]]
        return [head, *([] if last else [said_of]), *body, *([said_of] if last else [])]

    return make


counts_of_florida = Layout(counted="Florida", coding="counts")
case("which allele is counted", loci_and("Reference allele", "N", "F"), ASK, counts_of_florida)
case("which loci are used, at the foot", loci_and("Use", "yes", "no", last=True), ASK, counts_of_florida)
case("a control among genotypes", lambda c: [*loci_and("", "", "")(c)[:1], ["NTC", *["NA"] * 38],
     *loci_and("", "", "")(c)[2:]], right(), counts_of_florida)  # fmt: skip
case("a thousandth as a count", columns(["Sample", "Florida x1000", "Loci"],
     lambda i: [round(1000 * ALLELES[i] / 76), 38]), all_held, replace(named(q="Florida x1000"),
     units={"q": "count"}))  # fmt: skip
case("no DNA in one", columns(["Sample", "DNA (ng/ul)", "Florida proportion"],
     lambda i: ["0.0" if i == 3 else 9 + i, f(i)]), right(_3="held"))  # fmt: skip


# --- names of files and sheets, and days before the sending -------------------------------------------------------
def of_lake(codes: Codes) -> bytes:
    """Half of the fish on a sheet that has the lake's name, half on one that has another's."""

    def change(workbook: Any) -> None:
        workbook.active.title = "Heron Lake"
        sheet = workbook.create_sheet("Otter Creek")
        for row in [plain(codes)[0], *plain(codes)[5:]]:
            sheet.append([number_or_text(cell) for cell in row])

    return changed_workbook(plain(codes)[:5], change)


creek = "sheet otter creek"
case("a sheet named after another water", of_lake, ASK)
case(
    "a sheet named after another water, which is theirs",
    of_lake,
    right(),
    Layout(harmless=frozenset({creek})),
)
case("a sheet named after another water, held", of_lake, right(**{f"_{i}": "held" for i in range(4, N)}),
     Layout(against=frozenset({creek})))  # fmt: skip
early = columns(["Sample", "Run date", "Florida proportion"], lambda i: ["2026-05-08", f(i)])
dated = frozenset({"dated before the sending"})
case("all dated before the sending", early, ASK)
case("all dated before the sending, which was entered late", early, right(), Layout(harmless=dated))
case("all dated before the sending, held", early, all_held, Layout(against=dated))

case("two shares in each cell", columns(["Sample", "Florida"], lambda i: [f"{p(i, 0)}/{100 - int(p(i, 0))}"]), ASK,
     of_unit("percent"))  # fmt: skip
case("two fractions in each cell", columns(["Sample", "Florida / northern"],
     lambda i: [f"{f(i, 2)}/{1 - float(f(i, 2)):.2f}"]), ASK, named(q="Florida / northern"))  # fmt: skip
case("a format that shows a word, held", formatted('"FAIL"', "B4"), right(_2="held"), held("format 'FAIL'"))
lengths_kept = frozenset({"tl mm", "date collected"})
other_days = columns(["Sample", "Date collected", "Florida proportion"],
                     lambda i: ["2024-05-18" if i in (2, 5) else "2026-05-01", f(i)])  # fmt: skip
case("a column kept as harmless is still held against the fish", other_days, right(_2="held", _5="held"),
     Layout(harmless=lengths_kept, kept=lengths_kept))  # fmt: skip
# harmless says what the column is not, and no more: two rows that contradict all others are still told
case("a column that a person calls harmless now", other_days, right(_2="held", _5="held"),
     Layout(harmless=lengths_kept))  # fmt: skip
by_lines = book(lambda w, c: [
     sheet.append(row) for sheet in [w.create_sheet("Samples")]
     for row in [["Row", "Vial"], *[[i + 1, code] for i, code in enumerate(sorted(c, reverse=True))]]] and None,
     lambda c: [["Row", "Florida proportion", "Loci"], *[[i + 1, f(i), 38] for i in range(N)]])  # fmt: skip
numbers_of_samples = frozenset({"numbers of the samples"})
case("a key of line numbers", by_lines, ASK)
case("a key of line numbers, which are the samples'", by_lines, {i: right()[N - 1 - i] for i in range(N)},
     Layout(harmless=numbers_of_samples))  # fmt: skip
case("a key of line numbers, held", by_lines, all_held, Layout(against=numbers_of_samples))


# --- a file that was cut off, and shares beside their own limits ------------------------------------------------
def cut(n: int, heading: list[str], row: Callable[[int], list[Any]]) -> Callable[[Codes], bytes]:
    """A table whose last n letters, with the line end, did not arrive."""
    return lambda c: csv_file(table(c, heading, row)).rstrip()[: -n or None]


f_and_38 = ["Sample", "Florida proportion", "Loci scored"], lambda i: [f(i), 38]
last_held = right(_7="held")
case("cut off in a share", cut(7, *f_and_38), last_held)
case("cut off before the last column", cut(3, *f_and_38), last_held)
case("cut off in the last share", cut(3, ["Sample", "Florida %"], lambda i: [p(i)]), last_held)
case("no line end, and nothing cut off", cut(0, *f_and_38), right())
case("no line end, and a shorter word", cut(0, ["Sample", "Florida proportion", "QC"],
     lambda i: [f(i), "OK" if i == 7 else "pass"]), right())  # fmt: skip


def limited(first: float, second: float, third: float) -> Callable[[Codes], Rows]:
    heading = ["Sample", "Florida proportion", "Lower 95%", "Upper 95%"]
    return columns(
        heading, lambda i: [f"{min(1, max(0, ALLELES[i] / 76 + d)):.4f}" for d in (first, second, third)]
    )


case("limits around their share", limited(0, -0.06, 0.06), right())
case("limits in percent", columns(["Sample", "Florida proportion", "Lower", "Upper"], lambda i: [
    f(i), f"{100 * ALLELES[i] / 76 - 6:.1f}", f"{100 * ALLELES[i] / 76 + 6:.1f}"]), right())  # fmt: skip
case("a share above its upper limit", columns(["Sample", "Florida proportion", "Lower", "Upper"], lambda i: [
    f(i), f"{ALLELES[i - (i == 4)] / 76 - 0.03:.4f}", f"{ALLELES[i - (i == 4)] / 76 + 0.03:.4f}"]),
    right(_4="held"))  # fmt: skip
case("the upper limit under the heading of the share", limited(0.06, -0.06, 0),
     {**everything, 7: pytest.approx(1.0)})  # fmt: skip


@pytest.fixture(scope="module")
def shipped(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Session, Codes]]:
    file = tmp_path_factory.mktemp("careful") / "shipped.sqlite"
    shutil.copy(sqlite_template, file)
    engine = open_engine(f"sqlite:///{file}")
    with Session(engine) as session:
        codes = a_shipment(session, N)
        session.scalars(select(Lake)).one().name = "Heron Lake"
        session.commit()
    with engine.connect() as connection, Session(connection) as session:
        yield session, codes
    engine.dispose()


@pytest.mark.parametrize("name", CASES)
def test_a_file_is_read_as_a_careful_person_would(name: str, shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    make, conclusion, layout = CASES[name]
    made = make(codes)
    content = made if isinstance(made, bytes) else csv_file(made)
    refusal = ""
    try:
        read_return(
            session, LabFile(content, "return.csv"), "SH-1", stamp=Stamp(READ_AT, "Ada"), layout=layout
        )
    except GeneticlogError as fault:
        refusal = str(fault)
    if refusal:
        session.rollback()
        assert conclusion == ASK, refusal
        return
    got = as_stored(session, codes)
    session.rollback()
    assert conclusion != ASK, f"nobody was asked: {got}"
    assert got == nearly(conclusion)


def test_a_negative_control_with_a_result_is_named_as_one(shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    rows = [*plain(codes), ["NTC 1", "0.5100", 36], ["Positive control", "0.9800", 38]]
    done = read_return(session, LabFile(csv_file(rows), "return.csv"), "SH-1", stamp=Stamp(READ_AT, "Ada"))
    session.rollback()
    unexpected = [text for _, _, text in done.findings if "does not check" in text]
    assert [("negative control" in text) for text in unexpected] == [True, False]


def test_a_held_sheet_says_of_each_vial_what_it_says_of_that_one(shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    content, layout = book(hidden_sheet)(codes), held("sheet final v2")
    done = read_return(
        session, LabFile(content, "r.xlsx"), "SH-1", stamp=Stamp(READ_AT, "Ada"), layout=layout
    )
    session.rollback()
    marked = [text for _, kind, text in done.findings if kind == "marked"]
    assert [text.split(",")[0] for text in marked] == codes
    assert all(f"sheet final v2 says '{code} | 0.5" in text for code, text in zip(codes, marked, strict=True))


def test_shares_that_a_mouse_counted_up_are_told(shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    of = [0.31, *[round(0.4 + 0.01 * i, 2) for i in range(6)], 0.2]
    for shares, n in ((of, 1), (sorted(of), 0)):
        rows = table(codes, ["Sample", "Florida proportion"], lambda i, shares=shares: [f"{shares[i]:.2f}"])
        done = read_return(session, LabFile(csv_file(rows), "r.csv"), "SH-1", stamp=Stamp(READ_AT, "Ada"))
        session.rollback()
        told_of = [text.split(".")[0] for _, kind, text in done.findings if kind == "copied_down"]
        rows_3_to_8 = (
            "Rows 3 to 8: 6 neighbouring vials have the same step from one q to the next, which is unlikely"
        )
        assert [text[: len(rows_3_to_8)] for text in told_of] == [rows_3_to_8][:n]
        assert done.n_held == 6 * n


@pytest.mark.parametrize("name", ["SH-2_results.csv", "Egret Pond results.csv", "SH-1 results.csv"])
def test_a_file_named_after_another_job_is_asked_about(name: str, shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    file = LabFile(csv_file(plain(codes)), name)
    if name.startswith("SH-1"):
        assert read_return(session, file, "SH-1", stamp=Stamp(READ_AT, "Ada")).n_typed == N
    else:
        with pytest.raises(GeneticlogError, match=f"the file is named {name!r}, which names"):
            read_return(session, file, "SH-1", stamp=Stamp(READ_AT, "Ada"))
    session.rollback()


def test_a_question_about_a_sheet_shows_its_lines_worst_first(shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    file = LabFile(with_sheet("Notes", *notes)(codes), "r.xlsx")
    with pytest.raises(
        GeneticlogError, match=r"it says 'Plate row D.*not valid'; 'Extraction by magnetic beads'"
    ):
        read_return(session, file, "SH-1", stamp=Stamp(READ_AT, "Ada"))
    session.rollback()


def test_shares_in_the_order_of_their_codes_are_asked_about() -> None:
    labels = codes(16)
    made = [Draft(n, code, code, q=(29 * n % 77) / 76) for n, code in enumerate(labels, start=1)]
    assert sorted_alone(made) == ""
    shares = sorted(draft.q or 0 for draft in made)
    alone = [replace(draft, q=share) for draft, share in zip(made, shares, strict=True)]
    assert sorted_alone(alone).startswith("the shares rise")
    assert sorted_alone([replace(draft, q=1 - (draft.q or 0)) for draft in alone]).startswith(
        "the shares fall"
    )
    assert sorted_alone(sorted(made, key=lambda draft: draft.q or 0)) == ""  # all columns together
    assert sorted_alone(alone[:15]) == ""


# --- codes that were sorted alone, and lengths of other fish -----------------------------------------------------
def placed_anew(session: Session) -> Codes:
    """Put the vials of the shipment into the wells of a plate in another order than that of their codes."""
    places = session.scalars(select(ShipmentPosition).order_by(ShipmentPosition.id)).all()
    session.scalars(select(Shipment)).one().container = "plate96"
    order = [5 * i % N for i in range(N)]
    for at, i in zip(places, order, strict=True):
        at.position = f"{'ABCDEFGH'[i]}01"
    session.flush()
    return [code for _, code in sorted(zip(order, codes(N), strict=True))]


@pytest.mark.parametrize("plated", [True, False])
def test_codes_and_wells_that_are_both_in_order_are_asked_about(
    plated: bool, shipped: tuple[Session, Codes]
) -> None:
    session, labels = shipped
    sent = placed_anew(session)
    if not plated:
        session.scalars(select(Shipment)).one().container = "loose"
        for at in session.scalars(select(ShipmentPosition)):
            at.position = str(1 + "ABCDEFGH".index(at.position[0]))
    head = ["Well", "Sample", "Florida proportion", "Loci"]
    wells = [f"{letter}1" for letter in "ABCDEFGH"]

    def standings(of: Sequence[str], layout: Layout | None = None) -> list[Any]:
        rows = [head, *[[wells[i], code, f(i), 38] for i, code in enumerate(of)]]
        read_return(
            session, LabFile(csv_file(rows), "r.csv"), "SH-1", stamp=Stamp(READ_AT, "Ada"), layout=layout
        )
        return [as_stored(session, of)[i] for i in range(N)]

    with session.begin_nested() as before:
        assert "held" not in standings(sent)  # as we sent them
        before.rollback()
    with pytest.raises(
        GeneticlogError, match="plated again by their codes, or was the column of codes sorted alone"
    ):
        standings(sorted(labels))
    said = frozenset({"codes and wells in order"})
    with session.begin_nested() as before:
        assert "held" not in standings(sorted(labels), Layout(harmless=said))
        before.rollback()
    assert set(standings(sorted(labels), Layout(against=said))) == {"held"}
    session.rollback()


@pytest.mark.parametrize(
    ("heading", "scale"), [("TL (mm)", 1), ("TL (in)", 25.4), ("Total length", 10), ("FL (mm)", 0)]
)
def test_a_length_of_another_fish_is_held(heading: str, scale: float, shipped: tuple[Session, Codes]) -> None:
    session, labels = shipped
    lengths = [120, 155, 203, 251, 299, 340, 388, 431]
    for fish, length in zip(session.scalars(select(Fish).order_by(Fish.number)), lengths, strict=True):
        fish.length = fish.length_mm = length
    session.flush()
    of_row = [0, 1, 3, 2, 4, 5, 6, 7]
    file = table(labels, ["Sample", heading, "Florida proportion", "Loci"],
                 lambda i: [f"{lengths[of_row[i]] / (scale or 1):.1f}", f(i), 38])  # fmt: skip
    read_return(session, LabFile(csv_file(file), "r.csv"), "SH-1", stamp=Stamp(READ_AT, "Ada"))
    got = as_stored(session, labels)
    session.rollback()
    assert got == nearly(right(_2="held", _3="held") if scale else right())


def test_a_total_that_is_called_harmless_is_held_against_the_panel(shipped: tuple[Session, Codes]) -> None:
    session, labels = shipped
    session.scalars(select(Shipment)).one().panel = Panel(code="P38", name="An invented panel", n_loci=38)
    session.flush()
    layout = replace(no_n, harmless=no_n.harmless | {"total alleles"})
    file = LabFile(csv_file(counted("Total alleles")(labels)), "r.csv")
    read_return(session, file, "SH-1", stamp=Stamp(READ_AT, "Ada"), layout=layout)
    got = as_stored(session, labels)
    session.rollback()
    assert got == nearly(right(_3="held", _4="held"))


def test_a_class_is_compared_where_no_loci_are_stated(shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    rows = table(
        codes, ["Sample", "Florida proportion", "Class"], lambda i: [f(i), "northern" if i == 2 else ""]
    )
    done = read_return(session, LabFile(csv_file(rows), "return.csv"), "SH-1", stamp=Stamp(READ_AT, "Ada"))
    session.rollback()
    assert [text for _, kind, text in done.findings if kind == "class_disagrees"]


def test_the_set_of_files_is_large_enough() -> None:
    assert len(CASES) >= 60
