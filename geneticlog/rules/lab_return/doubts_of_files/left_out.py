"""Samples of an earlier file that a re-issue of it no longer has: the lab may have taken their values back."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import NamedTuple


class LeftOut(NamedTuple):
    """A file's vials that a later one leaves out, and how many of its vials the later one has again."""

    vials: frozenset[int]
    n_again: int
    n_earlier: int


def left_out(earlier: Mapping[int, Collection[int]], here: Collection[int]) -> dict[int, LeftOut]:
    """Return, by earlier file, what a later file leaves out of it; only files that it repeats are there.

    A later file repeats an earlier one where it has more of its vials again than it leaves out: a re-run of what
    failed and another plate do not. Common practice, no source.

    earlier
        the vials (ids) of each earlier file (its id).
    here
        the vials of the later file.
    """
    out = {}
    for file, vials in earlier.items():
        gone = frozenset(vials) - frozenset(here)
        n_again = len(set(vials)) - len(gone)
        if gone and n_again > len(gone):
            out[file] = LeftOut(gone, n_again, len(set(vials)))
    return out
