"""Sufficient statistics of a group of fish, as computed by GROUP BY: number, sum of q and of its square, alleles."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import fsum

import numpy as np
from numpy.typing import ArrayLike

from geneticlog.rules.arguments import NumberFault, count, number, numbers, proportions
from geneticlog.rules.intervals import GUARD_FISH, NO_VARIANCE, mean_from_sums
from geneticlog.rules.statistics.estimates import Estimate


@dataclass(frozen=True, slots=True)
class Sums:
    """The fish of one group as sums.

    n
        Fish with a result.
    sum_q, sum_q2
        Sum of their allele proportions and of the squares.
    n_alleles
        Sum of 2 x scored loci; None where a lab did not say.
    least_q, most_q
        Lowest and highest q of these fish; None where not known.
    raises
        NumberFault for a broken or negative number of fish, sums that no such proportions have, or fewer than
        two alleles a fish.
    """

    n: int
    sum_q: float
    sum_q2: float
    n_alleles: float | None
    least_q: float | None = None
    most_q: float | None = None

    def __post_init__(self) -> None:
        n = count(self.n, "fish of the sums")
        q, q2 = _finite(self.sum_q, "sum of q"), _finite(self.sum_q2, "sum of q squared")
        slack = 1e-9 * (n + 1)
        if not -slack <= q <= n + slack:
            raise NumberFault(f"sum of q {q:g} is not that of {n} proportions")
        if q2 > q + slack or q2 * n < q**2 - slack * (n + 1):
            raise NumberFault(f"sum of q squared {q2:g} does not fit {n} proportions that sum to {q:g}")
        if self.n_alleles is not None and _finite(self.n_alleles, "alleles") < 2 * n:
            raise NumberFault(f"{self.n_alleles:g} alleles are fewer than two for each of {n} fish")

    @property
    def mean(self) -> float | None:
        """Mean q, None without fish."""
        return self.sum_q / self.n if self.n else None

    @property
    def variance(self) -> float | None:
        """Variance of q over fish with divisor n - 1; None below two fish, 0.0 when all are alike."""
        if self.n < 2:
            return None
        variance = (self.sum_q2 - self.sum_q**2 / self.n) / (self.n - 1)
        return variance if variance >= NO_VARIANCE else 0.0

    def estimate(self, level: float = 0.95, guard_fish: float = GUARD_FISH) -> Estimate:
        """Return the mean with its interval; see `mean_from_sums`."""
        return mean_from_sums(self.n, self.sum_q, self.sum_q2, self.n_alleles, level, guard_fish)

    def __add__(self, other: Sums) -> Sums:
        """Return the sums of both groups together."""
        return together([self, other])


def together(groups: Iterable[Sums]) -> Sums:
    """Return the sums of several groups of fish as one, the same in whatever order they are given.

    raises
        NumberFault for what is not the sums of some fish.
    """
    given = list(groups)
    for group in given:
        if not isinstance(group, Sums):
            raise NumberFault(f"{group!r} is not the sums of some fish")
    filled = [group for group in given if group.n]
    if not filled:
        return NO_SUMS
    if len(filled) == 1:
        return filled[0]
    alleles = [group.n_alleles for group in filled if group.n_alleles is not None]
    least = [group.least_q for group in filled if group.least_q is not None]
    most = [group.most_q for group in filled if group.most_q is not None]
    return Sums(
        sum(group.n for group in filled),
        fsum(group.sum_q for group in filled),
        fsum(group.sum_q2 for group in filled),
        fsum(alleles) if len(alleles) == len(filled) else None,
        min(least) if len(least) == len(filled) else None,
        max(most) if len(most) == len(filled) else None,
    )


def _finite(value: float, what: str) -> float:
    # a portfolio makes tens of thousands of sums: what is plainly a finite number is not looked at twice
    return value if type(value) is float and value - value == 0 else number(value, what)


NO_SUMS = Sums(0, 0.0, 0.0, 0.0)


def sums_of(q: ArrayLike, n_loci: ArrayLike | None, what: str = "q") -> Sums:
    """Return the sums of some fish; an empty list gives sums of no fish.

    q
        (fish,) allele proportions, 0 to 1.
    n_loci
        (fish,) scored loci, or one number for all, or None.
    raises
        NumberFault naming a q outside 0 to 1, loci that are no whole number from 1 up, or lists of other lengths.
    """
    if np.size(q) == 0:
        return NO_SUMS
    values = proportions(q, what)
    alleles = None
    if n_loci is not None:
        loci = numbers(n_loci, f"n_loci of {what}")
        if loci.size not in (1, values.size):
            raise NumberFault(
                f"n_loci of {what}: {loci.size} numbers for {values.size} fish; each needs its own"
            )
        for value in loci:
            count(float(value), f"n_loci of {what}", least=1)
        alleles = float(2 * np.broadcast_to(loci, values.shape).sum())
    # sums rounded once, as the database gives them: the same fish have the same sums in any order
    return Sums(
        values.size, fsum(values), fsum(values * values), alleles, float(values.min()), float(values.max())
    )
