"""The two taxa that a number is about: q is the share of the first one's alleles."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple


class Pair(NamedTuple):
    """The two taxa a panel distinguishes, in words; q counts the alleles of ``taxon``."""

    taxon: str
    other_taxon: str


DEFAULT_PAIR = Pair("Florida", "northern")


def main_pair(n_results: Mapping[Pair, int]) -> Pair:
    """Return the pair of taxa with most results; of equal ones the first by name; without any, the usual pair.

    n_results
        Pair of taxa -> results typed for it. A result that names no pair is not among them.
    """
    return min(n_results, key=lambda pair: (-n_results[pair], pair)) if n_results else DEFAULT_PAIR
