"""Samples that look like the same fish twice: genotypes that agree more than chance allows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln, xlogy

from geneticlog.rules.ancestry import MISSING
from geneticlog.rules.arguments import NumberFault, array, count, listed, positive, proportion

LEAST_SHARED_LOCI = 12  # scored in both; fewer cannot tell two fish apart
# Largest share of the shared loci that may differ in one fish typed twice, though one locus always may. Published
# errors of a call are 0.2 to 4 % a laboratory (White & Shaklee 1991, doi 10.1139/f91-167); common practice, no source.
MOST_DIFFERENT = 0.05
MOST_CHANCE = 0.05  # that any two different fish of the lot agree so far
AT_ONCE = 2_000  # samples compared with as many others in one product of matrices, some 60 MB


@dataclass(frozen=True, slots=True)
class SamePair:
    """Two samples with the same genotype: the same fish twice, or a vial filled from another fish's swab.

    first, second
        Their names.
    n_loci, n_different
        Loci scored in both, and those that differ.
    chance
        Chance that two different fish of the lot agree as well, times the pairs looked at.
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
    least_loci: int = LEAST_SHARED_LOCI,
    most_different: float = MOST_DIFFERENT,
    most_chance: float = MOST_CHANCE,
    at_once: int = AT_ONCE,
) -> list[SamePair]:
    """Return the pairs of samples whose genotypes agree more than chance allows, in the order of the samples.

    Two pure fish agree at every locus and mean nothing by it, nor do two fish of a lineage whose loci are fixed. So a
    pair counts only when two different fish would hardly agree, by any of three ways to see chance: a fish with the
    same numbers of loci of each genotype in random places, ``exp(sum n_g ln(n_g / L))``; a fish drawn locus by locus
    from the other samples, ``prod (n_lg + 1) / (n_l + 3)``; and a full sib of the first, whose parents are drawn from
    the lot, or have the ancestry that gives its own q and H. The greatest, times the ways to place the differences,
    times the number of pairs, has to be at most ``most_chance``. So two of one brood are not
    taken for one fish (measured in tests/benchmarks/broods.py).

    genotypes
        (sample, loci) 0, 1, 2 or MISSING (-1).
    names
        (sample,) their vials or numbers.
    least_loci, most_different, most_chance
        Fewest shared loci; largest share of them that may differ (a misread allele), one locus always; largest chance.
    at_once
        Samples compared with as many others in one piece; a matter of memory, not of the outcome.
    raises
        NumberFault for another shape, other numbers, or names that do not match.
    source
        The project's own rule; probability of identity as in Waits, Luikart & Taberlet (2001) Molecular Ecology
        10:249-256 [memory], of sibs too, taken here from the lot itself.
    """
    table, names = array(genotypes, "genotypes"), listed(names, "names")
    least_loci = count(least_loci, "fewest shared loci", least=1)
    at_once = count(at_once, "samples at once", least=1)
    most_different = proportion(most_different, "largest share that may differ")
    most_chance = positive(proportion(most_chance, "largest chance"), "largest chance")
    if table.ndim != 2 or len(names) != len(table):
        raise NumberFault(f"genotypes: {len(names)} names for a table of shape {table.shape}")
    if not np.isin(table, (MISSING, 0, 1, 2)).all():
        other = table[~np.isin(table, (MISSING, 0, 1, 2))][0]
        raise NumberFault(f"genotypes: {other:g} is a number other than 0, 1, 2 or -1 for no call")
    x = table.astype(np.int8)
    n_pairs = len(x) * (len(x) - 1) / 2
    counts = np.stack([(x == g).sum(axis=1) for g in (0, 1, 2)], axis=1).astype(np.float64)
    scored = counts.sum(axis=1)
    # On fewer loci chance is never smaller, so a sample that is like others on all its loci is in no pair.
    log_alike = xlogy(counts, counts / np.maximum(scored, 1)[:, None]).sum(axis=1)
    telling = np.flatnonzero((scored >= least_loci) & (log_alike <= np.log(most_chance / max(n_pairs, 1))))
    at_locus = np.stack([(x == g).sum(axis=0) for g in (0, 1, 2)])
    pairs = []
    for i, j, loci, apart in _close(x[telling], least_loci, most_different, at_once):
        first, second = x[telling[i]], x[telling[j]]
        chance = min(1.0, n_pairs * float(np.exp(_log_chance(first, second, at_locus, apart))))
        if chance <= most_chance:
            pairs.append(SamePair(names[telling[i]], names[telling[j]], loci, apart, chance))
    place = {name: at for at, name in enumerate(names)}
    return sorted(pairs, key=lambda pair: (place[pair.first], place[pair.second]))


