"""Lab files of unusual shapes that a careful person reads without asking, and others refused in words that help.

Each file is about the same twelve fish of an invented lake. What it says is known before it is written, so the
expected side comes from the list of alleles below and never from the code under test.
"""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import zip_longest
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.styles import Font
from return_support import MOMENT, a_shipment, as_stored, csv_file, nearly
from sqlalchemy.orm import Session
from workbook_by_hand import number_or_text

from geneticlog.errors import GeneticlogError
from geneticlog.rules.lab_return.words.headings import answer_key
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import open_engine
from geneticlog.work.lab_return.read_return import LabFile, ReturnRead, read_return

ALLELES = [2, 5, 9, 16, 23, 31, 36, 44, 52, 61, 69, 75]  # Florida alleles of 76
HEAD = ["Sample", "Florida proportion", "Loci scored"]
TRUTH: dict[int, Any] = {i: k / 76 for i, k in enumerate(ALLELES)}
Codes = list[str]
Rows = list[list[Any]]


def f(i: int) -> str:
    return f"{ALLELES[i] / 76:.4f}"


def p(i: int) -> str:
    return f"{100 * ALLELES[i] / 76:.2f}"


READ: dict[str, tuple[Callable[[Codes], Rows | bytes], dict[int, Any], Layout | None, str]] = {}
REFUSED: dict[str, tuple[Callable[[Codes], Rows | bytes], str, Layout | None]] = {}


def read(
    name: str,
    make: Callable[[Codes], Rows | bytes],
    truth: dict[int, Any] = TRUTH,
    layout: Layout | None = None,
    account: str = "",
) -> None:
    """A file that is stored so, without a question; its account says ``account``."""
    assert name not in READ
    READ[name] = (make, truth, layout, account)


def refused(
    name: str, make: Callable[[Codes], Rows | bytes], says: str, layout: Layout | None = None
) -> None:
    """A file that is not stored, for which a person reads ``says``."""
    assert name not in REFUSED
    REFUSED[name] = (make, says, layout)


read(
    "the customer's word before every code",
    lambda codes: [HEAD, *([f"ACME-{code}", f(i), 38] for i, code in enumerate(codes)), ["NTC", "", ""]],
    account="'ACME' it is before every code",
)
refused(
    "another word before one of the codes",
    lambda codes: [
        HEAD,
        *([f"{'OTHER' if i == 4 else 'ACME'}-{code}", f(i), 38] for i, code in enumerate(codes)),
    ],
    "12 codes have something beside them",
)
refused(
    "a word before every code that takes them back",
    lambda codes: [HEAD, *([f"RERUN_{code}", f(i), 38] for i, code in enumerate(codes))],
    "12 codes have something beside them",
)
read(
    "French headings",
    lambda codes: [
        ["Échantillon", "Proportion floridanus", "Taux d'appel", "Loci analysés"],
        *([code, f(i), "1.00", 38] for i, code in enumerate(codes)),
    ],
)
read(
    "Spanish headings, with percents",
    lambda codes: [
        [
            "Muestra",
            "Porcentaje de alelos Florida",
            "Porcentaje del norte",
            "Número de loci",
            "Observaciones",
        ],
        *([code, p(i), f"{100 - float(p(i)):.2f}", 38, ""] for i, code in enumerate(codes)),
    ],
)
read(
    "German headings",
    lambda codes: [
        ["Probe", "Florida-Anteil", "Anzahl Loci"],
        *([code, f(i), 38] for i, code in enumerate(codes)),
    ],
)


def book(sheets: dict[str, Rows], struck: str = "") -> bytes:
    """An XLSX workbook of these sheets, numbers as numbers; ``struck`` is struck through in the last of them."""
    workbook = Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets.items():
        page = workbook.create_sheet(name)
        for row in rows:
            page.append([number_or_text(str(cell)) if cell != "" else None for cell in row])
    if struck:
        page[struck].font = Font(strike=True)
    out = io.BytesIO()
    workbook.save(out)
    return out.getvalue()


def rows_of(codes: Codes, which: range, *values: Callable[[int], Any]) -> Rows:
    return [[codes[i], *(value(i) for value in values)] for i in which]


def loci(_: int) -> int:
    return 38


def h(i: int) -> str:
    return f"{min(ALLELES[i], 76 - ALLELES[i]) / 38:.4f}"


UPPER, LOWER, ALL = range(6), range(6, 12), range(12)
PERCENT_HEAD = ["Sample", "Florida (%)", "Loci scored"]
SWAPPED = ["Sample", "Loci scored", "Florida proportion"]

read(
    "a sheet in fractions and one in percent",
    lambda codes: book(
        {
            "Plate 1": [["Sample", "q Florida"], *rows_of(codes, UPPER, f)],
            "Plate 2": [["Sample", "q Florida"], *rows_of(codes, LOWER, p)],
        }
    ),
    account="in fraction in sheet Plate 1, percent in sheet Plate 2",
)
read(
    "the same heading again above values in percent",
    lambda codes: [
        ["Sample", "q Florida"],
        *rows_of(codes, UPPER, f),
        [],
        ["Sample", "q Florida"],
        *rows_of(codes, LOWER, p),
    ],
    account="percent in the table headed in row 9",
)


