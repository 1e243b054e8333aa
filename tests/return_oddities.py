"""Random lab files that look right at a glance, each with one thing in it that a careful person would stop at.

What was found in files that people wrote: columns sorted alone, days and lengths of other fish, names of other clients,
sureness far below that of all others, a third lineage, titles, keys and sheets whose words nobody reads, and answers of
a person that reach further than was meant. return_shapes.py draws from here too.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from return_generator import Fish, Made, Sheet, write
from return_support import codes

from geneticlog.rules.lab_return.words.headings import answer_key
from geneticlog.rules.lab_return.words.layout import Layout

Rows = list[list[Any]]
Column = tuple[str, list[Any]]
Draw = Callable[[random.Random, list[Fish], int], Made]
MOST_FISH, ENOUGH = 96, 9  # of a file, and for rules that compare a row with all others
KINDS = ["csv", "semicolon", "tab", "xlsx", "ods", "html"]
WELLS = [f"{'ABCDEFGH'[i % 8]}{i // 8 + 1}" for i in range(96)]


def _plain(fish: Sequence[Fish], of: Sequence[float] | None = None) -> list[Column]:
    shares = of or [f.q for f in fish]
    return [
        ("Sample ID", [f.code for f in fish]),
        ("Florida proportion", [f"{share:.4f}" for share in shares]),
        ("Loci scored", [f.loci for f in fish]),
    ]


def _rows(columns: Sequence[Column]) -> Rows:
    return [[name for name, _ in columns], *map(list, zip(*(cells for _, cells in columns), strict=True))]


def _made(chance: random.Random, fish: Sequence[Fish], panel: int, rows: Rows | bytes, trap: str, *,
          disowned: Sequence[str] = (), ask: bool = False, layout: Layout | None = None) -> Made:  # fmt: skip
    kind = chance.choice(KINDS)
    content, name = (rows, "return.csv") if isinstance(rows, bytes) else write(Sheet(rows), kind)
    return Made(content, name, {f.code: f for f in fish}, panel, 0.5e-4, 1.0, "odd", (trap,), frozenset(disowned), ask,
                layout)  # fmt: skip


def _with_column(
    chance: random.Random, fish: list[Fish], heading: str, usual: Callable[[int], Any], odd: Any, n: int = 2
) -> tuple[Rows, list[str]]:
    """The plain table with one column more, in which ``n`` fish have something odd; and who these are."""
    those = chance.sample(range(len(fish)), n)
    columns = _plain(fish)
    columns.insert(
        chance.randint(1, 3), (heading, [odd if i in those else usual(i) for i in range(len(fish))])
    )
    return _rows(columns), [fish[i].code for i in those]


def _sorted_codes(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    columns = _plain(fish)
    columns[0] = ("Sample ID", sorted(f.code for f in fish))
    ask = columns[0][1] != [f.code for f in fish]
    rows = _rows([("Well", WELLS[: len(fish)]), *columns])
    return _made(chance, fish, panel, rows, "codes sorted alone", ask=ask)


def _early(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    heading = chance.choice(["Date of analysis", "Run date", "Extracted", "Date received", "PCR date"])
    odd = chance.choice(["2026-05-08", "8 May 2026", "May 9, 2026", "2025-11-30", "08-May-26"])
    rows, those = _with_column(chance, fish, heading, lambda i: "2026-05-20", odd)
    return _made(chance, fish, panel, rows, "analysed before it was sent", disowned=those)


def _collected(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    rows, those = _with_column(chance, fish, "Date collected", lambda i: "2026-05-01", "2024-05-18", 1)
    return _made(chance, fish, panel, rows, "collected another day", disowned=those)


def _named(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    name = chance.choice(["Egret Pond", "Bluegill Hollow Club", "Tern Reservoir", "M. Tarn"])
    if chance.random() < 0.5:
        label = chance.choice(["Client: ", "Project: ", "Lake | "])
        return _made(
            chance, fish, panel, [[label + name], *_rows(_plain(fish))], "another client's name", ask=True
        )
    heading = chance.choice(["Client", "Customer", "Water body", "Lake", "Project"])
    rows, _ = _with_column(chance, fish, heading, lambda i: "Heron Lake", name)
    return _made(chance, fish, panel, rows, "another client's name", ask=True)


def _unsure(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    heading = chance.choice(
        ["Confidence", "Confidence (%)", "Call quality", "Posterior", "Assignment probability", "Reads"]
    )
    high, low = (9000, 60) if heading == "Reads" else (98, 41) if "%" in heading else (0.98, 0.41)
    rows, those = _with_column(chance, fish, heading, lambda i: round(high * (1 - 0.01 * (i % 3)), 3), low, 1)
    said = Layout(harmless=frozenset({answer_key(heading)}))
    return _made(chance, fish, panel, rows, "one far less sure", disowned=those, layout=said)


def _third(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    heading = chance.choice(["Spotted bass", "Alabama", "SPB", "Unassigned", "Shoal bass"])
    those = chance.sample(range(len(fish)), 2)
    third = [0.3 if i in those else 0.0 for i in range(len(fish))]
    columns = _plain(fish, [f.q * (1 - t) for f, t in zip(fish, third, strict=True)])[:2]
    columns.append((heading, [f"{t:.4f}" for t in third]))
    key = (
        {"columns": {"third_q": heading}}
        if chance.random() < 0.5
        else {"harmless": frozenset({answer_key(heading)})}
    )
    layout = Layout(**key)  # type: ignore[arg-type]
    gone = [fish[i].code for i in those]
    return _made(chance, fish, panel, _rows(columns), "a third lineage", disowned=gone, layout=layout)


def _two_titles(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    half = len(fish) // 2
    head, *body = _rows(_plain(fish, [f.q if i < half else 1 - f.q for i, f in enumerate(fish)]))
    titles = ["Florida ancestry", chance.choice(["Northern ancestry", "Table 2: northern share (0-1)"])]
    again = [head] if chance.random() < 0.5 else []
    rows = [[titles[0]], head, *body[:half], [], [titles[1]], *again, *body[half:]]
    said = Layout(harmless=frozenset(map(answer_key, titles)))
    return _made(chance, fish, panel, rows, "two tables, both titles answered", ask=True, layout=said)


def _starred(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    mark = chance.choice(["Pass*", "OK?", "Pass†"])
    plain = mark.rstrip("*?†")
    rows, those = _with_column(chance, fish, "Status", lambda i: plain, mark, 1)
    said = Layout(against=frozenset({answer_key(mark)}))
    return _made(chance, fish, panel, rows, "a marked word held", disowned=those, layout=said)


def _key_note(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    from return_shapes import book

    those = chance.sample(range(len(fish)), 2)
    note = chance.choice(["possibly swapped", "tube cracked, contaminated?", "exclude"])
    key = [["Lab ID", "Client ID", chance.choice(["Note", "Remarks"])],
           *[[f"Q{100 + i}", f.code, note if i in those else ""] for i, f in enumerate(fish)]]  # fmt: skip
    columns = _plain(fish)
    columns[0] = ("Lab ID", [f"Q{100 + i}" for i in range(len(fish))])
    content = book([("Results", _rows(columns)), ("Key", key)])
    return _made(chance, fish, panel, content, "a note in the key", disowned=[fish[i].code for i in those])


def _out_of_a_total(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    halved = [replace(f, alleles=f.alleles // 2 * 2) for f in fish]
    shown = [
        (f.alleles // 2, f.loci) if i % 3 == 0 else (f.alleles, 2 * f.loci) for i, f in enumerate(halved)
    ]
    columns: list[Column] = [
        ("Sample ID", [f.code for f in halved]), ("FL alleles", [n for n, _ in shown]),
        ("N alleles", [of - n for n, of in shown]), ("Total alleles scored", [of for _, of in shown]),
    ]  # fmt: skip
    said = Layout(units={"q": "count"}, harmless=frozenset({"n alleles", "total alleles scored"}))
    seen = [replace(f, loci=(of + 1) // 2) if i % 3 == 0 else f for (i, f), (_, of) in
            zip(enumerate(halved), shown, strict=True)]  # fmt: skip
    seen = [
        replace(f, alleles=n) if i % 3 == 0 else f
        for (i, f), (n, _) in zip(enumerate(seen), shown, strict=True)
    ]
    return _made(chance, seen, panel, _rows(columns), "alleles of a total that differs", layout=said)


def _two_units(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    those = chance.sample(range(len(fish)), 3)
    cells = [f"{f.q:.4f}" if i in those else f"{100 * f.q:.2f}%" for i, f in enumerate(fish)]
    rows = _rows([("Vial", [f.code for f in fish]), ("Florida", cells)])
    return _made(chance, fish, panel, rows, "fractions among percents", layout=Layout(units={"q": "percent"}))


def _rearrayed(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    by_row = [f"{'ABCDEFGH'[i // 12]}{i % 12 + 1}" for i in range(96)]
    rows = _rows([("Well", by_row[: len(fish)]), *_plain(fish)[1:]])
    return _made(
        chance, fish, panel, rows, "plated anew by rows", ask=len(fish) > 8, layout=Layout(wells="ours")
    )


def _says_percent(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    line = chance.choice(["Florida ancestry, values in percent", "All results in %"])
    low = [f.q * 0.9 for f in fish]
    rows = [[line], ["Sample", "Florida"], *[[f.code, f"{q:.3f}"] for f, q in zip(fish, low, strict=True)]]
    said = Layout(harmless=frozenset({answer_key(line)}))
    return _made(chance, fish, panel, rows, "percent in a title", ask=max(low) > 0, layout=said)


def _excluded_loci(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    rows: Rows = [
        ["Sample", *[f"M{m:02d}" for m in range(panel)]],
        ["Status", *["keep"] * (panel - 5), *["exclude"] * 5],
    ]
    for f in fish:
        both = (f.alleles - f.mixed) // 2
        calls = [2] * both + [1] * f.mixed + [0] * (panel - both - f.mixed)
        rows.append([f.code, *map(str, calls)])
    said = Layout(counted="Florida", coding="counts")
    return _made(chance, fish, panel, rows, "loci that a row excludes", ask=True, layout=said)


def _notes_sheet(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    from return_shapes import book

    lines = [["Extraction by magnetic beads"], ["Plate row D: pipetting error, values not valid"]]
    content = book([("Results", _rows(_plain(fish))), ("Notes", lines)])
    said = Layout(harmless=frozenset({"sheet notes"}))
    return _made(chance, fish, panel, content, "a sheet whose second line matters", ask=True, layout=said)


def _other_length(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """The fish that was logged first and the one logged last have each other's length; they are 300 mm and more."""
    logged = {code: n for n, code in enumerate(codes(MOST_FISH))}
    number = {f.code: logged[f.code] for f in fish}
    first, last = min(number.values()), max(number.values())
    ends = {first: last, last: first}
    mm = [300 + 10 * ends.get(n, n) for n in number.values()]
    heading, scale = chance.choice([("TL (mm)", 1), ("TL (in)", 25.4), ("Total length (cm)", 10)])
    columns = _plain(fish)
    columns.insert(1, (heading, [f"{length / scale:.2f}" for length in mm]))
    gone = [f.code for f in fish if number[f.code] in ends]
    return _made(chance, fish, panel, _rows(columns), "another fish's length", disowned=gone)


