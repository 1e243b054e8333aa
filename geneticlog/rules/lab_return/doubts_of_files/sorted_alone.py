"""Columns that are in order though others are not: as where one column was sorted alone."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from geneticlog.rules.lab_return.doubts_of_files.copied_down import in_order
from geneticlog.rules.lab_return.doubts_of_files.sorted_parts import sorted_parts
from geneticlog.rules.lab_return.drafts.draft import Draft

MOSTLY_ONE = 0.8  # of the rows in parts in order; where all parts are sorted, the lab lists them so
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
    if not in_order(shares):
        return _part_sorted(codes, shares)
    whose = "of their codes" if codes == sorted(here) else "in which we sent them"
    for words, so in (
        ("rise", all(a <= b for a, b in pairwise(shares))),
        ("fall", all(a >= b for a, b in pairwise(shares))),
    ):
        if so:
            return (
                f"the shares {words} from the first vial to the last though the vials are in the order {whose},"
                " as where one column was sorted alone"
            )
    return ""


def _part_sorted(codes: Sequence[str], shares: Sequence[float]) -> str:
    """That one long part of shares is in order, and the rest is not, though the codes all are."""
    parts = set(sorted_parts(shares).values())
    in_parts = sum(map(len, parts))
    for part in parts:
        values = {shares[i] for i in part}
        if len(part) >= LEAST_ROWS and len(values) >= LEAST_VALUES and in_parts <= MOSTLY_ONE * len(shares):
            return (
                f"the shares of {len(part)} vials from {codes[part[0]]} to {codes[part[-1]]} are in order, and those of"
                " the others are not, though the vials are listed by their codes or as we sent them"
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
