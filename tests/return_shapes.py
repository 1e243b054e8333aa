"""Further random lab files from a known truth: shapes and defects that return_generator.py does not draw.

Heads of several rows, codes as labs write them, keys and wells, counts and ratios, blocks with totals, kept layouts,
marks in every kind of workbook, swapped columns, other languages. ``draw`` takes turns between both.
"""

from __future__ import annotations

import io
import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from return_generator import PANELS, Fish, Made, Sheet, _number, draw_fish, make, write
from return_oddities import odd

from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.vialcode import mint, printed

Rows = list[list[Any]]
Column = tuple[str, list[Any]]
COMMENTS = ["contaminated, do not use", "value of its neighbour?", "voir courriel"]
OF_REMARKS = [
    "QC",
    "Bemerkung",
    "Observations",
    "Observaciones",
    "Status",
    "Hinweis",
    "Remarques",
    "",
    "Code",
]
OF_NORTHERN = ["Northern largemouth bass ancestry", "M. nigricans", "share of northern alleles"]
WELLS = [
    f"{'ABCDEFGH'[i % 8]}{i // 8 + 1:02d}" for i in range(96)
]  # down the columns, as the plate was filled
EXACT, FOUR = 1e-9, 0.5e-4


def draw(seed: int, codes: Sequence[str]) -> Made:
    """Draw one file: of an even seed from return_generator.py, of an odd one from here or return_oddities.py."""
    if seed % 2 == 0:
        return make(seed, codes)
    chance = random.Random(seed)
    panel = chance.choice(PANELS)
    fish = draw_fish(chance, codes[: chance.randint(6, len(codes))], panel)
    return odd(chance, fish, panel) if seed % 4 == 3 else chance.choice(SHAPES)(chance, fish, panel)


# --- parts --------------------------------------------------------------------------------------------------


def share(f: Fish, unit: str = "fraction", of: float | None = None) -> str:
    """A share to four digits, or ND."""
    value = f.q if of is None else of
    if f.failed:
        return "ND"
    return f"{value:.4f}" if unit == "fraction" else f"{100 * value:.2f}" + "%" * (unit == "sign")


def plain(fish: Sequence[Fish], unit: str = "fraction") -> list[Column]:
    """Vial, share of Florida alleles and loci."""
    name = {"fraction": "Florida proportion", "percent": "% Florida", "sign": "Florida"}[unit]
    return [
        ("Sample ID", [f.code for f in fish]),
        (name, [share(f, unit) for f in fish]),
        ("Loci scored", ["" if f.failed else str(f.loci) for f in fish]),
    ]


def as_rows(columns: Sequence[Column]) -> Rows:
    return [
        [name for name, _ in columns],
        *[list(row) for row in zip(*(cells for _, cells in columns), strict=True)],
    ]


def book(sheets: Sequence[tuple[str, Rows]], hidden: Sequence[str] = ()) -> bytes:
    """An XLSX workbook of several sheets."""
    import openpyxl

    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets:
        sheet = workbook.create_sheet(name)
        for row in rows:
            numbers = [_number(cell) if isinstance(cell, str) else cell for cell in row]
            sheet.append(
                [cell if number is None else number for cell, number in zip(row, numbers, strict=True)]
            )
        if name in hidden:
            sheet.sheet_state = "hidden"
    out = io.BytesIO()
    workbook.save(out)
    return out.getvalue()


def made(
    fish: Sequence[Fish], panel: int, content: bytes, name: str, shape: str, *traps: str, room: float = FOUR,
    h_room: float = 1.0, disowned: Sequence[str] = (), ask: bool = False, layout: Layout | None = None,
) -> Made:  # fmt: skip
    return Made(
        content,
        name,
        {f.code: f for f in fish},
        panel,
        room,
        h_room,
        shape,
        traps,
        frozenset(disowned),
        ask,
        layout,
    )