def few(codes: Codes) -> bytes:
    return book(
        {
            "Plate 1": [["Sample", "q Florida"], *rows_of(codes, range(2, 8), f)],
            "Plate 2": [["Sample", "q Florida"], *rows_of(codes, range(8, 12), p)],
            "Plate 3": [["Sample", "q Florida"], [codes[0], 1], [codes[1], 0]],
        }
    )


refused(
    "a third sheet that may be in either",
    few,
    'say --unit "q@Plate 3=percent" or --unit "q@Plate 3=fraction"',
)
read(
    "a third sheet that may be in either, answered",
    few,
    {**TRUTH, 0: 1.0, 1: 0.0},
    Layout(units_of_parts={"q@Plate 3": "fraction"}),
)
read(
    "a table below another one with its columns in another order",
    lambda codes: [
        ["Plate 1"],
        HEAD,
        *rows_of(codes, UPPER, f, loci),
        [],
        ["Plate 2"],
        SWAPPED,
        *rows_of(codes, LOWER, loci, f),
    ],
    account="the table headed in row 11: 'Sample, Loci scored, Florida proportion' it is read by its own headings",
)
read(
    "a table in percent below one in fractions, as their headings say",
    lambda codes: [HEAD, *rows_of(codes, UPPER, f, loci), PERCENT_HEAD, *rows_of(codes, LOWER, p, loci)],
)
refused(
    "a table of the other taxon below",
    lambda codes: [HEAD, *rows_of(codes, UPPER, f, loci), ["Sample", "Northern", "Loci scored"],
                   *rows_of(codes, LOWER, f, loci)],
    "in the table headed in row 8 the share is that of northern alleles, and before it that of Florida ones",
)  # fmt: skip
refused(
    "a table below whose heading contradicts its numbers",
    lambda codes: [HEAD, *rows_of(codes, UPPER, f, loci), PERCENT_HEAD, *rows_of(codes, LOWER, f, loci)],
    'say --unit "q@row 8=fraction" or --unit "q@row 8=percent"',
)
read(
    "a table below with remarks of its own",
    lambda codes: [
        HEAD,
        *rows_of(codes, UPPER, f, loci),
        [*SWAPPED, "Remark"],
        *rows_of(codes, LOWER, loci, f, lambda i: "contaminated" if i == 8 else ""),
    ],
    {**TRUTH, 8: "held"},
)
refused(
    "a table below with a column that has no heading",
    lambda codes: [
        HEAD,
        *rows_of(codes, UPPER, f, loci),
        SWAPPED,
        *rows_of(codes, LOWER, loci, f, lambda i: "see box"),
    ],
    "'see box': does it cast doubt on the value?",
)
read(
    "two tables side by side",
    lambda codes: [
        [*HEAD, "", *SWAPPED],
        *[
            [*a, "", *b]
            for a, b in zip(rows_of(codes, UPPER, f, loci), rows_of(codes, LOWER, loci, f), strict=True)
        ],
    ],
    account="columns E to G: 'Sample, Loci scored, Florida proportion' it is read by its own headings",
)
read(
    "two tables side by side without room between them, the right one shorter and struck through in a row",
    lambda codes: book(
        {
            "Results": [
                ["Sample", "Florida (%)", "Sample", "Florida (%)"],
                *(
                    [*a, *b]
                    for a, b in zip_longest(
                        rows_of(codes, range(7), p), rows_of(codes, range(7, 12), p), fillvalue=("", "")
                    )
                ),
            ]
        },
        struck="D4",
    ),
    {**TRUTH, 9: "held"},
)  # fmt: skip
refused(
    "further vials at the right without headings",
    lambda codes: [
        [*HEAD, "", "", ""],
        *[
            [*a, *b]
            for a, b in zip(rows_of(codes, UPPER, f, loci), rows_of(codes, LOWER, f, loci), strict=True)
        ],
    ],
    "columns D to F hold further vials under no heading; give them the headings of the table at their left",
)
read(
    "sheets with their columns in another order, and another word for the share",
    lambda codes: book(
        {
            "Plate 1": [["Sample", "Florida", "Heterozygosity"], *rows_of(codes, UPPER, f, h)],
            "Plate 2": [["Heterozygosity", "Vial", "FLMB"], *([h(i), codes[i], f(i)] for i in LOWER)],
        }
    ),
)


def ends(i: int, scale: float = 1.0) -> tuple[str, str]:
    """The ends of an interval round a share, as a lab prints them."""
    share = ALLELES[i] / 76
    return f"{scale * max(0.0, share - 0.09):.2f}", f"{scale * min(1.0, share + 0.09):.2f}"


