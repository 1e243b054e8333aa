"""Shares that rise with the codes of their vials: as where one column was sorted and the others were not."""

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
