"""The columns that hold genotypes, and how these are written."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells.cells import decimal_mark
from geneticlog.rules.lab_return.columns.genotypes import (
    BY_ALLELE,
    COUNTS,
    DIGIT_PAIRS,
    DIGITS,
    coding_of,
    copies,
    in_pairs,
    taxon_counted,
)
from geneticlog.rules.lab_return.sheet.reading import Column, Question, Row
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

MOSTLY_COUNTS = 0.8  # of the cells, that are 0, 1 or 2, or 11, 12 or 22, where others stand for no call
_WRITTEN = {
    COUNTS: "0, 1 and 2",
    DIGITS: "11, 12 and 22",
    DIGIT_PAIRS: "of alleles 1 and 2, two columns a marker",
}


def with_genotypes(
    columns: list[Column],
    sample: Sequence[Row],
    layout: Layout,
    questions: list[Question],
    file: str,
    sheet: str,
) -> tuple[list[Column], Layout]:
    """Settle how genotype columns are coded; without that they are used only when nothing else can be."""
    markers = [column.number - 1 for column in columns if column.role == ColumnRole.MARKER]
    if not markers:
        return columns, layout
    cells = [row[i][0].strip() for i in markers for row in sample if len(row) > i and row[i][0].strip()]
    coding, layout = _coding(cells, [c.heading for c in columns if c.role == ColumnRole.MARKER], layout)
    taxa = layout.taxa
    ready = bool(layout.counted) if coding in BY_ALLELE else bool(coding and layout.markers)
    if ready:
        return columns, replace(layout, coding=coding)
    q = next((column.number - 1 for column in columns if column.role == ColumnRole.Q), None)
    if q is not None and coding in BY_ALLELE:
        told = _told_by_q(sample, markers, q, layout, coding)
        if told is not None:
            counted, evidence = told
            if layout.taxon_of_q == taxa.other_taxon:  # the shares beside them are the other taxon's
                counted = taxa.other_taxon if counted == taxa.taxon else taxa.taxon
                evidence = (
                    f"a person says that the share stated beside them is that of {taxa.other_taxon} alleles"
                )
            why = f"genotypes {_WRITTEN[coding]} by {counted} alleles: {evidence}"
            columns = [replace(c, why=why) if c.role == ColumnRole.MARKER else c for c in columns]
            return columns, replace(layout, coding=coding, counted=counted)
    if q is not None:
        way_out = (
            f"say it with --counted {taxa.taxon} or {taxa.other_taxon}"
            if coding in BY_ALLELE
            else "give the marker table in a layout, under [genotypes.markers]"
        )
        why = f"genotypes, but nothing says which allele is {taxa.taxon}'s, so the lab's own share is taken; {way_out}"
        return [
            replace(c, role=ColumnRole.NOT_USED, why=why) if c.role == ColumnRole.MARKER else c
            for c in columns
        ], layout
    if coding in BY_ALLELE:
        choices = (("counted", "", taxa.taxon), ("counted", "", taxa.other_taxon))
        which = "alleles of which taxon are counted" if coding == COUNTS else "of which taxon is allele 1"
        questions.append(
            Question(f"{len(markers)} columns hold genotypes {_WRITTEN[coding]}: {which}?", choices)
        )
        return columns, replace(layout, coding=coding)
    raise SheetFault(
        f"{len(markers)} columns hold genotypes, but nothing says which allele is {taxa.taxon}'s",
        file=file,
        sheet=sheet or None,
        way_out="give the panel, or the layout under [genotypes.markers], the marker table",
    )


def _coding(cells: Sequence[str], headings: Sequence[str], layout: Layout) -> tuple[str, Layout]:
    """How genotypes are coded; whose alleles an earlier file counted is forgotten where it coded them otherwise."""
    seen = coding_of(cells)
    for coding in (COUNTS, DIGITS) if not seen else ():
        if sum(copies(text, coding) is not None for text in cells) > MOSTLY_COUNTS * len(cells):
            seen = coding
    if seen == COUNTS and in_pairs(headings):
        seen = DIGIT_PAIRS
    if seen != layout.coding and {layout.coding, seen} <= set(BY_ALLELE):
        return seen, replace(layout, coding="", counted="")
    return layout.coding or seen, layout


def _told_by_q(
    sample: Sequence[Row], markers: Sequence[int], q: int, layout: Layout, coding: str
) -> tuple[str, str] | None:
    rows = [row for row in sample if len(row) > q]
    mark = layout.decimal or decimal_mark(Counter(row[q][0] for row in rows if row[q][1] == "text"))[0]
    fish = []
    for row in rows:
        stated, kind = row[q]
        if kind == "text" and mark == ",":
            stated = stated.replace(",", ".", 1)
        fish.append(([row[i][0] for i in markers if len(row) > i], stated))
    return taxon_counted(fish, layout.taxa, coding)