read(
    "an interval behind each share, and in the heading",
    lambda codes: [
        ["Vial code", "Florida ancestry (95 % CI)"],
        *([code, f"{f(i)} ({ends(i)[0]}–{ends(i)[1]})"] for i, code in enumerate(codes)),
    ],
)
read(
    "a column of intervals, one of them of another fish",
    lambda codes: [
        ["Sample", "% Florida", "95% CI", "Loci scored"],
        *([code, p(i), f"[{', '.join(ends(i if i != 4 else 9, 100))}]", 38] for i, code in enumerate(codes)),
    ],
    {**TRUTH, 4: "held"},
    account="'95% CI' not used: a margin, not a share",
)
refused(
    "words where an interval was",
    lambda codes: [
        ["Sample", "Florida", "95% CI"],
        *([code, f(i), "see note"] for i, code in enumerate(codes)),
    ],
    "'see note': does it cast doubt on the value?",
)
FIXED = "{:<14}{:>9}{:>10}{:>6}"
read(
    "text in fixed places, one share of the other taxon left blank",
    lambda codes: "\n".join(
        [
            "Quill Genotyping",
            "",
            FIXED.format("Sample", "Northern", "Florida", "Loci"),
            *(
                FIXED.format(code, "" if i == 3 else f"{1 - ALLELES[i] / 76:.4f}", f(i), 38)
                for i, code in enumerate(codes)
            ),
        ]
    ).encode(),
)


read(
    "codes over three columns",
    lambda codes: [
        ["Office", "Vial no.", "Chk", "Florida", "Loci scored"],
        *([code[:2], code[2:8], code[8], f(i), 38] for i, code in enumerate(codes)),
    ],
    account="columns A to C: '' put together they are 12 vial codes with their check characters",
)
refused(
    "codes over two columns, one of which lost its zeros",
    lambda codes: [
        ["Office", "Vial no.", "Florida"],
        *([code[:2], code[2:].lstrip("0") if i == 7 else code[2:], f(i)] for i, code in enumerate(codes)),
    ],
    "none of its values is a vial code",
)
NOTED = ["Sample", "Remark", "Florida", "Loci scored"]


def noted(codes: Codes, remark: str, head: str = "Remark") -> bytes:
    """A text file in which the fourth row has a remark that nobody put into quotation marks."""
    lines = [f"{code},{remark if i == 3 else ''},{f(i)},38" for i, code in enumerate(codes)]
    return "\n".join([",".join([NOTED[0], head, *NOTED[2:]]), *lines, ""]).encode()


read(
    "a comma of its own in a remark that takes the value back",
    lambda codes: noted(codes, "low DNA, 0.5 ng"),
    {**TRUTH, 3: "held"},
    account="row 5: '' a comma in a text split 1 row into one cell too many",
)
refused(
    "a comma in a row that fits in two ways",
    lambda codes: noted(codes, "ok,ok,ok", "Remark,Comments"),
    "row 5: 1 row has more cells than the heading, which has 5",
)
refused(
    "a third taxon in a row of its own",
    lambda codes: [
        ["Sample", "Taxon", "Share"],
        *([code, taxon, share] for i, code in enumerate(codes)
          for taxon, share in (("Florida", f(i)), ("Northern", f"{1 - ALLELES[i] / 76:.4f}"), ("Spotted", "0.0000"))),
    ],
    'column D \'Spotted Share\' is not known (always \'0.0000\'); say --column third_q="Spotted Share"',
)  # fmt: skip


read(
    "codes and shares behind an equals sign, as a text file keeps a spreadsheet from changing them",
    lambda codes: "\n".join(
        ["Sample,Florida,Loci scored", *(f'"=""{code}""",={f(i)},38' for i, code in enumerate(codes))]
    ).encode(),
)
UNKNOWN = ["Sample", "Cluster one", "Cluster two"]
refused(
    "headings of unknown words above the codes",
    lambda codes: [UNKNOWN, *([code, f(i), f"{1 - ALLELES[i] / 76:.4f}"] for i, code in enumerate(codes))],
    "which column is the share of Florida alleles? B 'Cluster one' is not known (first value '0.0263'); C ",
)
read(
    "headings of unknown words above the codes, answered",
    lambda codes: [UNKNOWN, *([code, f(i), f"{1 - ALLELES[i] / 76:.4f}"] for i, code in enumerate(codes))],
    layout=Layout(
        columns={ColumnRole.Q: "Cluster one", ColumnRole.OTHER_Q: "Cluster two"},
        answered=frozenset({ColumnRole.Q, ColumnRole.OTHER_Q}),
        taxon_of_q="Florida",
    ),
)
refused(
    "no code of ours anywhere",
    lambda codes: [["Florida", "northern"], *([f(i), "0.5"] for i in ALL)],
    "no column holds vial codes; ask the lab for a table with our codes in a column",
)
refused(
    "one number for two vials in the sheet that names them",
    lambda codes: book(
        {
            "Data": [["Lab no.", "Florida"], *([f"P-{i}", f(i)] for i in ALL)],
            "Key": [["Lab no.", "Vial"], *([f"P-{max(i, 1)}", codes[i]] for i in ALL)],
        }
    ),
    "sheet Key names vials: give each sample number of these results once beside its vial, written as here",
)
refused(
    "prose",
    lambda codes: "\n".join(f"The share of {code} was {f(i)}" for i, code in enumerate(codes)).encode(),
    "column B 'was' is not known (first value '0.0263'); say --column q=was",
)
refused(
    "codes without their last character",
    lambda codes: [HEAD, *([code[:8], f(i), 38] for i, code in enumerate(codes))],
    "they seem to be codes without their last character, by which a code is checked); ask for a file",
)
refused(
    "a row for each thing that was measured",
    lambda codes: [["Sample", "Parameter", "Value"],
                   *([code, what, f(i)] for i, code in enumerate(codes) for what in ("Florida", "Loci", "H"))],
    "row 1, column Parameter: each vial has several rows here; ask the lab for a table with one row for each vial",
)  # fmt: skip
refused(
    "shares per mille",
    lambda codes: [
        ["Sample", "Florida (‰)"],
        *([code, round(1000 * ALLELES[i] / 76)] for i, code in enumerate(codes)),
    ],
    "column Florida (‰): its numbers are per mille, which is no unit of shares here",
)
refused(
    "two columns of codes under one heading",
    lambda codes: [
        ["Sample", "Florida", "Sample"],
        *([code, f(i), codes[i - 1]] for i, code in enumerate(codes)),
    ],
    "columns A and C both hold vial codes, and name other vials in 12 rows of 12",
)


