"""Columns of a whole file that cannot be what they are headed: the same twice, what another one leaves, too small."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from geneticlog.rules.lab_return.doubts_of_files.reference_fish import references_against
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import Taxa, plain, recognise, taxa_named, turns_round
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_ROWS, LEAST_VALUES = 6, 4  # rows, and different shares among them. Common practice, no source
NEARLY_ALL = 0.9  # of the rows
ROOM = 0.0101  # of one: two shares printed in whole percent


def same_twice(drafts: Sequence[Draft]) -> str:
    """Return what to ask where heterozygosity is the same number as q in every row, or the empty text."""
    both = [
        (draft.q, draft.heterozygosity)
        for draft in drafts
        if draft.q is not None and draft.heterozygosity is not None
    ]
    different = {q for q, _ in both if 0.0 < q < 1.0}
    if len(both) < LEAST_ROWS or len(different) < LEAST_VALUES or any(abs(q - h) > 1e-9 for q, h in both):
        return ""
    return (
        f"q and heterozygosity are the same number in all {len(both)} rows: was one column pasted into both"
    )


def what_is_left(reading: Reading, rows: Sequence[Row]) -> str:
    """Return what to ask where an unused column of the same taxon's shares is what the column read leaves, or ""."""
    q, taxa = reading.column(ColumnRole.Q), reading.layout.taxa
    for column in reading.columns if q else ():
        meant = recognise(column.heading, taxa)
        if column.role or meant is None or meant.role != ColumnRole.Q or turns_round(plain(column.heading)):
            continue
        sums = _sums(reading, rows, q, column) if q else []
        if len(sums) >= LEAST_ROWS and any(
            sum(abs(one - whole) <= ROOM * whole for one in sums) >= NEARLY_ALL * len(sums)
            for whole in (1.0, 100.0)
        ):
            named = q.named if q else ""
            return (
                f"column {named} is what column {column.named} leaves (1 - q) in {len(sums)} rows, and both are headed"
                f" as {taxa.taxon}: which is it"
            )
    return ""


def _sums(reading: Reading, rows: Sequence[Row], q: Column, column: Column) -> list[float]:
    """The sums of two columns, where they differ and are not both near one half."""
    pairs = [
        (reading.number_in(rows[n - 1], q), reading.number_in(rows[n - 1], column)) for n in reading.data_rows
    ]
    values = [(a.value, b.value) for a, b in pairs if a and b]
    largest = max((max(pair) for pair in values), default=1.0)
    whole = 100.0 if largest > 1 else 1.0
    return [a + b for a, b in values if abs(a - b) > 2 * ROOM * whole]


def below_one_allele(drafts: Sequence[Draft], panel_loci: int | None) -> str:
    """Return what to ask where nearly no share above 0 reaches one allele of those scored, or the empty text."""
    above = [(draft.q, 2 * loci) for draft in drafts if draft.q and (loci := draft.n_loci or panel_loci)]
    below = [q for q, alleles in above if q < 0.95 / alleles]
    if len(above) < LEAST_ROWS or len(set(below)) < LEAST_VALUES or len(below) < NEARLY_ALL * len(above):
        return ""
    most = max(alleles for _, alleles in above)
    return (
        f"{len(below)} of {len(above)} shares above 0 are less than one allele of {most} (the largest is"
        f" {max(below):.3g})"
    )


def against_its_heading(drafts: Sequence[Draft], reading: Reading) -> str:
    """Return what to ask where a person says that q's column counts the other taxon and its heading says otherwise.

    Nothing ("") is asked where a reference fish, a class or a line bears the person out.
    """
    q, layout = reading.column(ColumnRole.Q), reading.layout
    if q is None or layout.taxon_of_q != layout.taxa.other_taxon or not _names_first(q, layout.taxa):
        return ""
    turned = [replace(draft, q=1 - draft.q) for draft in drafts if draft.q is not None]
    of_rows = any(draft.lab_class for draft in drafts) or references_against(turned, layout.taxa)
    if of_rows or any(taxa_named(plain(text), layout.taxa)[1] for _, text in reading.other_rows):
        return ""
    return (
        f"column {q.named} is headed as {layout.taxa.taxon}, and a person says that it counts {layout.taxa.other_taxon}"
        " alleles: is the heading wrong"
    )


def _names_first(column: Column, taxa: Taxa) -> bool:
    words = plain(column.heading)
    return taxa_named(words, taxa) == (True, False) and not turns_round(words)
