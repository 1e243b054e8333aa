"""Signs that a lake's fish are not what the panel was made for, and fish that look like the same fish twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammaln, xlogy

from geneticlog.rules.ancestry import MISSING
from geneticlog.rules.checking import NumberFault, count, proportion, proportions, same_length

# Project rule: a mean q from .1 to .9, more than half the heterozygotes missing, and at least ten fish.
LEAST_P, MOST_P, LEAST_F, LEAST_FISH = 0.1, 0.9, 0.5, 10
# Single fish below the first or above the second are near pure: at least a tenth of each and most of all fish
# there speak for a fresh mixture of pure parents.
NEAR_PURE, LEAST_EACH, LEAST_BOTH = 0.2, 0.1, 0.6

POSSIBLE_LINEAGE = "possible third lineage, other species or failed assay"
BIMODAL = "the fish fall into two near-pure groups, as a fresh mixture of pure parents does"
ALIKE = "the fish are nearly alike, as another lineage or a placeholder in the file is"
NEITHER = "the fish are neither in two groups nor alike"


@dataclass(frozen=True, slots=True)
class LineageSign:
    """The heterozygote deficit of a lake's fish.

    f
        ``1 - mean(H) / [2 p (1-p)]``, p the mean q; None where p is 0 or 1 or there are no fish.
    flagged, sentence
        Whether the project rule is met, and what to say ("" if not).
    hint
        What single fish look like; "" if not flagged.
    variance, marker_variance
        Variance of q over fish, and what the sampling of markers alone would give; None below two fish or
        without the loci. Below it, loci are fixed by lineage instead of segregating: the second sign.
    """

    f: float | None
    flagged: bool
    sentence: str
    hint: str
    variance: float | None
    marker_variance: float | None

    @property
    def below_marker_variance(self) -> bool:
        """Whether q varies less over fish than markers alone would make it vary."""
        return (
            self.variance is not None
            and self.marker_variance is not None
            and self.variance < self.marker_variance
        )


def lineage_sign(q: ArrayLike, heterozygosity: ArrayLike, n_loci: int | None = None) -> LineageSign:
    """Return the heterozygote deficit of some fish and whether it points to a third lineage.

    q, heterozygosity
        (fish,) each, 0 to 1, of the fish that have both.
    n_loci
        Usual number of scored loci, for the second sign; None leaves it out.
    raises
        NumberFault for an empty list, values outside 0 to 1, or lists of different lengths.
    source
        Project rule on Wahlund's (1928) deficit; thresholds checked on Silliman et al. (2021) Evolutionary
        Applications 14:2815-2830.
    """
    p_fish, h_fish = proportions(q, "q"), proportions(heterozygosity, "heterozygosity")
    same_length(p_fish, h_fish, "q and heterozygosity")
    low, high = int((p_fish <= NEAR_PURE).sum()), int((p_fish >= 1 - NEAR_PURE).sum())
    return lineage_sign_from_sums(
        len(p_fish), float(p_fish.sum()), float((p_fish**2).sum()), float(h_fish.sum()), low, high, n_loci
    )


def lineage_sign_from_sums(
    n: int,
    sum_q: float,
    sum_q2: float,
    sum_h: float,
    n_near_northern: int,
    n_near_florida: int,
    n_loci: int | None = None,
) -> LineageSign:
    """Return what `lineage_sign` returns from sums over the n fish that have q and H.

    n_near_northern, n_near_florida
        Fish with q up to .2 and from .8.
    raises
        NumberFault for a negative number of fish or means outside 0 to 1.
    """
    n = count(n, "fish")
    if not n:
        return LineageSign(None, False, "", "", None, None)
    p, h = proportion(sum_q / n, "mean q"), proportion(sum_h / n, "mean heterozygosity")
    variance = max(0.0, (sum_q2 - sum_q**2 / n) / (n - 1)) if n > 1 else None
    by_markers = None
    if n_loci is not None:  # the mean over fish of [4q(1-q) - H]/(4L)
        by_markers = max(0.0, 4 * (sum_q - sum_q2) / n - h) / (4 * count(n_loci, "loci", least=1))
    if p in (0.0, 1.0):
        return LineageSign(None, False, "", "", variance, by_markers)
    f = 1 - h / (2 * p * (1 - p))
    flagged = LEAST_P <= p <= MOST_P and f > LEAST_F and n >= LEAST_FISH
    if not flagged:
        return LineageSign(f, False, "", "", variance, by_markers)
    low, high = n_near_northern / n, n_near_florida / n
    if low >= LEAST_EACH and high >= LEAST_EACH and low + high >= LEAST_BOTH:
        hint = BIMODAL
    elif variance is not None and variance < (0.1**2 if by_markers is None else max(0.1**2, 2 * by_markers)):
        hint = ALIKE
    else:
        hint = NEITHER
    return LineageSign(f, True, POSSIBLE_LINEAGE, hint, variance, by_markers)


@dataclass(frozen=True, slots=True)
class SamePair:
    """Two samples with the same genotype: the same fish twice, or a vial filled from two fish's swab.

    first, second
        Their names.
    n_loci, n_different
        Loci scored in both, and those that differ.
    chance
        Chance that another fish of the same make-up agrees as well, times the pairs looked at.
    """

    first: str
    second: str
    n_loci: int
    n_different: int
    chance: float


def same_genotypes(
    genotypes: ArrayLike,
    names: Sequence[str],
    *,
    least_loci: int = 12,
    most_different: float = 0.02,
    most_chance: float = 0.01,
) -> list[SamePair]:
    """Return pairs of samples whose genotypes agree more than chance allows.

    Two pure fish agree at every locus and mean nothing by it. So a pair counts only when a fish with the same
    numbers of loci of each genotype, in random places, would hardly agree: ``exp(sum n_g ln(n_g / L))`` times the
    ways to place the differences, times the number of pairs.

    genotypes
        (fish, loci) 0, 1, 2 or MISSING (-1).
    names
        (fish,) their vials or numbers.
    least_loci, most_different, most_chance
        Fewest shared loci, largest share of them that may differ (misread alleles), largest chance.
    raises
        NumberFault for another shape, other numbers, or names that do not match.
    """
    x = np.asarray(genotypes)
    if x.ndim != 2 or len(names) != len(x):
        raise NumberFault(f"genotypes: {len(names)} names for a table of shape {x.shape}")
    if not np.isin(x, (MISSING, 0, 1, 2)).all():
        raise NumberFault("genotypes: a number other than 0, 1, 2 or -1 for no call")
    scored = (x >= 0).astype(np.int32)
    shared = scored @ scored.T
    agree = sum((x == g).astype(np.int32) @ (x == g).astype(np.int32).T for g in (0, 1, 2))
    different = shared - np.asarray(agree)
    close = (shared >= least_loci) & (different <= most_different * shared)
    pairs = [(int(i), int(j)) for i, j in zip(*np.nonzero(np.triu(close, 1)), strict=True)]
    n_pairs = len(x) * (len(x) - 1) / 2
    found = []
    for i, j in pairs:
        both = (x[i] >= 0) & (x[j] >= 0)
        loci, apart = int(shared[i, j]), int(different[i, j])
        n_g = np.array([((x[i] == g) & both).sum() for g in (0, 1, 2)], dtype=np.float64)
        ways = gammaln(loci + 1) - gammaln(apart + 1) - gammaln(loci - apart + 1) + apart * np.log(2)
        chance = float(min(1.0, n_pairs * np.exp(xlogy(n_g, n_g / loci).sum() + ways)))
        if chance <= most_chance:
            found.append(SamePair(names[i], names[j], loci, apart, chance))
    return found


def runs_of_equal(
    q: Sequence[float], heterozygosity: Sequence[float | None], least: int = 3
) -> list[tuple[int, int]]:
    """Return (first, last) positions of runs of equal intermediate (q, H) in neighbouring vials, from ``least`` on.

    Eleven fish of one published sample all read q = 0.6, H = 0: a placeholder, not fish. Pure fish (q 0 or 1) are
    often alike and are passed over.

    raises
        NumberFault for lists of different lengths.
    """
    same_length(list(q), list(heterozygosity), "q and heterozygosity")
    pairs = list(zip(q, heterozygosity, strict=True))
    cuts = [0, *(at + 1 for at, (a, b) in enumerate(pairwise(pairs)) if a != b), len(pairs)]
    return [
        (start, end - 1)
        for start, end in pairwise(cuts)
        if end - start >= max(1, least) and 0 < pairs[start][0] < 1
    ]