def _close(
    x: NDArray[np.int8], least_loci: int, most_different: float, at_once: int
) -> Iterator[tuple[int, int, int, int]]:
    """Yield (i, j, loci scored in both, loci that differ) of every two rows close enough, i before j."""
    calls = np.concatenate([x == g for g in (0, 1, 2)], axis=1).astype(np.float32)
    scored = (x >= 0).astype(np.float32)
    for top in range(0, len(x), at_once):
        for left in range(top, len(x), at_once):
            rows, columns = slice(top, top + at_once), slice(left, left + at_once)
            shared = scored[rows] @ scored[columns].T
            different = shared - calls[rows] @ calls[columns].T
            close = (shared >= least_loci) & (different <= np.maximum(1, most_different * shared))
            for i, j in zip(*np.nonzero(close), strict=True):
                if top + i < left + j:
                    yield top + int(i), left + int(j), int(shared[i, j]), int(different[i, j])


def _log_chance(
    first: NDArray[np.int8], second: NDArray[np.int8], at_locus: NDArray[np.int64], apart: int
) -> float:
    both = np.flatnonzero((first >= 0) & (second >= 0))
    a, b = first[both], second[both]
    n_g = np.array([(a == g).sum() for g in (0, 1, 2)], dtype=np.float64)
    by_make_up = float(xlogy(n_g, n_g / len(both)).sum())
    others = at_locus[:, both].astype(np.float64)
    others[a, np.arange(len(both))] -= 1  # the pair itself says nothing of the other fish
    others[b, np.arange(len(both))] -= 1
    by_locus = float(np.log((others[a, np.arange(len(both))] + 1) / (others.sum(axis=0) + 3)).sum())
    of_lot = (others[1] + 2 * others[2] + 1) / (2 * others.sum(axis=0) + 2)
    by_brood = max(_of_sib(a, of_lot, of_lot), _of_sib(a, *_parents(n_g)))
    ways = gammaln(len(both) + 1) - gammaln(apart + 1) - gammaln(len(both) - apart + 1) + apart * np.log(2)
    return max(by_make_up, by_locus, by_brood) + float(ways)


def _parents(n_g: NDArray[np.float64]) -> tuple[float, float]:
    """Return the ancestry of two parents that give the q and H of a fish: q1 + q2 = 2q, q1 + q2 - 2 q1 q2 = H."""
    q, h = (n_g[1] + 2 * n_g[2]) / (2 * n_g.sum()), n_g[1] / n_g.sum()
    apart = float(max(0.0, q * q - q + h / 2) ** 0.5)
    least = 0.5 / float(n_g.sum())  # a parent that looks pure may still carry one allele
    return min(1 - least, max(least, q + apart)), min(1 - least, max(least, q - apart))


def _of_sib(
    a: NDArray[np.int8], p: NDArray[np.float64] | float, other_p: NDArray[np.float64] | float
) -> float:
    """Return the log chance that a full sib has the genotypes a, of parents whose alleles have shares p and other_p.

    A parent that gave an allele gives the same kind again with chance (1 + its share of the kind) / 2.
    """
    two = (1 + p) * (1 + other_p) / 4
    none = (1 - p / 2) * (1 - other_p / 2)
    first = p * (1 - other_p)  # a heterozygote: the allele came from the first parent, or from the second
    second = other_p * (1 - p)
    from_first = (1 + p) / 2 * (1 - other_p / 2) + (1 - p) / 2 * other_p / 2
    from_second = (1 + other_p) / 2 * (1 - p / 2) + (1 - other_p) / 2 * p / 2
    one = (first * from_first + second * from_second) / (first + second)
    return float(np.log(np.where(a == 1, one, np.where(a == 2, two, none))).sum())
