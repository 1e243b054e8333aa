"""Two numbered columns that make a whole, as clusters are printed: one taxon each, and only a person knows which."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from geneticlog.rules.lab_return.columns.column_values import filled_cells, make_a_whole, mostly_numbers
from geneticlog.rules.lab_return.sheet.reading import Column, Row
from geneticlog.rules.lab_return.words.headings import BARE_Q, Said, plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

OF_THE_REST = "with the column of the other number it makes a whole"
_NUMBERED = re.compile(r"(.*?)[ ]?(\d{1,2}|[a-d])")


def stem_of(heading: str) -> str:
    """Return what a heading says before its number or letter, as cluster of "Cluster 1"; "" where it has none."""
    found = _NUMBERED.fullmatch(plain(heading))
    return found[1] if found and found[1] else ""


def take_clusters(columns: list[Said], headings: Sequence[str], sample: Sequence[Row]) -> None:
    """Take two columns that are headed alike but for their number, and make a whole, as the two taxa's shares."""
    taken = {said.role for said in columns}
    if taken & {ColumnRole.Q, ColumnRole.OTHER_Q, ColumnRole.THIRD_Q, ColumnRole.MARKER}:
        return
    stems = [
        stem_of(headings[i])
        if not said.role and not said.known and not said.why and filled_cells(sample, i)
        else ""
        for i, said in enumerate(columns)
    ]
    numbered = [i for i, stem in enumerate(stems) if stem]
    if len(numbered) != 2:
        return
    a, b = numbered
    if (
        stems[a] == stems[b]
        and all(mostly_numbers(sample, i) for i in numbered)
        and make_a_whole(sample, a, b)
    ):
        columns[a] = Said(ColumnRole.Q, BARE_Q, 2)
        columns[b] = Said(ColumnRole.OTHER_Q, OF_THE_REST, 2)


def has_a_twin(column: Column, columns: Sequence[Column]) -> bool:
    """Whether another column is headed like this one but for its number: then no line says whose this one is."""
    stem = stem_of(column.heading)
    return bool(stem) and any(other != column and stem_of(other.heading) == stem for other in columns)


def exchanged_by_taxon(columns: list[Column], layout: Layout) -> tuple[list[Column], Layout]:
    """Exchange two such columns where a person says that the one taken for q counts the other taxon's alleles."""
    q = next((column for column in columns if column.role == ColumnRole.Q), None)
    other = next((column for column in columns if column.role == ColumnRole.OTHER_Q), None)
    if q is None or other is None or layout.taxon_of_q != layout.taxa.other_taxon:
        return columns, layout
    if not stem_of(q.heading) or stem_of(q.heading) != stem_of(other.heading):
        return columns, layout
    roles = {ColumnRole.Q: ColumnRole.OTHER_Q, ColumnRole.OTHER_Q: ColumnRole.Q}
    why = f"a person says which of the two is {layout.taxa.taxon}'s"
    columns = [
        replace(column, role=roles[column.role], why=why) if column.role in roles else column
        for column in columns
    ]
    return columns, replace(layout, taxon_of_q=layout.taxa.taxon)