def any_kind(chance: random.Random) -> str:
    return chance.choice(["csv", "semicolon", "tab", "xlsx", "xls", "ods", "html"])


# --- shapes -------------------------------------------------------------------------------------------------


def _headed(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Heads of one to three rows: units below, groups above, line breaks inside."""
    unit = chance.choice(["fraction", "percent"])
    mark = {"fraction": "(0-1)", "percent": "(%)"}[unit]
    values = [
        [f.code, share(f, unit), share(f, unit, 1 - f.q), share(f, unit, f.h), "" if f.failed else f.loci]
        for f in fish
    ]
    way = chance.choice(["units", "groups", "three", "breaks", "repeated"])
    heads: Rows = {
        "units": [["Sample", "Florida", "Northern", "Heterozygosity", "Loci"], ["", mark, mark, mark, "(n)"]],
        "groups": [["", "Ancestry", "", "Quality", ""],
                   ["Vial", f"Florida {mark}", f"Northern {mark}", f"H {mark}", "Loci"]],
        "three": [["Sample", "Ancestry", "", "Quality", ""], ["ID", "Florida", "Northern", "Het", "Loci"],
                  ["", mark, mark, mark, "scored"]],
        "breaks": [["Sample\nID", f"Florida\n{mark}", f"Northern\n{mark}", f"Het.\n{mark}", "Loci\nscored"]],
        "repeated": [["Sample", f"Florida {mark}", f"Northern {mark}", f"H {mark}", "Loci scored"]],
    }[way]  # fmt: skip
    rows = [*heads, *values]
    if way == "repeated":
        half = len(heads) + len(values) // 2
        rows = [*rows[:half], heads[0], *rows[half:]]
    content, name = write(Sheet(rows), any_kind(chance))
    return made(fish, panel, content, name, f"heads {way}", h_room=FOUR)


def _coded(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Codes as labs write them."""
    ways: dict[str, Callable[[int, str], str]] = {
        "well behind": lambda i, c: f"{c}_{WELLS[i]}",
        "well in brackets": lambda i, c: f"{c} ({WELLS[i]})",
        "direction marks": lambda i, c: f"\u202a{c}\u202c",
        "zero width": lambda i, c: f"\ufeff{c}\u200b",
        "lower case": lambda i, c: c.lower(),
        "grouped": lambda i, c: printed(c),
        "hyphens": lambda i, c: f"{c[:2]}-{c[2:8]}-{c[8:]}",
        "letter O": lambda i, c: c[:2] + c[2:].replace("0", "O"),
        "spaces": lambda i, c: f"  {c} ",
        "with its plate": lambda i, c: f"P1-{WELLS[i]}-{c}",
    }
    way = chance.choice(list(ways))
    columns = plain(fish)
    columns[0] = (
        chance.choice(["Sample", "Vial", "Client ID"]),
        [ways[way](i, f.code) for i, f in enumerate(fish)],
    )
    content, name = write(Sheet(as_rows(columns)), any_kind(chance))
    return made(fish, panel, content, name, f"codes, {way}")


def _by_key(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """The lab's own numbers, and a sheet that says which vial each is."""
    number = chance.choice([lambda i: f"Q{100 + i}", lambda i: str(4100 + i), lambda i: f"QG-26-{i:03d}"])
    own = [number(i) for i in range(len(fish))]
    columns = plain(fish)
    columns[0] = (chance.choice(["Lab ID", "Lab no.", "Sample"]), own)
    key = [["Lab ID", "Client ID"], *[[a, f.code] for a, f in zip(own, fish, strict=True)]]
    body = key[1:]
    chance.shuffle(body)
    disowned: list[str] = []
    traps: list[str] = []
    if chance.random() < 0.3:
        body[0][0] = body[1][0]  # two vials of one number
        disowned = [body[0][1], body[1][1], *[f.code for f in fish if f.code == body[0][1]]]
        traps = ["key names a number twice"]
    sheets = [("Results", as_rows(columns)), ("Key", [key[0], *body])]
    if chance.random() < 0.5:
        sheets.reverse()
    return made(fish, panel, book(sheets), "return.xlsx", "key sheet", *traps, disowned=disowned)


def _in_wells(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Wells only, as a list or a plate, with the person's one answer or without, or with the lab's own map."""
    unit = chance.choice(["fraction", "percent"])
    name = {"fraction": "Florida proportion", "percent": "% Florida"}[unit]
    kind = any_kind(chance)
    way = chance.choice(["list", "plate", "plate", "lab's map"])
    if way == "lab's map":
        order = list(range(len(fish)))
        chance.shuffle(order)
        there = plate("Plate map", [fish[i].code for i in order])
        listed = [["Well", name], *[[WELLS[at], share(fish[i], unit)] for at, i in enumerate(order)]]
        content = book([("Layout", there), ("Results", listed)])
        return made(fish, panel, content, "return.xlsx", "wells, lab's map")
    if way == "list":
        short = chance.random() < 0.5
        wells = [f"{w[0]}{int(w[1:])}" if short else w for w in WELLS[: len(fish)]]
        rows = as_rows([("Well", wells), *plain(fish, unit)[1:]])
        chance.shuffle(body := rows[1:])
        rows = [rows[0], *body]
    else:
        rows = plate(name, [share(f, unit) for f in fish])
    answered = chance.random() < 0.7
    content, file = write(Sheet(rows), kind)
    if not answered:
        return made(fish, panel, content, file, f"wells, {way}", "wells only", ask=True)
    return made(fish, panel, content, file, f"wells, {way}", layout=Layout(wells="ours"))


def plate(title: str, values: Sequence[Any]) -> Rows:
    """A plate of 8 x 12, filled down the columns, below its title."""
    cells = dict(enumerate(values))
    return [
        [title], ["", *range(1, 13)],
        *[[letter, *[cells.get(8 * c + r, "") for c in range(12)]] for r, letter in enumerate("ABCDEFGH")],
    ]  # fmt: skip


def _counted(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Counts of alleles and loci, ratios, whole percents."""
    way = chance.choice(
        ["alleles", "ratio", "words", "whole percent", "both taxa", "counts under a bare name"]
    )
    loci = ["" if f.failed else str(f.loci) for f in fish]
    q: Column = {
        "alleles": ("No. Florida alleles", [str(f.alleles) for f in fish]),
        "ratio": ("Florida alleles", [f"{f.alleles}/{2 * f.loci}" for f in fish]),
        "words": ("Florida alleles", [f"{f.alleles} of {2 * f.loci}" for f in fish]),
        "whole percent": ("% Florida", [f"{100 * f.q:.0f}" for f in fish]),
        "both taxa": ("Florida alleles", [str(f.alleles) for f in fish]),
        "counts under a bare name": (
            chance.choice(["Florida", "FLMB", "Florida score"]), [str(f.alleles) for f in fish]
        ),
    }[way]  # fmt: skip
    q = (q[0], ["ND" if f.failed else cell for f, cell in zip(fish, q[1], strict=True)])
    columns: list[Column] = [("Sample ID", [f.code for f in fish]), q]
    if way == "both taxa":
        columns.append(("Northern alleles", ["" if f.failed else str(2 * f.loci - f.alleles) for f in fish]))
    if chance.random() < 0.5:
        h = [f"{f.mixed}/{f.loci}" if way == "ratio" else str(f.mixed) for f in fish]
        columns.append(
            ("Heterozygous loci", ["" if f.failed else cell for f, cell in zip(fish, h, strict=True)])
        )
    scored = chance.random() < 0.5
    columns.append(("Loci scored", [f"{n}/{panel}" if scored and n else n for n in loci]))
    content, name = write(Sheet(as_rows(columns)), any_kind(chance))
    room = 0.005 if way == "whole percent" else EXACT
    return made(fish, panel, content, name, f"counts, {way}", room=room, h_room=EXACT)


def _in_blocks(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Lakes as blocks with totals between, averages below, rows that repeat or contradict others."""
    rows = as_rows(plain(fish))
    half = 1 + len(fish) // 2
    typed = [f for f in fish if not f.failed] or fish
    mean = f"{sum(f.q for f in typed) / len(typed):.4f}"
    way = chance.choice(["titles", "subtotals", "means below", "repeated", "contradicted", "reruns"])
    disowned: list[str] = []
    traps: list[str] = []
    if way == "titles":
        rows = [rows[0], ["Heron Lake"], *rows[1:half], [], ["Lake Heron"], *rows[half:]]
    elif way == "subtotals":
        rows = [*rows[:half], ["Subtotal", mean, panel], *rows[half:], ["Total", mean, panel]]
    elif way == "means below":
        rows += [[], ["Mean", mean, panel], ["SD", "0.2100", ""], ["n", len(fish), ""]]
    elif way == "repeated":
        rows += [list(row) for row in chance.sample(rows[1:], 2)]
    elif way == "contradicted":
        again = chance.choice(typed)
        rows.append([again.code, f"{(again.q + 0.3) % 1:.4f}", again.loci])
        disowned, traps = [again.code], ["two values of one vial"]
    else:
        again = chance.choice(typed)
        rows.append([f"{again.code}-R2", f"{(again.q + 0.3) % 1:.4f}", again.loci])
    content, name = write(Sheet(rows), any_kind(chance))
    return made(fish, panel, content, name, f"blocks, {way}", *traps, disowned=disowned)


def _kept(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """A layout kept from an earlier file, and a file that follows it or not."""
    was, unit = chance.choice(["percent", "fraction"]), chance.choice(["percent", "fraction"])
    columns = plain(fish)
    columns[1] = ("Florida", [share(f, unit) for f in fish])
    kept = Layout(
        columns={"vial": "Sample ID", "q": "Florida", "n_loci": "Loci scored"}, kept_units={"q": was}
    )
    way = chance.choice(["same names", "other order", "by letter, moved"])
    traps = ["kept in another unit"] if was != unit and any(f.alleles for f in fish) else []
    ask = bool(traps)
    if way == "other order":
        columns = [columns[0], columns[2], columns[1]]
    elif way == "by letter, moved":
        kept = replace(kept, columns={"vial": "A", "q": "B"})
        columns = [
            columns[0],
            ("Heterozygosity", [share(f, unit, f.h) for f in fish]),
            columns[1],
            columns[2],
        ]
        traps, ask = ["a letter that is another column now"], True
    content, name = write(Sheet(as_rows(columns)), any_kind(chance))
    return made(fish, panel, content, name, f"kept layout, {way}", *traps, ask=ask, layout=kept)


def _marked(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """A mark against one fish, in each kind of workbook that can hold it."""
    sheet = Sheet(as_rows(plain(fish)))
    at = chance.randrange(len(fish))
    row, code = at + 1, fish[at].code
    mark = chance.choice(
        ["struck", "hidden row", "colour", "colour and legend", "comment", "footnote", "star"]
    )
    kind = chance.choice(["xlsx", "ods"] if mark == "comment" else ["xlsx", "xls", "ods", "html"])
    ask, disowned = False, [code]
    if mark == "struck":
        sheet.struck = {(row, c) for c in range(3)} if chance.random() < 0.5 else {(row, 1)}
    elif mark == "hidden row":
        sheet.hidden_rows = {row}
    elif mark.startswith("colour"):
        sheet.filled = {(row, c) for c in range(3)}
        if mark.endswith("legend"):
            sheet.rows.append(["Orange: second extraction differs"])
    elif mark == "comment":
        sheet.comments = {(row, 1): chance.choice(COMMENTS)}
    elif mark == "footnote":
        other = fish[at - 1].code
        sheet.rows += [[], [chance.choice([
            f"Tubes {code} and {other} were interchanged.", "¹ two of the samples were exchanged on the plate",
            f"{code}: read {other}", "Rows 3 and 4 to be read the other way round"])]]  # fmt: skip
        ask = True
    else:
        sheet.rows[row][1] += "*"
    if kind == "html":
        content, name = _html_marked(sheet), "return.xls"
    else:
        content, name = write(sheet, kind)
    if fish[at].failed and not ask:
        disowned = []
    return made(fish, panel, content, name, f"{mark} in {kind}", mark, disowned=disowned, ask=ask)


def _html_marked(sheet: Sheet) -> bytes:
    out = []
    for r, row in enumerate(sheet.rows):
        cells = []
        for c, value in enumerate(row):
            text = f"<s>{value}</s>" if (r, c) in sheet.struck else str(value)
            cells.append(f"<td{' bgcolor=#FFC000' if (r, c) in sheet.filled else ''}>{text}</td>")
        out.append(f"<tr{' style=display:none' if r in sheet.hidden_rows else ''}>{''.join(cells)}</tr>")
    return f"<html><body><table>{''.join(out)}</table></body></html>".encode()


def _uncalculated(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Formulas that were never calculated, in some rows or all."""
    import xlsxwriter

    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as workbook:
        sheet = workbook.add_worksheet()
        sheet.write_row(0, 0, ["Sample", "Florida proportion", "Loci scored", "Florida alleles (n)"])
        n = len(fish) if chance.random() < 0.6 else 2
        for r, f in enumerate(fish, start=1):
            sheet.write_row(r, 0, [f.code, None, f.loci, f.alleles])
            if r <= n:
                sheet.write_formula(r, 1, f"=D{r + 1}/(2*C{r + 1})")
            else:
                sheet.write_number(r, 1, round(f.q, 4))
    whole = [replace(f, failed=False) for f in fish]
    gone = [f.code for f in whole[:n] if f.alleles]
    return made(whole, panel, out.getvalue(), "return.xlsx", "formulas", "never calculated", disowned=gone)


def _in_percent_cells(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Numbers shown as percents by the format of their cells."""
    kind = chance.choice(["xlsx", "xls", "ods"])
    name = chance.choice(["Florida", "% Florida", "Florida ancestry"])
    rows = [["Sample", name, "Loci scored"], *[[f.code, "ND" if f.failed else f.q, f.loci] for f in fish]]
    if kind == "xlsx":
        content = write(Sheet(rows, percent_columns={1}), "xlsx")[0]
    elif kind == "xls":
        import xlwt

        workbook = xlwt.Workbook()
        page = workbook.add_sheet("Results")
        style = xlwt.easyxf(num_format_str="0.0%")
        for r, row in enumerate(rows):
            for c, value in enumerate(row):
                page.write(r, c, value, *([style] if isinstance(value, float) else []))
        out = io.BytesIO()
        workbook.save(out)
        content = out.getvalue()
    else:
        content = _ods_percent(rows)
    return made(fish, panel, content, f"return.{kind}", f"percent cells, {kind}", room=1e-6)


def _ods_percent(rows: Rows) -> bytes:
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    document, table = OpenDocumentSpreadsheet(), Table(name="Results")
    for row in rows:
        line = TableRow()
        for value in row:
            if isinstance(value, float):
                cell = TableCell(valuetype="percentage", value=value)
                cell.addElement(P(text=f"{100 * value:.1f}%"))
            else:
                cell = (
                    TableCell(valuetype="float", value=value)
                    if isinstance(value, int)
                    else TableCell(valuetype="string")
                )
                cell.addElement(P(text=str(value)))
            line.addElement(cell)
        table.addElement(line)
    document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.write(out)
    return out.getvalue()


def _worded(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Words against values, in the lab's language."""
    good = chance.choice([["ok"], ["pass"], ["gut"], ["bien", "bon"], ["aceptado"], [""]])
    bad = chance.choice([
        "rechazado", "verunreinigt", "contaminé", "à exclure", "dudoso", "ungültig", "no confiable", "wdh.", "échec",
        "nicht verwenden", "mezclado?", "see note 3", "3.1", "R", "X", "(!)", "hold", "ambig", "2 peaks", "het excess",
        "wrong tank", "n.b.", "sus", "repeat x2", "low reads", "DNA of 2 fish", "no match", "#",
    ])  # fmt: skip
    words = [chance.choice(good) for _ in fish]
    gone = chance.sample(range(len(fish)), 1)
    for i in gone:
        words[i] = bad
    heading = chance.choice(OF_REMARKS)
    columns = plain(fish)
    columns.insert(chance.randint(1, 3), (heading, words))
    content, name = write(Sheet(as_rows(columns)), any_kind(chance))
    disowned = [fish[i].code for i in gone if not fish[i].failed]
    return made(fish, panel, content, name, "words", "the lab says no", disowned=disowned)


def _decoyed(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Columns that look like the share, before or behind it."""
    columns = plain(fish, unit := chance.choice(["fraction", "percent"]))
    wrong = [share(f, unit, min(1.0, max(0.0, 0.8 * f.q + 0.07))) for f in fish]
    name = chance.choice([
        "FL", "Florida (lake mean)", "Florida 2019", "Previous Florida", "Florida, all loci", "Florida adj.",
        "Florida*", "Florida (Bayesian)", "Cluster 1", "Florida posterior", "P(F1)", "Florida mito",
        "Florida parent",
        "Florida imputed", "FLMB old", "Florida %ile", "Florida males", "Expected q", "Florida alleles (20 loci)",
    ])  # fmt: skip
    columns.insert(chance.choice([1, 2]), (name, wrong))
    content, file = write(Sheet(as_rows(columns)), any_kind(chance))
    return made(fish, panel, content, file, "decoys", "another share beside it")


def _swapped(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Shares under the heading of heterozygosity and the other way round."""
    mixed = [replace(f, failed=False) for f in fish]
    columns: list[Column] = [
        ("Sample ID", [f.code for f in mixed]),
        ("Florida proportion", [f"{f.h:.4f}" for f in mixed]),
        ("Heterozygosity", [f"{f.q:.4f}" for f in mixed]),
        ("Loci scored", [str(f.loci) for f in mixed]),
    ]
    telling = sum(f.q > 2 * min(f.h, 1 - f.h) + 0.05 or f.alleles % 2 for f in mixed)
    content, name = write(Sheet(as_rows(columns)), any_kind(chance))
    if telling >= len(mixed) / 3:
        return made(mixed, panel, content, name, "swapped", "H and q swapped", ask=True)
    return _headed(chance, fish, panel)


def _bare(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """An unnamed share of the other taxon, told by a title, a class, or not at all."""
    columns = plain(fish)
    columns[1] = (chance.choice(["q", "Q", "q-value", "Value", "Ancestry", "Proportion", "K1"]),
                  [share(f, of=1 - f.q) for f in fish])  # fmt: skip
    way = chance.choice(["nothing", "title", "class", "sheet name"])
    rows = as_rows(columns)
    if way == "class":
        kinds = ["northern" if f.q < 0.1 else "Florida" if f.q > 0.9 else "mixed" for f in fish]
        rows = [[*row, "Class" if not i else kinds[i - 1]] for i, row in enumerate(rows)]
    if way == "title":
        rows.insert(
            0,
            [chance.choice(OF_NORTHERN)],
        )
    if way == "sheet name":
        return made(
            fish, panel, book([("Northern", rows)]), "return.xlsx", f"bare, {way}", "q of northern", ask=True
        )
    content, name = write(Sheet(rows), any_kind(chance))
    return made(fish, panel, content, name, f"bare, {way}", "q of northern", ask=True)


def _mangled(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """Codes and values that a spreadsheet changed, lab numbers that check as codes of ours, mixed decimal marks."""
    columns = plain(fish)
    way = chance.choice(["dates", "serials", "other codes", "mixed commas", "exponents"])
    at = chance.randrange(len(fish))
    gone = [fish[at].code]
    names, values = list(columns[0][1]), list(columns[1][1])
    kind = "semicolon" if way == "mixed commas" else any_kind(chance)
    if way == "dates":
        values[at] = chance.choice(["4-Mar", "2026-01-21", "21-Jan", "01/02/2026"])
    elif way == "serials":
        values[at] = chance.choice(["46100", "45748"])
    elif way == "exponents":
        names[at] = "1.2E+04"
    elif way == "mixed commas":
        values = [v.replace(".", ",") if i % 3 == at % 3 else v for i, v in enumerate(values)]
        gone = []
    else:
        other = [code for n in range(900, 990) if (code := mint("QG", n))]
        columns.insert(1, ("Lab ID", other[: len(fish)]))
        gone = []
    columns[0] = ("Sample ID", names)
    columns = [(name, values if name == "Florida proportion" else cells) for name, cells in columns]
    content, name = write(Sheet(as_rows(columns)), kind)
    disowned = [] if fish[at].failed and way in ("dates", "serials") else gone
    fish = [f for f in fish if f.code not in disowned or way != "exponents"]
    return made(fish, panel, content, name, f"mangled, {way}", *([way] if gone else []), disowned=disowned)


def _on_sheets(chance: random.Random, fish: list[Fish], panel: int) -> Made:
    """A sheet for each plate, a summary beside them, an older version out of sight, two panels in one file."""
    way = chance.choice(["plates", "summary", "old version", "two panels", "two panels beside"])
    half = len(fish) // 2
    typed = [f for f in fish if not f.failed] or fish
    if way == "plates":
        sheets = [("Plate 1", as_rows(plain(fish[:half]))), ("Plate 2", as_rows(plain(fish[half:])))]
        return made(fish, panel, book(sheets), "return.xlsx", "sheets, plates")
    if way == "summary":
        mean = f"{sum(f.q for f in typed) / len(typed):.4f}"
        summary = [["Lake", "n", "Mean Florida proportion"], ["Heron", str(len(typed)), mean]]
        sheets = [("Results", as_rows(plain(fish))), ("Summary", summary)]
        return made(fish, panel, book(sheets), "return.xlsx", "sheets, summary")
    if way == "old version":
        old = [
            [*row[:1], *(["0.5"] if i else row[1:2]), *row[2:]] for i, row in enumerate(as_rows(plain(fish)))
        ]
        sheets = [("v1", old), ("Results", as_rows(plain(fish)))]
        return made(fish, panel, book(sheets, ["v1"]), "return.xlsx", "sheets, old version")
    rows = as_rows(plain(fish))
    if way == "two panels":
        rows = [
            [*row, "Panel" if not i else f"QB{panel}" if i <= half else "QB12"] for i, row in enumerate(rows)
        ]
        content, name = write(Sheet(rows), any_kind(chance))
        return made(fish, panel, content, name, "two panels in a column")
    other = [share(f, of=min(1.0, 0.9 * f.q + 0.03)) for f in fish]
    rows = [
        [*row, f"Florida proportion ({panel // 2} loci)" if not i else other[i - 1]]
        for i, row in enumerate(rows)
    ]
    content, name = write(Sheet(rows), any_kind(chance))
    return made(fish, panel, content, name, "two panels side by side", "another share beside it", ask=False)


SHAPES: list[Callable[[random.Random, list[Fish], int], Made]] = [
    _headed, _coded, _by_key, _in_wells, _counted, _in_blocks, _kept, _marked, _marked, _uncalculated,
    _in_percent_cells, _worded, _worded, _decoyed, _decoyed, _swapped, _bare, _mangled, _on_sheets,
]  # fmt: skip
