"""A column that slipped by a row: one sample without a value, and at an end of the table a value without a sample."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from geneticlog.rules.lab_return.drafts.draft import LEFT_BLANK, Draft
from geneticlog.rules.result.result_states import Outcome


def slipped(drafts: Sequence[Draft], row_in_words: Callable[[int], str]) -> dict[int, list[str]]:
    """Return, by row, that vials and values may have slipped: those between the blank one and the value left over.

    row_in_words
        how a row is called in the file.
    """
    if len(drafts) < 3:
        return {}
    with_vial = [draft for draft in drafts if draft.written.strip()]
    blank = [draft for draft in with_vial if draft.outcome == Outcome.FAILED and draft.failure == LEFT_BLANK]
    if not blank:
        return {}
    if _left_over(drafts[-1]) and with_vial[-1].q is not None:
        first, last, over, way = blank[-1].row, drafts[-1].row, drafts[-1], "down"
    elif _left_over(drafts[0]) and with_vial[0].q is not None:
        first, last, over, way = drafts[0].row, blank[0].row, drafts[0], "up"
    else:
        return {}
    empty = blank[-1] if way == "down" else blank[0]
    text = (
        f"row {row_in_words(empty.row)} has a vial and no value and row {row_in_words(over.row)} a value and no"
        f" vial, as where a column slips {way} by a row"
    )
    return {draft.row: [text] for draft in with_vial if first < draft.row < last}


def _left_over(draft: Draft) -> bool:
    """Whether a row has a value and nothing where the vial is."""
    return not draft.written.strip() and draft.q is not None
