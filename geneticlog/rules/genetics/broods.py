"""Are fish of a few broods? What genotypes of many loci say of it, and of how many broods they are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from geneticlog.rules.ancestry import MISSING
from geneticlog.rules.arguments import Floats, NumberFault, array, count
from geneticlog.rules.seeds import SEED_OF_BROODS

LEAST_FISH, LEAST_LOCI = 12, 20  # with less a sign of broods is hardly found; project's own choice
ALPHA = 0.01  # of so many surveys that are looked at few should be warned of for nothing
SHUFFLES = 199
FEWEST_SHUFFLES = 100  # with fewer p cannot be below 0.01
SIB = 0.5  # correlation of full sibs at a locus in one interbreeding stock
MOST_OF_ONE = (
    0.5  # share of pairs that are sibs, at most: fish all of one brood cannot be told from fish of many
)
# The estimate is far too great where first crosses or backcrosses bred and half the true number where a swarm did, so a
# report gives only this many times it, which nearly no trial exceeded: tests/benchmarks/results/brood_most.md.
AT_MOST = 3.0
NO_GENOTYPES, FEW_FISH, FEW_LOCI = "no genotypes", f"under {LEAST_FISH} fish", f"under {LEAST_LOCI} loci vary"


@dataclass(frozen=True, slots=True)
class BroodSign:
    """What genotypes say of broods.

    n_fish, n_loci
        Fish with genotypes, and loci that vary enough among them to count, as an effective number.
    guard
        Why broods were not looked for; "" where they were.
    p
        Chance that fish of no common broods are as alike as these in places; None with a guard.
    found
        Whether p is below 0.01.
    n_broods
        Rough effective number of broods, 1 over the chance that two fish are of one; often far too great. None unless
        found.
    at_most
        Number of broods in effect that at least 19 of 20 had no more of; None unless found, or where it is no fewer
        than the fish.
    """

    n_fish: int
    n_loci: float
    guard: str
    p: float | None = None
    found: bool = False
    n_broods: float | None = None
    at_most: float | None = None


def brood_sign(genotypes: ArrayLike, shuffles: int = SHUFFLES, seed: int = SEED_OF_BROODS) -> BroodSign:
    """Return whether some fish are of a few broods, and of how many in effect.

    From each genotype, as a share 0, 1/2 or 1, what its own fish's ancestry and its locus lead to expect is taken
    away. What is left of two fish is alike over the loci where they are sibs: the sum over all pairs of ``(sum_l
    e_il e_jl)^2 - sum_l e_il^2 e_jl^2`` has its expectation 0 without broods. It is held against that of fish whose
    leftovers are shuffled over the loci, each fish by itself, which leaves ancestry and heterozygosity of every
    fish as they are. With L loci that vary and sibs of correlation 1/2, it is ``L f (1 - f) / 4`` times the sum of
    the second terms, f the chance that two fish are of one brood; the effective number is 1 / f. Sibs of
    backcrosses are less alike, so that it gives too many of them, at worst six times as many; limits by leaving out
    one locus at a time held the true number in none of the trials of F1 with F2, so none are given. Where parents
    are all alike (F1 with F1) sibs are no more alike than others, and nothing is found; nor is it where all fish
    are of one brood.

    genotypes
        (fish, loci) 0, 1, 2 or MISSING (-1).
    shuffles, seed
        Number of shuffles, and their seed.
    raises
        NumberFault for another shape or other numbers, or too few shuffles to find anything.
    source
        The project's own; the excess of correlation between unlinked loci of few parents as in Hill WG (1981) Genetical
        Research 38:209-216 [from memory]; measured in tests/benchmarks/brood_number.py.
    """
    table = array(genotypes, "genotypes")
    if table.ndim != 2:
        raise NumberFault(f"genotypes: a table of fish by loci is wanted, not one of shape {table.shape}")
    if not np.isin(table, (MISSING, 0, 1, 2)).all():
        raise NumberFault("genotypes: there is a number other than 0, 1, 2 or -1 for no call")
    shuffles = count(shuffles, "shuffles", least=FEWEST_SHUFFLES)
    table = table[(table != MISSING).any(axis=1)]
    if not table.size:
        return BroodSign(0, 0.0, NO_GENOTYPES)
    left, ways = _left_over(table)
    n_loci = _effective(left)
    if len(table) < LEAST_FISH:
        return BroodSign(len(table), n_loci, FEW_FISH)
    if n_loci < LEAST_LOCI:
        return BroodSign(len(table), n_loci, FEW_LOCI)
    seen = _alike(left)
    random = np.random.default_rng(seed)
    shuffled = np.array([_alike(_centred(random.permuted(left, axis=1), ways)) for _ in range(shuffles)])
    p = float((1 + (shuffled >= seen).sum()) / (shuffles + 1))
    if p >= ALPHA:
        return BroodSign(len(table), n_loci, "", p)
    scale = n_loci * SIB**2
    excess = (seen - float(shuffled.mean())) / scale
    n_broods = _number(excess)
    at_most = None if n_broods is None or AT_MOST * n_broods >= len(table) else AT_MOST * n_broods
    return BroodSign(len(table), n_loci, "", p, True, n_broods, at_most)


def _number(excess: float) -> float | None:
    """Return 1 / f where f (1 - f) is the excess and f at most one half; None where it is not above 0."""
    if excess <= 0:
        return None
    return float(1 / (MOST_OF_ONE - np.sqrt(max(0.0, MOST_OF_ONE**2 - min(excess, MOST_OF_ONE**2)))))


def _left_over(table: Floats) -> tuple[Floats, Floats]:
    """Return what ancestry and locus do not lead to expect, 0 without a call; and how far fish can differ there."""
    called = table != MISSING
    share = np.where(called, table / 2, 0.0)
    q = share.sum(axis=1) / called.sum(axis=1)
    ways = (4 * q * (1 - q))[:, None] * called
    return _centred(np.where(called, share - q[:, None], 0.0), ways), ways


def _centred(left: Floats, ways: Floats) -> Floats:
    """Return leftovers without what is common to a locus, which weighs on a fish by how far it can differ."""
    below = (ways**2).sum(axis=0)
    common = (ways * left).sum(axis=0) / np.maximum(below, 1e-12)
    return np.asarray(left - ways * common, dtype=np.float64)


def _alike(left: Floats) -> float:
    square = left**2
    together, alone = left @ left.T, square @ square.T
    below = alone.sum() - np.trace(alone)
    over = (together**2).sum() - (np.diag(together) ** 2).sum() - below
    return float(over / below) if below > 1e-12 else 0.0


def _effective(left: Floats) -> float:
    """Return how many loci vary, each counted by its share: (sum v)^2 / sum v^2 of their variances."""
    v = (left**2).mean(axis=0)
    return float(v.sum() ** 2 / (v**2).sum()) if v.sum() > 1e-12 else 0.0
