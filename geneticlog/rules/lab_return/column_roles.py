"""What each column of a lab's file is taken for, and why; a Question where two readings are possible."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells import decimal_mark
from geneticlog.rules.lab_return.genotypes import coding_of, find_markers, taxon_counted
from geneticlog.rules.lab_return.headings import ROLES, SALMOIDES, Said, plain, recognise
from geneticlog.rules.lab_return.layout import Layout, column_letter
from geneticlog.rules.lab_return.reading import Column, Question, Row, is_code, listed
from geneticlog.rules.vialcode import parse


def assign_roles(
    headings: list[str],
    sample: Sequence[Row],
    layout: Layout,
    questions: list[Question],
    file: str,
    sheet: str,
) -> list[Said]:
    """Return what each column is taken for; questions are added where that is not plain."""
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
        way_out=f"the columns are {listed(headings)}; a column's letter may be given instead",
    )


def _choose_vial(
    found: list[Said], headings: list[str], sample: Sequence[Row], questions: list[Question]
) -> None:
    share: dict[int, tuple[int, int]] = {}
    for i, said in enumerate(found):
        if said.role not in ("vial", ""):
            continue
        texts = [row[i][0] for row in sample if len(row) > i and row[i][1] != "empty"]
        codes = sum(map(is_code, texts))
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
    return [parse(row[i][0]) for row in sample if len(row) > i and is_code(row[i][0])]


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


def with_genotypes(
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
    q = next((column.number - 1 for column in columns if column.role == "q"), None)
    if q is not None and coding == "counts":
        told = _told_by_q(sample, markers, q, layout)
        if told is not None:
            counted, evidence = told
            why = f"genotypes 0, 1 and 2 of {counted} alleles: {evidence}"
            columns = [replace(c, why=why) if c.role == "marker" else c for c in columns]
            return columns, replace(layout, coding=coding, counted=counted)
    if q is not None:
        way_out = (
            f"say it with --counted {taxa.taxon} or {taxa.other_taxon}"
            if coding == "counts"
            else "give the marker table in a layout, under [genotypes.markers]"
        )
        why = f"genotypes, but nothing says which allele is {taxa.taxon}'s, so the lab's own share is taken; {way_out}"
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


def _told_by_q(
    sample: Sequence[Row], markers: Sequence[int], q: int, layout: Layout
) -> tuple[str, str] | None:
    rows = [row for row in sample if len(row) > q]
    mark = layout.decimal or decimal_mark(Counter(row[q][0] for row in rows if row[q][1] == "text"))[0]
    fish = []
    for row in rows:
        stated, kind = row[q]
        if kind == "text" and mark == ",":
            stated = stated.replace(",", ".", 1)
        fish.append(([row[i][0] for i in markers if len(row) > i], stated))
    return taxon_counted(fish, layout.taxa)