def with_hidden_run(codes: Codes) -> bytes:
    """A workbook of two runs of the first four fish, the earlier one out of sight."""
    head = ["Sample", "Florida", "Loci scored", "Run"]
    first = rows_of(codes, range(4), lambda i: f"{1 - ALLELES[i] / 76:.4f}", loci, lambda i: 1)
    workbook = load_workbook(
        io.BytesIO(book({"R": [head, *first, *rows_of(codes, ALL, f, loci, lambda i: 2)]}))
    )
    for row in range(2, 6):
        workbook["R"].row_dimensions[row].hidden = True
    out = io.BytesIO()
    workbook.save(out)
    return out.getvalue()


refused("a hidden run beside a shown one", with_hidden_run, 'say --harmless "hidden earlier rows"')
read(
    "a hidden run beside a shown one, answered",
    with_hidden_run,
    layout=Layout(harmless=frozenset({"hidden earlier rows"})),
)
read(
    "a hidden run beside a shown one, both of which count",
    with_hidden_run,
    {**TRUTH, **dict.fromkeys(range(4), "held")},
    Layout(harmless=frozenset({"hidden rows"})),
)

refused(
    "the heading below the samples",
    lambda codes: [*rows_of(codes, ALL, f, loci), HEAD],
    "row 13: the heading is below the samples here; move that row above the first sample",
)
read(
    "the code once for the rows of both taxa",
    lambda codes: [
        ["Sample", "Taxon", "Share"],
        *(row for i, code in enumerate(codes)
          for row in ([code, "Florida", f(i)], ["", "Northern", f"{1 - ALLELES[i] / 76:.4f}"])),
    ],
)  # fmt: skip
refused(
    "a running number before each code",
    lambda codes: [HEAD, *([f"SH-1 / {i + 1} / {code}", f(i), 38] for i, code in enumerate(codes))],
    "12 codes have something beside them (first 'SH-1 / 1 /",
)
read(
    "a running number before each code, answered",
    lambda codes: [HEAD, *([f"SH-1 / {i + 1} / {code}", f(i), 38] for i, code in enumerate(codes))],
    layout=Layout(harmless=frozenset({"text beside the codes"})),
)
refused(
    "the other taxon's share of other fish on a sheet of its own",
    lambda codes: book(
        {
            "P1": [["Sample", "Florida"], *rows_of(codes, UPPER, f)],
            "P2": [["Sample", "Northern"], *rows_of(codes, LOWER, f)],
        }
    ),
    'Say --harmless "northern shares turned round" or --hold "northern shares turned round"',
)

read(
    "codes by themselves beside codes within the lab's own names, two of which are exchanged",
    lambda codes: [
        ["Customer ID", "Lab sample", "Florida"],
        *([code, f"Q26-{i}/{codes[{2: 3, 3: 2}.get(i, i)]}", f(i)] for i, code in enumerate(codes)),
    ],
    {**TRUTH, 2: "held", 3: "held"},
)

refused(
    "a column of taxa under an unknown word",
    lambda codes: [["Sample", "Florida", "Majority"],
                   *([code, f(i), "Florida" if i > 6 else "Northern"] for i, code in enumerate(codes))],
    "say --column lab_class=Majority or --column failure=Majority",
)  # fmt: skip

read(
    "a French workbook: a word before the codes, intervals, one sheet in percent, one fish to be done again",
    lambda codes: book(
        {
            "Plaque 1": [
                ["Laboratoire du Heron, résultats 2026"],
                ["N° d'échantillon", "Part de Floride", "IC 95 %", "Remarques"],
                *([f"TH26-{codes[i]}", f(i), " – ".join(ends(i)), ""] for i in UPPER),
            ],
            "Plaque 2": [
                ["N° d'échantillon", "Part de Floride (%)", "IC 95 %", "Remarques"],
                *(
                    [f"TH26-{codes[i]}", p(i), " – ".join(ends(i, 100)), "à refaire" if i == 7 else ""]
                    for i in LOWER
                ),
            ],
        }
    ),
    {**TRUTH, 7: "held"},
)

read(
    "each row's code in one of two columns",
    lambda codes: [
        ["Vial", "Sample", "Florida"],
        *(["", code, f(i)] if i % 3 else [code, "", f(i)] for i, code in enumerate(codes)),
    ],
    account="columns A and B: '' each row has its vial code in one of them",
)
refused(
    "shares that are no numbers",
    lambda codes: [["Sample", "Florida"], *([code, f"about {f(i)} or so"] for i, code in enumerate(codes))],
    "row 2, column Florida: 12 of 12 values are not numbers (the first is 'about 0.0263 or so'); ask the lab",
)

