"""Samples of an earlier file that a re-issue of it no longer has: the lab may have taken their values back."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import NamedTuple


class LeftOut(NamedTuple):
    """A file's vials that a later one leaves out, and how many of its vials the later one has again."""

    vials: frozenset[int]
    n_again: int
    n_earlier: int


MOSTLY_SAME, LEAST_SAME = 0.8, 6  # of the vials of a later file, those that it says what the earlier one said


def left_out(
    earlier: Mapping[int, Collection[int]], here: Collection[int], same: Collection[int] = ()
) -> dict[int, LeftOut]:
    """Return, by earlier file, what a later file leaves out of it; only files that it repeats are there.

    A later file repeats an earlier one where it has more of its vials again than it leaves out: a re-run of what
    failed and another plate do not. So does one with fewer of them that says of nearly all what was said before, as a
    list that was cut off. Common practice, no source.

    earlier
        the vials (ids) of each earlier file (its id).
    here
        the vials of the later file.
    same
        those of them of which it says what an earlier file said.
    """
    out = {}
    for file, vials in earlier.items():
        gone = frozenset(vials) - frozenset(here)
        n_again = len(set(vials)) - len(gone)
        n_same = len(set(vials) & set(same))
        is_cut = n_same >= max(LEAST_SAME, MOSTLY_SAME * len(set(here)))
        if gone and (n_again > len(gone) or is_cut):
            out[file] = LeftOut(gone, n_again, len(set(vials)))
    return out
