"""Columns that are in order though others are not: as where one column was sorted alone."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from geneticlog.rules.lab_return.drafts.draft import Draft

LEAST_ROWS = 16
LEAST_VALUES = 8  # the chance that so many are in order by themselves is below 1 in 20 000


def sorted_alone(drafts: Sequence[Draft], sent: Sequence[str] = ()) -> str:
    """Return in words that shares are in order and vial codes too, in theirs or in ours, or the empty text.

    sent
        the codes in the order of our own wells or list.
    """
    both = [(draft.code, draft.q) for draft in drafts if draft.code and draft.q is not None]
    shares, codes = [share for _, share in both], [code for code, _ in both]
    if len(both) < LEAST_ROWS or len(set(shares)) < LEAST_VALUES:
        return ""
    here = set(codes)
    if codes not in (sorted(here), [code for code in sent if code in here]):
        return ""
    whose = "of their codes" if codes == sorted(here) else "in which we sent them"
    for words, in_order in (
        ("rise", all(a <= b for a, b in pairwise(shares))),
        ("fall", all(a >= b for a, b in pairwise(shares))),
    ):
        if in_order:
            return (
                f"the shares {words} from the first vial to the last though the vials are in the order {whose},"
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