read(
    "two tables side by side, their headings numbered by the program that wrote them",
    lambda codes: [
        ["Sample", "Florida", "Loci scored", "Sample.1", "Florida.1", "Loci scored.1"],
        *[
            [*a, *b]
            for a, b in zip(rows_of(codes, UPPER, f, loci), rows_of(codes, LOWER, f, loci), strict=True)
        ],
    ],
)

ONE_ALLELE = ["0.66", "0.82", "0.91", "0.68"]  # percents of one allele at 76, 61, 55 and 73 loci
read(
    "a sheet of percents, and one of percents so small that they may be fractions",
    lambda codes: book(
        {
            "Plate 1": [["Sample", "q Florida"], *rows_of(codes, range(4, 12), p)],
            "Plate 2": [["Sample", "q Florida"], *rows_of(codes, range(4), lambda i: ONE_ALLELE[i])],
        }
    ),
    {**TRUTH, **{i: float(text) / 100 for i, text in enumerate(ONE_ALLELE)}},
    Layout(harmless=frozenset({"not whole numbers"})),
)


def printed(codes: Codes, more: Sequence[str] = (), shares: str = "{n:.3f} {f:.3f}") -> bytes:
    """A text as a program prints it: lines of settings, and below them a line for each sample, without a column."""
    head = ["-" * 40, "Settings:", "   12 individuals", "   burn 50000", "   chains 4", "   tolerance 0.1",
            "   thinning", "   adaptation", "",
            "        Label (%Miss) :  Inferred clusters (and 90% intervals)"]  # fmt: skip
    lines = [
        f"{i + 1:3}  {code}    ({i % 3})   :  "
        + shares.format(n=1 - ALLELES[i] / 76, f=ALLELES[i] / 76, low=max(0.0, 0.9 - ALLELES[i] / 76))
        for i, code in enumerate(codes)
    ]
    return "\n".join([*head, *lines, *more]).encode()


ANSWERED = Layout(taxon_of_q="northern", harmless=frozenset({"the other lines above"}))
refused(
    "lines that a program printed",
    printed,
    "its heading does not say whose alleles it counts; say --taxon Florida",
)
refused(
    "lines that a program printed, with others above",
    printed,
    "lines hold words that are not known (rows",
)
read("lines that a program printed, answered", printed, layout=ANSWERED)
read(
    "lines that a program printed, the clusters the other way round",
    lambda codes: printed(codes, shares="{f:.3f} {n:.3f}"),
    layout=replace(ANSWERED, taxon_of_q="Florida"),
)
read(
    "lines that a program printed, with an interval that does not hold its share",
    lambda codes: printed(codes, shares="{n:.3f} {f:.3f} ({low:.3f},1.000) (0.000,0.400)"),
    {**TRUTH, **{i: "held" for i, k in enumerate(ALLELES) if round(k / 76, 3) > 0.4}},
    ANSWERED,
)
read(
    "lines that a program printed, two of them broken",
    lambda codes: printed(
        codes[:10], [f" 11  {codes[10]}  no amplification", f" 12  {codes[11]}  : 0.1 x 0.9"]
    ),
    {**TRUTH, 10: "failed", 11: "held"},
    ANSWERED,
)
refused(
    "a title that names Florida above numbered columns",
    lambda codes: [["Florida ancestry by cluster"], ["Sample", "Cluster 1", "Cluster 2"],
                   *rows_of(codes, ALL, lambda i: f"{1 - ALLELES[i] / 76:.4f}", f)],
    "column Cluster 1: its heading does not say whose alleles it counts",
)  # fmt: skip


def letter(line: str) -> Callable[[Codes], bytes]:
    return lambda codes: "\n".join(
        ["Results for your shipment", "", *(line.format(code=code, f=p(i), n=f"{100 - float(p(i)):.2f}")
                                           for i, code in enumerate(codes)), "Kind regards"]
    ).encode()  # fmt: skip


read("a letter", letter("Sample {code}: Florida {f} %, northern {n} % (38 loci)"))
read("a letter, the numbers before their words", letter("{code} - {f}% Florida and, {n}% northern."))
refused(
    "a letter of which each number may be of either word",
    letter("{code}: {f} Florida {n} northern 38"),
    "its lines do not split into columns in one way only",
)
refused(
    "a letter with decimal points and commas",
    letter("{code}: Florida {f}, error 0,5"),
    "its lines do not split into columns in one way only",
)


def digits(codes: Codes, own: str = "1", other: str = "2") -> Rows:
    """Two digits at each of 38 loci, one for each allele; heterozygous loci in both orders."""
    rows = []
    for i, code in enumerate(codes):
        both, rest = divmod(ALLELES[i], 2)
        rows.append([code, *[own * 2] * both, *([own + other] if i % 2 else [other + own]) * rest])
        rows[-1] += [other * 2] * (39 - len(rows[-1]))
    return [["Sample", *(f"M{n:02}" for n in range(38))], *rows]


