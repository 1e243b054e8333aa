"""Values that are struck through, or marked otherwise, in a lab's sheet: kept, held, and never taken for plain ones."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.reading import Reading


def note_struck(drafts: Sequence[Draft], reading: Reading, struck: Collection[tuple[int, int]]) -> None:
    """Note on each draft which cells of its row are struck through; it is then held.

    struck
        (row, column) of the cells, from 1.
    """
    named_as = {column.number: column.heading or column.letter for column in reading.columns}
    of_row: dict[int, list[str]] = defaultdict(list)
    for row, column in sorted(struck):
        of_row[row].append(named_as.get(column, "beside the table"))
    if not of_row:
        return
    for draft in drafts:
        if columns := of_row.get(draft.row):
            named = ", ".join(columns[:6]) + (f" and {len(columns) - 6} more" if len(columns) > 6 else "")
            draft.note(FindingKind.STRUCK_OUT, columns=named, are="is" if len(columns) == 1 else "are")


def note_marked(drafts: Sequence[Draft], against: Mapping[int, Sequence[str]]) -> None:
    """Note on each draft the marks and comments that cast doubt on its value; it is then held.

    against
        by row, what was seen there, in words
    """
    for draft in drafts if against else ():
        for mark in against.get(draft.row, ()):
            draft.note(FindingKind.MARKED, mark=mark)
