"""The heading of a lab's file, and what each of its columns is taken for, and why.

Nothing is guessed where two readings are possible: then there is a Question, and a person answers it once;
the answer is kept in the lab's Layout. Rows are sequences of (text, kind) pairs, as store/sheets.py reads
them.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from geneticlog.errors import SheetFault
from geneticlog.rules.cells import Number, decimal_mark, missing_meaning, number
from geneticlog.rules.genotypes import coding_of, find_markers
from geneticlog.rules.headings import PROPORTIONS, ROLES, SALMOIDES, Said, Taxa, plain, recognise
from geneticlog.rules.layout import Layout, column_letter
from geneticlog.rules.mangled import mangled_code
from geneticlog.rules.units import FRACTION, PERCENT, Unit, unit_of
from geneticlog.rules.vialcode import VialCodeError, parse

Row = Sequence[tuple[str, str]]

SEARCHED = 100  # rows from the top in which a heading is looked for
SAMPLED = 400  # data rows whose values are looked at to tell a column of codes
_TOTAL = re.compile(
    r"(grand |sub ?)?(totals?|means?|averages?|avg|sums?|counts?|min(imum)?|max(imum)?|median|std(ev)?|sd|se|n)"
    r"\b[ :=.\d]*$",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Column:
    """One column: its number from 1, its heading, its role (a key of ROLES, "" unused), why, and its unit."""

    number: int
    heading: str
    role: str
    why: str
    unit: str = ""
    evidence: str = ""

    @property
    def letter(self) -> str:
        return column_letter(self.number)


@dataclass(frozen=True)
class Question:
    """Two readings are possible.

    ``choices`` are the answers: (setting, role, value), as on a command line.
    """

    text: str
    choices: tuple[tuple[str, str, str], ...]

    @property
    def options(self) -> str:
        """The answers as options of the command."""
        return " or ".join(
            f"--{setting} {f'{role}=' if role else ''}{_quoted(value)}"
            for setting, role, value in self.choices
        )


def _quoted(value: str) -> str:
    return f'"{value}"' if re.search(r"[^\w.%+-]", value) else value


@dataclass(frozen=True)
class Reading:
    """How one sheet is read. Row numbers count from 1 as in the sheet.

    ``other_rows`` are the rows that hold no sample (titles, notes, totals) with their text; ``doubts`` are
    sentences for a person; while there are ``questions`` nothing can be stored.
    """

    file: str
    sheet: str
    layout: Layout
    heading_row: int
    heading_rows: int
    columns: tuple[Column, ...]
    decimal: str
    decimal_evidence: str
    data_rows: tuple[int, ...]
    other_rows: tuple[tuple[int, str], ...]
    missing: tuple[tuple[str, str, int], ...]
    questions: tuple[Question, ...]
    doubts: tuple[str, ...] = ()

    def column(self, role: str) -> Column | None:
        """Return the column of a role, or None."""
        return next((column for column in self.columns if column.role == role), None)


def read_columns(rows: Sequence[Row], layout: Layout, *, file: str, sheet: str = "") -> Reading:
    """Return how a sheet is to be read.

    raises
        SheetFault where no heading is found, no column holds vial codes, no column holds a result, a column
        that the layout names is absent, or a second table begins further down.
    """
    top, n_rows, headings = _heading(rows, layout, file, sheet)
    width = max((len(row) for row in rows), default=0)
    headings = headings + [""] * (width - len(headings))
    body = rows[top - 1 + n_rows :] if top else rows
    sample = [row for row in body[: SAMPLED * 2] if any(kind != "empty" for _, kind in row)][:SAMPLED]
    questions: list[Question] = []
    said = _roles(headings, sample, layout, questions, file, sheet)
    columns = [
        Column(i + 1, " ".join(heading.split()), found.role, found.why)
        for i, (heading, found) in enumerate(zip(headings, said, strict=True))
        if found.why or heading.strip() or any(len(row) > i and row[i][1] != "empty" for row in sample)
    ]
    columns, layout = _with_genotypes(columns, sample, layout, questions, file, sheet)
    vial = next((column.number - 1 for column in columns if column.role == "vial"), None)
    if vial is not None and "vial" not in layout.columns:
        _refuse_without_codes(sample, vial, headings, file, sheet)
    carrying = [c.number - 1 for c in columns if c.role not in ("", "vial", "failure")]
    if vial is None and not questions:
        raise SheetFault(
            "no column holds vial codes",
            file=file,
            sheet=sheet or None,
            row=top or None,
            way_out=f"name it with --column vial=HEADING (columns are {_listed(headings)})",
        )
    if not any(c.role in ("q", "other_q", "marker") for c in columns) and not questions:
        raise SheetFault(
            f"no column holds the share of {layout.taxa.taxon} alleles, nor genotypes",
            file=file,
            sheet=sheet or None,
            row=top or None,
            way_out=f"name it with --column q=HEADING (columns are {_listed(headings)})",
        )
    data, other = _parts(rows, top, n_rows, headings, vial, carrying, layout.taxa, file, sheet)
    texts = {
        column.number: [
            row[column.number - 1] if len(row) >= column.number else ("", "empty")
            for row in (rows[number - 1] for number in data)
        ]
        for column in columns
        if column.role in PROPORTIONS
    }
    decimal, evidence = layout.decimal, "the layout says so"
    if not decimal:
        decimal, evidence = decimal_mark(
            Counter(text for cells in texts.values() for text, kind in cells if kind == "text")
        )
    columns, missing = _with_units(columns, texts, decimal, layout, questions)
    return Reading(
        file=file,
        sheet=sheet,
        layout=layout,
        heading_row=top,
        heading_rows=n_rows,
        columns=tuple(columns),
        decimal=decimal,
        decimal_evidence=evidence,
        data_rows=tuple(data),
        other_rows=tuple(other),
        missing=missing,
        questions=tuple(questions),
    )


def _refuse_without_codes(
    sample: Sequence[Row], vial: int, headings: Sequence[str], file: str, sheet: str
) -> None:
    cells = [row[vial] for row in sample if len(row) > vial and row[vial][1] != "empty"]
    if not cells or any(_is_code(text) for text, _ in cells):
        return
    changed = sum(1 for text, kind in cells if mangled_code(text, kind))
    why = f"; {changed} look changed by a spreadsheet program" if changed else ""
    raise SheetFault(
        f"none of its values is a vial code (the first is {cells[0][0]!r}{why})",
        file=file,
        sheet=sheet or None,
        column=headings[vial] or column_letter(vial + 1),
        way_out="ask for a file with the codes as on the labels, or name the column with --column vial=HEADING",
    )


def _listed(headings: Sequence[str]) -> str:
    shown = [
        f"{column_letter(i + 1)} {' '.join(text.split())}".strip() for i, text in enumerate(headings) if text
    ]
    return ", ".join(shown[:12]) + (", …" if len(shown) > 12 else "") or "without headings"


# --- the heading ------------------------------------------------------------------------------------------


def _texts(row: Row) -> list[str]:
    return [text for text, _ in row]


def _combined(upper: list[str], lower: list[str], taxa: Taxa) -> list[str]:
    width = max(len(upper), len(lower))
    upper, lower = upper + [""] * (width - len(upper)), lower + [""] * (width - len(lower))
    out, last = [], ""
    for above, below in zip(upper, lower, strict=True):
        last = above.strip() or last
        # A merged upper cell is filled in its first column only: it stands over the blanks to its right.
        spread = last if below.strip() else above.strip()
        alone = recognise(below, taxa)
        if above.strip() or alone is None:
            out.append(f"{spread} {below.strip()}".strip())
        else:
            out.append(f"{below.strip()} {spread if '%' in spread else ''}".strip())
    return out


def _score(headings: list[str], taxa: Taxa) -> int:
    known = plain(" ".join(headings))
    found = [recognise(text, taxa, known) for text in headings]
    roles = {said.role for said in found if said}
    if sum(1 for text in headings if text.strip()) < 2 or not roles - {"", "failure"}:
        return 0
    named = any(said and said.why == SALMOIDES for said in found)
    if "vial" not in roles and not roles & {"q", "other_q"}:
        return 0
    if not (roles & {"q", "other_q", "heterozygosity", "n_loci", "call_rate", "lab_class"} or named):
        return 1 if sum(1 for text in headings if text.strip()) >= 6 else 0
    return 2 + len(roles - {""}) + named


def roles_of_layout() -> tuple[str, ...]:
    """Return the roles that a layout can name a column for."""
    return tuple(role for role in ROLES if role not in ("", "marker"))


def _heading(rows: Sequence[Row], layout: Layout, file: str, sheet: str) -> tuple[int, int, list[str]]:
    if layout.heading_row == 0:
        return 0, 0, []
    if layout.heading_row:
        top, n_rows = layout.heading_row, layout.heading_rows or 1
        if top + n_rows - 1 > len(rows):
            raise SheetFault(f"there is no heading row {top}", file=file, sheet=sheet or None)
        upper = _texts(rows[top - 1])
        return top, n_rows, upper if n_rows == 1 else _combined(upper, _texts(rows[top]), layout.taxa)
    named = {plain(text) for text in layout.columns.values()}
    best: tuple[int, int, int, list[str]] = (0, 0, 0, [])
    for i, row in enumerate(rows[:SEARCHED]):
        single = _texts(row)
        hits = sum(plain(text) in named for text in single if text.strip())
        score = _score(single, layout.taxa) + (3 + hits if named and hits == len(named) else 0)
        if score > best[0]:
            best = (score, i + 1, 1, single)
        below = _texts(rows[i + 1]) if i + 1 < len(rows) else []
        if not any(text.strip() for text in below) or any(
            kind in ("number", "date") for _, kind in rows[i + 1]
        ):
            continue
        if any(number(text) or _is_code(text) for text in below):
            continue
        if sum(1 for text in single if text.strip()) < 2:
            continue
        double = _combined(single, below, layout.taxa)
        score = _score(double, layout.taxa)
        if score > max(best[0], _score(single, layout.taxa), _score(below, layout.taxa)):
            best = (score, i + 1, 2, double)
    if best[0] == 0:
        raise SheetFault(
            "no row looks like a heading with a column of vial codes and one of results",
            file=file,
            sheet=sheet or None,
            way_out="name the columns with --column vial=… and --column q=…, or give a layout",
        )
    return best[1:]


# --- the columns ------------------------------------------------------------------------------------------


def _is_code(text: str) -> bool:
    try:
        return bool(parse(text)) if len(text) >= 9 else False
    except VialCodeError:
        return False


def _roles(
    headings: list[str],
    sample: Sequence[Row],
    layout: Layout,
    questions: list[Question],
    file: str,
    sheet: str,
) -> list[Said]:
    known = plain(" ".join(headings))
    found = [recognise(text, layout.taxa, known) or Said("", "") for text in headings]
    fixed: dict[int, str] = {}
    for role, name in layout.columns.items():
        i = _named(name, headings, file, sheet)
        fixed[i] = role
        found = [
            replace(said, role="", why="another column was named") if said.role == role else said
            for said in found
        ]
    for i, role in fixed.items():
        found[i] = Said(role, "a person or the lab's layout says so", 0)
    if "vial" not in fixed.values():
        _choose_vial(found, headings, sample, questions)
    for i, said in find_markers(headings, [said.role for said in found], sample, layout):
        found[i] = said
    for role in ("q", "other_q", "third_q", "heterozygosity", "n_loci", "call_rate", "lab_class"):
        _choose_one(found, headings, sample, role, questions, layout)
    if not any(said.role in ("q", "marker") for said in found):
        doubtful = [headings[i] for i, said in enumerate(found) if said.why == SALMOIDES]
        if doubtful:
            text = f"column {doubtful[0]!r}: {SALMOIDES}"
            choices = (("column", "q", doubtful[0]), ("column", "other_q", doubtful[0]))
            questions.append(Question(text, choices))
    return found


def _named(name: str, headings: list[str], file: str, sheet: str) -> int:
    same = [i for i, text in enumerate(headings) if plain(text) == plain(name) and text.strip()]
    if len(same) == 1:
        return same[0]
    if re.fullmatch(r"[A-Za-z]{1,2}", name):
        letters = [column_letter(i + 1) for i in range(max(len(headings), 702))]
        if name.upper() in letters:
            return letters.index(name.upper())
    raise SheetFault(
        f"there {'are two columns' if same else 'is no column'} headed {name!r}",
        file=file,
        sheet=sheet or None,
        way_out=f"the columns are {_listed(headings)}; a column's letter may be given instead",
    )


def _choose_vial(
    found: list[Said], headings: list[str], sample: Sequence[Row], questions: list[Question]
) -> None:
    share: dict[int, tuple[int, int]] = {}
    for i, said in enumerate(found):
        if said.role not in ("vial", ""):
            continue
        texts = [row[i][0] for row in sample if len(row) > i and row[i][1] != "empty"]
        codes = sum(map(_is_code, texts))
        if codes and 2 * codes >= len(texts):
            share[i] = (codes, len(texts))
    named = sorted((said.tier, i) for i, said in enumerate(found) if said.role == "vial")
    if len(share) == 1 or (share and len({tuple(_codes(sample, i)) for i in share}) == 1):
        i = min(share, key=lambda i: (found[i].tier if found[i].role == "vial" else 9, i))
        codes, n = share[i]
        _keep(found, "vial", i, f"{codes} of {n} values read as vial codes")
    elif share:
        texts = [headings[i] or column_letter(i + 1) for i in share]
        text = f"columns {' and '.join(texts)} both hold vial codes, not the same ones"
        questions.append(Question(text, _which("vial", texts)))
    elif len(named) > 1 and named[0][0] == named[1][0]:
        texts = [headings[i] for tier, i in named if tier == named[0][0]]
        text = f"columns {' and '.join(texts)} could both hold our vial codes"
        questions.append(Question(text, _which("vial", texts)))
    elif named:
        _keep(found, "vial", named[0][1], found[named[0][1]].why)


def _which(role: str, headings: list[str]) -> tuple[tuple[str, str, str], ...]:
    return tuple(("column", role, " ".join(heading.split())) for heading in headings)


def _codes(sample: Sequence[Row], i: int) -> list[str]:
    return [parse(row[i][0]) for row in sample if len(row) > i and _is_code(row[i][0])]


def _keep(found: list[Said], role: str, kept: int, why: str) -> None:
    for i, said in enumerate(found):
        if said.role == role and i != kept:
            found[i] = Said("", f"another column was taken for {ROLES[role].split('{')[0].strip()}")
    found[kept] = Said(role, why)


def _choose_one(
    found: list[Said],
    headings: list[str],
    sample: Sequence[Row],
    role: str,
    questions: list[Question],
    layout: Layout,
) -> None:
    columns = [i for i, said in enumerate(found) if said.role == role]
    if len(columns) < 2:
        return
    filled = [i for i in columns if any(len(row) > i and row[i][1] != "empty" for row in sample)]
    best = min(found[i].tier for i in columns)
    surest = [i for i in filled if found[i].tier == best]
    if len(filled) == 1 or len(surest) == 1:
        i = filled[0] if len(filled) == 1 else surest[0]
        _keep(found, role, i, found[i].why)
        return
    if role in ("n_loci", "lab_class", "call_rate"):
        for i in columns[1:]:
            found[i] = Said("", f"column {headings[columns[0]]} was taken first")
        return
    texts = [headings[i] or column_letter(i + 1) for i in columns]
    meaning = ROLES[role].format(taxon=layout.taxa.taxon, other_taxon=layout.taxa.other_taxon)
    questions.append(
        Question(f"columns {' and '.join(texts)} could all be the {meaning}", _which(role, texts))
    )


def _with_genotypes(
    columns: list[Column],
    sample: Sequence[Row],
    layout: Layout,
    questions: list[Question],
    file: str,
    sheet: str,
) -> tuple[list[Column], Layout]:
    """Settle how genotype columns are coded; without that they are used only when nothing else can be."""
    markers = [column.number - 1 for column in columns if column.role == "marker"]
    if not markers:
        return columns, layout
    coding = layout.coding or coding_of([row[i][0] for i in markers for row in sample if len(row) > i])
    taxa = layout.taxa
    ready = bool(layout.counted) if coding == "counts" else bool(coding and layout.markers)
    if ready:
        return columns, replace(layout, coding=coding)
    if any(column.role == "q" for column in columns):
        why = f"genotypes, but nothing says which allele is {taxa.taxon}'s; the lab's own share is taken"
        return [replace(c, role="", why=why) if c.role == "marker" else c for c in columns], layout
    if coding == "counts":
        choices = (("counted", "", taxa.taxon), ("counted", "", taxa.other_taxon))
        text = f"{len(markers)} columns hold genotypes 0, 1 and 2: alleles of which taxon are counted?"
        questions.append(Question(text, choices))
        return columns, replace(layout, coding=coding)
    raise SheetFault(
        f"{len(markers)} columns hold genotypes, but nothing says which allele is {taxa.taxon}'s",
        file=file,
        sheet=sheet or None,
        way_out="give the panel, or the layout under [genotypes.markers], the marker table",
    )


# --- the rows ---------------------------------------------------------------------------------------------


def _parts(
    rows: Sequence[Row],
    top: int,
    n_rows: int,
    headings: list[str],
    vial: int | None,
    carrying: list[int],
    taxa: Taxa,
    file: str,
    sheet: str,
) -> tuple[list[int], list[tuple[int, str]]]:
    other = [(i + 1, _joined(row)) for i, row in enumerate(rows[: max(top - 1, 0)]) if _joined(row)]
    data: list[int] = []
    if vial is None:
        return data, other
    heading = [plain(text) for text in _texts(rows[top - 1])] if top else []
    first = max(top - 1 + n_rows, 0)
    for i in range(first, len(rows)):
        row = rows[i]
        code, kind = row[vial] if len(row) > vial else ("", "empty")
        carries = any(len(row) > c and row[c][1] != "empty" for c in carrying)
        if kind != "empty" and carries:
            if kind == "text" and len(code) != 9:
                if _TOTAL.match(code.strip()):
                    other.append((i + 1, _joined(row)))
                    continue
                if heading and plain(code) == heading[vial]:
                    if [plain(text) for text in _texts(row)] != heading[: len(row)]:
                        raise SheetFault(
                            "a second table with other columns begins here",
                            file=file,
                            sheet=sheet or None,
                            row=i + 1,
                            way_out="give each table a file of its own",
                        )
                    other.append((i + 1, "the heading again"))
                    continue
                if _score(_texts(row), taxa) > 3:
                    raise SheetFault(
                        "a second heading with other columns begins here",
                        file=file,
                        sheet=sheet or None,
                        row=i + 1,
                        way_out="give each table a file of its own",
                    )
            data.append(i + 1)
        elif kind != "empty":
            filled = sum(1 for _, k in row if k != "empty")
            note = filled == 1 and " " in code.strip() and not _is_code(code)
            if note or (kind == "text" and _TOTAL.match(code.strip())):
                other.append((i + 1, _joined(row)))
            else:
                data.append(i + 1)
        elif carries and not _says_total(row):
            data.append(i + 1)
        elif text := _joined(row):
            other.append((i + 1, text))
    return data, other


def _says_total(row: Row) -> bool:
    return any(kind == "text" and _TOTAL.match(text.strip()) for text, kind in row)


def _joined(row: Row) -> str:
    return " | ".join(text.strip() for text, kind in row if kind != "empty")[:200]


# --- units ------------------------------------------------------------------------------------------------


def _with_units(
    columns: list[Column],
    texts: dict[int, list[tuple[str, str]]],
    decimal: str,
    layout: Layout,
    questions: list[Question],
) -> tuple[list[Column], tuple[tuple[str, str, int], ...]]:
    numbers: dict[str, list[float | None]] = {}
    signed: dict[str, int] = {}
    words: Counter[tuple[str, str]] = Counter()
    seen: dict[tuple[str, str], Number | None] = {}
    by_role = {column.role: column for column in columns if column.number in texts}
    for role, column in by_role.items():
        parsed: list[float | None] = []
        signed[role] = 0
        for text, kind in texts[column.number]:
            if (text, kind) not in seen:
                seen[text, kind] = number(text, "." if kind == "number" else decimal)
            found = seen[text, kind]
            if found is None:
                if role == "q" and (meaning := missing_meaning(text, layout.missing)):
                    words[text.strip(), meaning] += 1
                parsed.append(None)
            else:
                signed[role] += found.signed
                parsed.append(None if found.signed else found.value)
        numbers[role] = parsed
    shares = [numbers[role] for role in ("q", "other_q", "third_q") if role in numbers]
    sums = (
        [sum(v for v in row if v is not None) for row in zip(*shares, strict=True) if None not in row]
        if len(shares) > 1
        else []
    )
    units: dict[str, Unit] = {}
    for role in PROPORTIONS:
        if role not in by_role:
            continue
        heading = by_role[role].heading
        if role in layout.units:
            units[role] = Unit(layout.units[role], "a person or the lab's layout says so")
            continue
        values = [value for value in numbers[role] if value is not None]
        units[role] = unit_of(
            values,
            heading=heading,
            n_signed=signed[role],
            sums=sums if role in ("q", "other_q", "third_q") else (),
        )
    for role, unit in units.items():
        lead = next(
            (r for r in ("q", "other_q", "third_q") if r in units and r != role and units[r].name), None
        )
        if not unit.name and lead and role != "q" and "every value is 0 or 1" in unit.evidence:
            units[role] = Unit(units[lead].name, f"as in column {by_role[lead].heading}; {unit.evidence}")
        elif not unit.name:
            name = by_role[role].heading or by_role[role].letter
            text = f"column {name} can be read as percent or as fraction: {unit.evidence}"
            questions.append(Question(text, (("unit", role, PERCENT), ("unit", role, FRACTION))))
    out = [
        replace(column, unit=units[column.role].name, evidence=units[column.role].evidence)
        if column.role in units and column.number in texts
        else column
        for column in columns
    ]
    return out, tuple((word, meaning, n) for (word, meaning), n in words.most_common())