refused(
    "genotypes of two digits",
    digits,
    "genotypes 11, 12 and 22: of which taxon is allele 1? Say --counted Florida or",
)
read("genotypes of two digits, answered", digits, layout=Layout(counted="Florida"))
read(
    "genotypes of two digits, allele 1 the other taxon's",
    lambda codes: digits(codes, "2", "1"),
    layout=Layout(counted="northern"),
)
refused(
    "genotypes of two digits, an earlier file of counts",
    digits,
    "of which taxon is allele 1",
    Layout(coding="counts", counted="Florida"),
)
read(
    "genotypes of two digits beside the shares that they come to",
    lambda codes: [[*row, "Florida" if not n else f(n - 1)] for n, row in enumerate(digits(codes, "2", "1"))],
)


read(
    "two columns of alleles 1 and 2 for each locus",
    lambda codes: [
        ["Sample", *(f"M{n:02}{which}" for n in range(38) for which in "ab")],
        *([row[0], *"".join(row[1:])] for row in digits(codes)[1:]),
    ],
    layout=Layout(counted="Florida"),
)
refused(
    "two columns of alleles 1 and 2 for each locus, not answered",
    lambda codes: [
        ["Sample", *(f"M{n:02}{which}" for n in range(38) for which in "ab")],
        *([row[0], *"".join(row[1:])] for row in digits(codes)[1:]),
    ],
    "76 columns hold genotypes of alleles 1 and 2, two columns a marker: of which taxon is allele 1?",
)


def flagged(heading: str, usual: str, odd: str) -> Callable[[Codes], Rows]:
    return lambda codes: [
        [*HEAD, heading],
        *([code, f(i), 38, odd if i in (2, 7) else usual] for i, code in enumerate(codes)),
    ]


refused(
    "a few values that stand out",
    flagged("Drift", "0.01", "0.52"),
    "column D 'Drift' is not known (values '0.01' in 10 rows, '0.52' in 2 rows); say --harmless Drift or"
    ' --hold Drift or --hold "Drift other than 0.01"',
)
for name, heading, usual, odd, answer in (
    ("a few values that stand out, held", "Drift", "0.01", "0.52", "Drift other than 0.01"),
    ("a flag of 0 and 1, held", "Flag", "0", "1", "Flag"),
    (
        "a flag under an unknown word, held but for the common value",
        "Zustand",
        "0",
        "1",
        "column D other than 0",
    ),
):
    layout = Layout(against=frozenset({answer_key(answer)}))
    read(name, flagged(heading, usual, odd), {**TRUTH, 2: "held", 7: "held"}, layout)
read(
    "a second column of codes that a person calls harmless, one of which is another",
    lambda codes: [
        ["Sample", "Florida", "Scan"], *([code, f(i), codes[4 if i == 5 else i]] for i, code in enumerate(codes)),
    ],
    {**TRUTH, 5: "held"},
    Layout(harmless=frozenset({"scan"})),
)  # fmt: skip
refused(
    "JSON",
    lambda codes: b'[{"sample": "BG000001J", "q": 0.2}]',
    "this is JSON, which is no table, whatever its name",
)
read(
    "lines parted by tabs, and others by semicolons",
    lambda codes: "\n".join(
        ["Sample;Florida", *(f"{c}{';	'[i % 2]}{f(i)}" for i, c in enumerate(codes))]
    ).encode(),
    account="the text: '' tabs separate 6 of its lines and semicolons the others",
)
read(
    "the standard error behind each share, one far wider than the others",
    lambda codes: [
        HEAD,
        *([code, f"{f(i)} ({'0.31' if i == 6 else '0.02'})", 38] for i, code in enumerate(codes)),
    ],
    {**TRUTH, 6: "held"},
)
read(
    "the taxon's name behind each percent, the other one's behind one",
    lambda codes: [
        ["Sample", "Ancestry, Florida"],
        *([code, f"{p(i)} % {'NLMB' if i == 3 else 'FL'}"] for i, code in enumerate(codes)),
    ],
    {**TRUTH, 3: "held"},
    account="column B: '' 'FL' is behind 11 of its numbers",
)  # fmt: skip
bare_mail: Callable[[Codes], bytes] = lambda codes: "\n".join(  # noqa: E731
    ["Results of your samples", "", *(f"{code}   {f(i)}" for i, code in enumerate(codes)), "", "Kind regards"]
).encode()
refused(
    "two columns and no heading",
    bare_mail,
    "column B, which has no heading, is not known (first value '0.0263'); say --column q=B",
)
read(
    "two columns and no heading, answered",
    bare_mail,
    layout=Layout(columns={ColumnRole.Q: "B"}, answered=frozenset({ColumnRole.Q}), taxon_of_q="Florida"),
)
read(
    "our own manifest with the shares beside it",
    lambda codes: [
        ["No.", "Container", "Position", "Vial code", "Tissue", "Medium", "Florida", "ci90_low", "ci90_high"],
        *([i + 1, "plate 1", f"A{i + 1:02}", code, "mouth swab", "ethanol", f(i), *ends(i)]
          for i, code in enumerate(codes)),
    ],
)  # fmt: skip


