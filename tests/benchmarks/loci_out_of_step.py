"""Of invented lakes: how often a locus is named that nothing is wrong with, and how often one that is misread is found.

    python tests/benchmarks/loci_out_of_step.py [LAKES]

38 loci. In the lake with a misread locus every heterozygous fish of the first locus reads as of one kind, as with an
allele that stays silent. Beside it the plain rule, which names every locus that departs from Hardy-Weinberg after Holm.
"""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from geneticlog.rules.genetics.loci import LociSign, LocusCounts, judge_loci

LOCI = 38
Table = NDArray[np.int64]
Draw = Callable[[np.random.Generator, int], Table]


def by_ancestry(ancestry: NDArray[np.float64], random: np.random.Generator) -> Table:
    """Genotypes (fish, loci) of fish whose two alleles of a locus are drawn by the fish's own ancestry."""
    return random.binomial(2, np.repeat(ancestry[:, None], LOCI, axis=1))


def two_pure_and_crosses(random: np.random.Generator, n: int) -> Table:
    kind = random.choice([0, 2, 1], size=n, p=[0.5, 0.25, 0.25])
    return np.repeat(kind[:, None], LOCI, axis=1)


LAKES: dict[str, Draw] = {
    "old swarm": lambda random, n: random.binomial(2, 0.3, (n, LOCI)),
    "mixed, not yet one stock": lambda random, n: by_ancestry(random.beta(0.5, 1, n), random),
    "few carriers": lambda random, n: by_ancestry(
        np.where(random.random(n) < 0.8, 0.0, random.beta(1, 3, n)), random
    ),
    "pure of both kinds, and F1": two_pure_and_crosses,
}


def judged(table: Table) -> LociSign:
    counts = [(np.asarray(column) == k).sum() for column in table.T for k in (0, 1, 2)]
    return judge_loci([LocusCounts(f"M{at}", *map(int, counts[3 * at : 3 * at + 3])) for at in range(LOCI)])


def main(n_lakes: int) -> None:
    print("| lake | fish | some locus named, none misread | by the plain rule | misread locus found |")
    print("|---|---|---|---|---|")
    for name, draw in LAKES.items():
        for n in (12, 33, 100):
            random = np.random.default_rng(20260101)
            named = plain = found = 0
            for _ in range(n_lakes):
                table = draw(random, n)
                told = judged(table)
                named += bool(told.out_of_step)
                plain += told.n_departing > 0
                table[table[:, 0] == 1, 0] = 0
                found += "M0" in judged(table).out_of_step
            shares = (f"{one / n_lakes:.3f}" for one in (named, plain, found))
            print(f"| {name} | {n} | {' | '.join(shares)} |")


if __name__ == "__main__":
    from results import kept

    with kept("loci"):
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
