"""How far two results of one fish agree, and how many blind duplicates and blanks to send.

Defaults of this project: 5 % blind duplicates, at least 2 a shipment, and at least one blank; disagreement
of calls up to 1 % good, up to 2 % to be looked at, above that a question to the lab; proportions flagged
when they are more than 0.05 apart. For comparison, published errors run from 0.8 to 2.6 % a study (Bonin et
al. 2004, Molecular Ecology 13:3261-3273) and 0.21 % between two labs, 3.86 % for a third (White & Shaklee
1991, doi 10.1139/f91-167).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

LEAST_DUPLICATES = 2
LEAST_BLANKS = 1
Q_APART = 0.05
GOOD, REVIEW = 0.01, 0.02


def duplicates_advised(n_samples: int) -> int:
    """Return how many blind duplicates to send with a number of samples: 5 %, at least 2, none without samples."""
    if n_samples <= 0:
        return 0
    return max(LEAST_DUPLICATES, math.ceil(n_samples * 5 / 100))


def blanks_advised(n_samples: int) -> int:
    """Return how many blanks (preservative treated as a sample) to send with a number of samples."""
    return LEAST_BLANKS if n_samples > 0 else 0


@dataclass(frozen=True)
class Apart:
    """How far two proportions of one fish lie apart.

    difference: |q1 - q2|, 0 to 1; n_alleles: the same as alleles at the fewer loci scored, None when unknown
    disagree: the difference is above the limit
    """

    difference: float
    n_alleles: float | None
    disagree: bool


def proportions_apart(
    q1: float, q2: float, n_loci1: int | None, n_loci2: int | None, limit: float = Q_APART
) -> Apart:
    """Return how far two results of one fish lie apart, in q and in alleles.

    ``alleles = |q1 - q2| * 2 * n``, n the fewer loci scored of the two, because only loci that both scored
    can disagree.

    raises
        ValueError for a proportion outside 0 to 1.
    """
    for q in (q1, q2):
        if not 0 <= q <= 1:
            raise ValueError(f"a proportion of {q} cannot be")
    scored = [n for n in (n_loci1, n_loci2) if n is not None]
    difference = abs(q1 - q2)
    # a difference of exactly the limit is within it, whatever the last bit of the subtraction says
    disagree = difference > limit and not math.isclose(difference, limit, rel_tol=1e-9)
    return Apart(difference, difference * 2 * min(scored) if scored else None, disagree)


@dataclass(frozen=True)
class Calls:
    """Calls of two typings of one fish compared: loci both scored, and loci whose calls differ."""

    n_compared: int
    n_different: int

    @property
    def rate(self) -> float | None:
        """Share of compared loci that differ; None when none could be compared."""
        return self.n_different / self.n_compared if self.n_compared else None

    @property
    def verdict(self) -> str:
        """One of: good, review, ask the lab, nothing to compare."""
        if self.rate is None:
            return "nothing to compare"
        return "good" if self.rate <= GOOD else "review" if self.rate <= REVIEW else "ask the lab"


def compare_calls(first: Mapping[str, int | None], second: Mapping[str, int | None]) -> Calls:
    """Return how many markers both typings called, and at how many they differ; uncalled markers do not count."""
    both = [
        (first[marker], second[marker])
        for marker in first.keys() & second.keys()
        if first[marker] is not None and second[marker] is not None
    ]
    return Calls(len(both), sum(a != b for a, b in both))


def error_below(n_comparisons: int) -> float | None:
    """Return the error rate below which no mismatch in that many comparisons is evidence, at 95 %: about ``3 / m``.

    The rule of three; exactly ``1 - 0.05 ** (1 / m)``. None without a comparison: nothing was shown.
    """
    if n_comparisons <= 0:
        return None
    return -math.expm1(math.log(0.05) / n_comparisons)