def replicates(codes: Codes) -> Rows:
    """Three rows of each fish and one of their mean; the rows of fish 4 are far apart, the mean of fish 7 is wrong."""
    rows: Rows = [["Sample", "Replicate", "Florida", "Loci scored"]]
    for i, code in enumerate(codes):
        share, apart = ALLELES[i] / 76, 0.25 if i == 4 else 0.01
        rows += [[code, n + 1, f"{share + by * apart:.4f}", 38] for n, by in enumerate((-1, 0, 1))]
        rows.append([code, "mean", f"{share - 0.2 if i == 7 else share:.4f}", 38])
    return rows


refused(
    "replicates and their mean",
    replicates,
    'Is the mean the result, and are the rows beside it left out? Say --harmless "rows beside',
)
read(
    "replicates and their mean, answered",
    replicates,
    {**TRUTH, 4: "held", 7: "held"},
    Layout(harmless=frozenset({"rows beside their mean"})),
)


def with_note(note: str, share: Callable[[int], str] = f) -> Callable[[Codes], Rows]:
    return lambda codes: [HEAD, *rows_of(codes, ALL, share, loci), [note]]


for name, note, held, share in (
    ("rows of the sheet, or samples in their order", "Rows 4 and 9 were exchanged", {2, 3, 7, 8}, f),
    ("a span of rows, given in the sheet's numbers", "please disregard lines 11 - 13", {9, 10, 11}, f),
    ("rows of which one is none", "rows 4 and 99 were exchanged", set(range(12)), f),
    ("rows but for which all", "all but row 4 were exchanged", set(range(12)), f),
    ("rows of a plate", "plate rows 1 and 2 were exchanged", set(range(12)), f),
    ("numbers of anything else", "left for 12 min at 45, values may be wrong", set(range(12)), f),
    ("a letter behind a number", "a below the threshold", {5, 6}, lambda i: f(i) + "a" * (i in (5, 6))),
):
    truth = {**TRUTH, **dict.fromkeys(held, "held")}
    read(
        f"a held line that names {name}",
        with_note(note, share),
        truth,
        Layout(against=frozenset({answer_key(note)})),
    )


for name, lines, held in (
    ("rows", ["Remarks", "Row 4: tube label unreadable"], {2, 3}),
    (
        "rows, and something of all",
        ["Row 4: tube label unreadable", "Values above 0.5 are preliminary"],
        set(range(12)),
    ),
):
    read(
        f"a held sheet that names {name}",
        lambda codes, lines=lines: book(
            {"R": [HEAD, *rows_of(codes, ALL, f, loci)], "Log": [[line] for line in lines]}
        ),
        {**TRUTH, **dict.fromkeys(held, "held")},
        Layout(against=frozenset({"sheet log"})),
    )


read(
    "cells in quotation marks parted by one blank, rows with names that the heading has none for",
    lambda codes: "\n".join(
        ['"Sample" "Florida" "Loci"', *(f'"{i + 1}" "{code}" {f(i)} 38' for i, code in enumerate(codes))]
    ).encode(),
)
read(
    "cells parted by one blank, one of them empty",
    lambda codes: "\n".join(
        ["Sample Florida Note", *(f"{code} {'' if i == 3 else f(i)} ok" for i, code in enumerate(codes))]
    ).encode(),
    {**TRUTH, 3: "failed"},
)
refused(
    "cells parted by several blanks that do not stand below each other",
    lambda codes: "\n".join(
        ["Sample   Florida   Northern   Note",
         *(f"{code}   {'' if i == 3 else f(i)}   {1 - ALLELES[i] / 76:.{i % 4 + 1}f}   ok"
           for i, code in enumerate(codes))]
    ).encode(),
    "vial codes are in it, but its lines do not split into columns in one way only; ask the lab for a table",
)  # fmt: skip
read(
    "raised decimal points, NaN, and the number of an order that begins with a Q",
    lambda codes: [["Order", "Q-77"], HEAD,
                   *([code, "NaN" if i == 2 else f(i).replace(".", "\u00b7"), 38] for i, code in enumerate(codes))],
    {**TRUTH, 2: "failed"},
)  # fmt: skip


refused(
    "three columns that may be the share",
    lambda codes: [
        ["Sample", "Florida run 1", "Florida run 2", "Florida mean"],
        *rows_of(codes, ALL, f, f, f),
    ],
    "which column is the share of Florida alleles? B 'Florida run 1' may be the share",
)
refused(
    "one column that may be the share, which nothing is read without",
    lambda codes: [["Sample", "Lambda"], *rows_of(codes, ALL, f)],
    "column B 'Lambda' is not known (first value '0.0263'); say --column q=Lambda; with --keep",
)
read(
    "a word that is held, and is a column's heading too",
    lambda codes: [["Sample", "Florida", "Majority"],
                   *([code, f(i), "Florida" if i == 3 else "ok"] for i, code in enumerate(codes))],
    {**TRUTH, 3: "held"},
    Layout(columns={ColumnRole.FAILURE: "Majority"}, answered=frozenset({ColumnRole.FAILURE}),
           against=frozenset({"florida"})),
)  # fmt: skip
read(
    "the column of the shares, held",
    lambda codes: [["Sample", "Florida"], *rows_of(codes, ALL, f)],
    dict.fromkeys(range(12), "held"),
    Layout(against=frozenset({"florida"})),
)