def _shown_otherwise(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    import io

    import openpyxl

    workbook = openpyxl.Workbook()
    for row in _rows(_plain(fish)):
        workbook.active.append(
            [float(c) if isinstance(c, str) and c.replace(".", "").isdigit() else c for c in row]
        )
    workbook.active.cell(chance.randint(2, len(fish) + 1), 2).number_format = chance.choice(
        ['"FAIL"', '0.00"*"']
    )
    out = io.BytesIO()
    workbook.save(out)
    return _made(chance, fish, panel, out.getvalue(), "a format that says FAIL", ask=True)


def _styled(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    at = chance.randrange(len(fish))
    body = "".join(f"<tr{' class=void' if n == at + 1 else ''}>{''.join(f'<td>{c}</td>' for c in row)}</tr>"
                   for n, row in enumerate(_rows(_plain(fish))))  # fmt: skip
    look = chance.choice([".void td{text-decoration:line-through}", ".void{text-decoration: line-through}"])
    page = f"<html><style>{look}</style><body><table>{body}</table></body></html>".encode()
    return _made(chance, fish, panel, page, "struck by a style", disowned=[fish[at].code])


def _contradicted(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """A pure class beside a share of about one half, or a count of alleles beside another share."""
    mixed = next((i for i, f in enumerate(fish) if 0.3 < f.q < 0.7), None)
    if mixed is not None and chance.random() < 0.5:
        pure = chance.choice(["Pure northern", "Pure Florida"])
        columns = [*_plain(fish), ("Category", [pure if i == mixed else "" for i in range(len(fish))])]
        return _made(chance, fish, panel, _rows(columns), "pure at one half", disowned=[fish[mixed].code])
    at = chance.randrange(len(fish))
    counts = [(f.alleles + f.loci) % (2 * f.loci) if i == at else f.alleles for i, f in enumerate(fish)]
    columns = [*_plain(fish), ("FL alleles", counts)]
    said = Layout(harmless=frozenset({"fl alleles"}), columns={"q": "Florida proportion"})
    return _made(chance, fish, panel, _rows(columns), "another count beside the share", disowned=[fish[at].code],
                 layout=said)  # fmt: skip


def _of_scales(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    rows, _ = _with_column(
        chance, fish, "Tissue", lambda i: "mouth swab", chance.choice(["scale", "water", "liver"]), 1
    )
    return _made(chance, fish, panel, rows, "another tissue", ask=True)


def _mostly_missing(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    rows, those = _with_column(chance, fish, "Missing loci", lambda i: i % 2, panel - 4, 1)
    at = rows[0].index("Loci scored")
    return _made(
        chance, fish, panel, [row[:at] + row[at + 1 :] for row in rows], "most loci missing", disowned=those
    )


def _beside(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """A column beside the share that says another thing of one or two fish, called harmless or not."""
    if len(fish) < ENOUGH:
        return _runs(chance, fish, panel)
    n, i = len(fish), chance.randrange(len(fish) - 1)
    heading, cells, those = chance.choice(
        [
            ("CI upper", [f"{min(1.0, f.q + 0.05):.3f}" for f in fish], [i]),
            ("95 % CI", [f"{max(0.0, f.q - 0.05):.2f}-{min(1.0, f.q + 0.05):.2f}" for f in fish], [i]),
            (
                chance.choice(["Extract ID", "Lab ID", "Accession no."]),
                [f"EX-{300 + k}" for k in range(n)],
                [i, i + 1],
            ),
            ("Date genotyped", ["2026-05-20"] * n, [i]),
            ("Shipment", ["SH-1"] * n, [i]),
        ]
    )
    cells = list(cells)
    if heading == "CI upper":
        high = [k for k, f in enumerate(fish) if f.q > 0.4]
        i = chance.choice(high) if high else -1
        those = [i] if high else []
        cells[i] = "0.1" if high else cells[i]
    elif heading == "95 % CI":
        cells[i] = "0.00-1.00"
    elif heading == "Date genotyped":
        cells[i] = chance.choice(["2027-05-20", "2025-05-20"])
    elif heading == "Shipment":
        cells[i] = "SH-9"
    else:
        cells[i + 1] = cells[i]
    columns = _plain(fish)
    columns.insert(chance.randint(1, 3), (heading, cells))
    said = (
        Layout(harmless=frozenset({answer_key(heading)}))
        if heading in ("CI upper", "Date genotyped")
        else None
    )
    gone = [fish[k].code for k in those]
    return _made(chance, fish, panel, _rows(columns), f"another {heading}", disowned=gone, layout=said)


def _runs(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    those = chance.sample(range(len(fish)), 1 if len(fish) >= ENOUGH else 0)
    columns = [
        ("Sample ID", [f.code for f in fish]),
        ("Florida run 1", [f"{max(0.0, f.q - 0.01):.4f}" for f in fish]),
        ("Florida run 2", [f"{f.q + (f.q - max(0.0, f.q - 0.01)):.4f}" for f in fish]),
        ("Florida mean", [f"{1 - f.q if i in those else f.q:.4f}" for i, f in enumerate(fish)]),
    ]
    said = Layout(columns={"q": "Florida mean"}, answered=frozenset({"q"}),
                  harmless=frozenset({"florida run 1", "florida run 2"}))  # fmt: skip
    gone = [fish[i].code for i in those if abs(2 * fish[i].q - 1) > 0.02]
    return _made(chance, fish, panel, _rows(columns), "a mean made by hand", disowned=gone, layout=said)


def _line_against(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    if len(fish) < ENOUGH:
        return _runs(chance, fish, panel)
    mean = sum(f.q for f in fish) / len(fish)
    line = chance.choice(
        [
            ["Mean", f"{mean + 0.3 if mean < 0.5 else mean - 0.3:.4f}"],
            ["Species: Lepomis macrochirus"],
            [f"Number of samples: {len(fish) + 5}"],
            ["Rows A and B: low DNA", "treat with caution"],
        ]
    )
    rows = _rows(_plain(fish))
    rows = [*rows, line] if line[0] in ("Mean", "Rows A and B: low DNA") else [line, *rows]
    return _made(chance, fish, panel, rows, "a line that the rows contradict", ask=True)


def _kept_then_new(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    heading, then, now = chance.choice(
        [("Flag", ("0",), "1"), ("Check", (), "low"), ("Batch state", ("a", "b"), "c")]
    )
    rows, _ = _with_column(chance, fish, heading, lambda i: then[i % len(then)] if then else "", now)
    key = answer_key(heading)
    kept = Layout(harmless=frozenset({key}), kept=frozenset({key}), seen={key: then})
    return _made(chance, fish, panel, rows, "a new word in a kept column", ask=True, layout=kept)


ODDITIES: list[Draw] = [
    _beside, _runs, _line_against, _kept_then_new,
    _sorted_codes, _early, _collected, _named, _unsure, _third, _two_titles, _starred, _key_note, _out_of_a_total,
    _two_units, _rearrayed, _says_percent, _excluded_loci, _notes_sheet, _other_length, _shown_otherwise, _styled,
    _contradicted, _of_scales, _mostly_missing,
]  # fmt: skip


def odd(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Draw one file of a kind that was silently wrong once; no fish of it failed."""
    return chance.choice(ODDITIES)(chance, [replace(f, failed=False) for f in fish], panel)
