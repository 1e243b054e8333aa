"""Columns that are in order though others are not: as where one column was sorted alone."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from geneticlog.rules.lab_return.draft import Draft

LEAST_ROWS = 16
LEAST_VALUES = 8  # the chance that so many are in order by themselves is below 1 in 20 000


def sorted_alone(drafts: Sequence[Draft]) -> str:
    """Return in words that shares and vial codes are both in order, or the empty text."""
    both = [(draft.code, draft.q) for draft in drafts if draft.code and draft.q is not None]
    shares = [share for _, share in both]
    if len(both) < LEAST_ROWS or len(set(shares)) < LEAST_VALUES:
        return ""
    if not all(a < b for (a, _), (b, _) in pairwise(both)):
        return ""
    for words, in_order in (
        ("rise", all(a <= b for a, b in pairwise(shares))),
        ("fall", all(a >= b for a, b in pairwise(shares))),
    ):
        if in_order:
            return (
                f"the shares {words} from the first vial to the last though the vials are in the order of their codes,"
                " as where one column was sorted alone"
            )
    return ""


LEAST_IN_WELLS = 6  # vials whose codes are in order by themselves once in 720 shuffles


def codes_sorted_alone(codes: Sequence[str | None], wells: Sequence[str], sent: Sequence[str]) -> str:
    """Return in words that codes and wells are both in order, though we sent the vials in another one.

    A lab that plated the vials anew by their codes gives the same picture as a column of codes that was sorted alone,
    and only a person can tell.

    codes, wells
        of the rows in the file's order, wells as A01.
    sent
        the codes in the order of our own wells or list.
    """
    if len(codes) < LEAST_IN_WELLS or None in codes or len(set(wells)) < len(wells):
        return ""
    here = set(codes)
    ours = [code for code in sent if code in here]
    if ours == sorted(ours) or list(codes) != sorted(here, key=str):
        return ""
    by_row, by_column = ((one[0], int(one[1:])) for one in wells), ((int(one[1:]), one[0]) for one in wells)
    if not any(all(a < b for a, b in pairwise(order)) for order in (by_row, by_column)):
        return ""
    return (
        "the vial codes and the wells beside them are both in order, though we sent the vials in another one: were they"
        " plated again by their codes, or was the column of codes sorted alone"
    )
