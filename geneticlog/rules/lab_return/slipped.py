"""A column that slipped: one sample without a value, and at the end a value without a sample."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.lab_return.draft import LEFT_BLANK, Draft
from geneticlog.rules.lab_return.result_states import Outcome


def slipped(drafts: Sequence[Draft], row_in_words: dict[int, str]) -> dict[int, list[str]]:
    """Return, by row, that values may have slipped down by a row: from the last blank one to the value left over.

    row_in_words
        how each row of a draft is called in the file.
    """
    if len(drafts) < 3 or drafts[-1].written.strip() or drafts[-1].q is None:
        return {}
    with_vial = [draft for draft in drafts if draft.written.strip()]
    blank = [draft for draft in with_vial if draft.outcome == Outcome.FAILED and draft.failure == LEFT_BLANK]
    if not blank or with_vial[-1].q is None:
        return {}
    first = blank[-1].row
    text = (
        f"row {row_in_words[first]} has a vial and no value and row {row_in_words[drafts[-1].row]} a value and no"
        " vial, as where a column slips down by a row"
    )
    return {draft.row: [text] for draft in with_vial if draft.row > first}