read(
    "a first line that names the separator, and a last one that ends the report",
    lambda codes: "\n".join(
        ["sep=;", "Sample;Florida", *(f"{c};{f(i)}" for i, c in enumerate(codes)), "*** END OF REPORT ***"]
    ).encode(),
)
read(
    "each line in quotation marks",
    lambda codes: "\n".join(
        f'"{line}"' for line in ("Sample,Florida", *(f"{c},{f(i)}" for i, c in enumerate(codes)))
    ).encode(),
    account="the text: '' each row was one cell, and is split at its commas",
)
read(
    "a text file in one column of a workbook",
    lambda codes: book({"S": [["Sample;Florida"], *([f"{code};{f(i)}"] for i, code in enumerate(codes))]}),
)


def mail(codes: Codes) -> bytes:
    lines = [f"{code}   {f(i)[: 6 - i % 3]}   {38 - i % 2}" for i, code in enumerate(codes)]
    return "\n".join(["Results", "", *lines, "", "Kind regards"]).encode()


refused(
    "a letter with two numbers behind each code",
    mail,
    "which column is the share of Florida alleles? B 'figure 1'",
)
refused(
    "a letter with two numbers behind each code, the share known",
    mail,
    'say --column n_loci="figure 2"',
    Layout(columns={ColumnRole.Q: "figure 1"}, answered=frozenset({ColumnRole.Q}), taxon_of_q="Florida"),
)


read(
    "a key in two steps: the lab's number, its extract, our vial",
    lambda codes: book(
        {
            "Results": [["Lab ID", "Florida", "Loci scored"], *([f"Q-{i}", f(i), 38] for i in ALL)],
            "Extraction": [["Lab ID", "Extract"], *([f"Q-{i}", f"E{70 - 3 * i}"] for i in reversed(ALL))],
            "Reception": [["Extract", "Vial code"], *([f"E{70 - 3 * i}", codes[i]] for i in ALL)],
        }
    ),
    layout=Layout(harmless=frozenset({"sheet extraction", "sheet reception"})),
)


@pytest.fixture(scope="module")
def shipped(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Session, Codes]]:
    file = tmp_path_factory.mktemp("shapes") / "shipped.sqlite"
    shutil.copy(sqlite_template, file)
    engine = open_engine(f"sqlite:///{file}")
    with Session(engine) as session:
        codes = a_shipment(session, len(ALLELES), panel_loci=38)
        session.commit()
    with engine.connect() as connection, Session(connection) as session:
        yield session, codes
    engine.dispose()


def reading_of(session: Session, made: Rows | bytes, layout: Layout | None) -> ReturnRead:
    content = made if isinstance(made, bytes) else csv_file(made)
    stamp = Stamp(MOMENT, "Ada")
    return read_return(session, LabFile(content, "return.csv"), "SH-1", stamp=stamp, layout=layout)


@pytest.mark.parametrize("name", READ)
def test_a_readable_file_is_stored_without_a_question(name: str, shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    make, truth, layout, account = READ[name]
    try:
        done = reading_of(session, make(codes), layout)
        got = as_stored(session, codes)
    finally:
        session.rollback()
    assert got == nearly(truth)
    assert account in "\n".join(f"{item.where}: {item.text!r} {item.why}" for item in done.account.items)


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_that_may_mean_two_things_is_refused_in_words(
    name: str, shipped: tuple[Session, Codes]
) -> None:
    session, codes = shipped
    make, says, layout = REFUSED[name]
    with pytest.raises(GeneticlogError) as fault:
        reading_of(session, make(codes), layout)
    session.rollback()
    assert says in str(fault.value)


def test_more_loci_than_the_panel_has_are_one_finding_of_the_file(shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    done = reading_of(session, [HEAD, *([code, f(i), 4990 + i] for i, code in enumerate(codes))], None)
    again = reading_of(
        session, [HEAD, *([code, f(i), 38 + (i == 3)] for i, code in enumerate(codes)), ["", "", ""]], None
    )
    session.rollback()
    assert [text for _, kind, text in done.findings if "loci" in kind] == [
        "Rows 2 to 13: more loci are said to be scored (first 4990) than the 38 of the panel: another panel, or the"
        " lab's list of all it typed? Ask the lab, then accept or reject them."
    ]
    assert [kind for _, kind, _ in again.findings].count("more_loci_than_panel") == 1


def test_a_row_without_a_code_is_told_by_the_labs_own_number(shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    rows = [
        ["Lab ID", *HEAD],
        *([f"Q-{i}", "" if i == 5 else code, f(i), 38] for i, code in enumerate(codes)),
    ]
    done = reading_of(session, rows, None)
    session.rollback()
    assert "Row 7 holds a result and no vial code (Lab ID: Q-5)." in [text for *_, text in done.findings]


def test_the_chance_of_pairs_among_millions_is_a_number() -> None:
    from geneticlog.rules.lab_return.doubts_of_files.copied_down import at_least

    assert at_least(2, 10, 0.1) == pytest.approx(1 - 0.9**10 - 10 * 0.1 * 0.9**9)
    assert (at_least(0, 10, 0.1), at_least(11, 10, 0.1)) == (1.0, 0.0)
    assert at_least(250, 2_600_000, 1e-4) == pytest.approx(0.74, abs=0.02)  # near a Poisson of 260
