"""How often the rule for generations names simulated fish as what they are: a table for DEVELOPERS.md.

Run: python tests/benchmarks/generations.py [FISH]    (5,000 fish a cell: seconds)
"""

from __future__ import annotations

import sys

import numpy as np

from geneticlog.rules.genetics.generation import generation_of
from geneticlog.rules.genetics.hybrid_classes import CLASS_GENOTYPES, MISCALL_RATE, NOT_RESOLVED, miscalls

LOCI = (20, 38, 60, 100)
KINDS = {
    **{name: CLASS_GENOTYPES[name] for name in ("northern", "F1", "F2", "backcross to northern")},
    "second backcross to northern": (0.75, 0.25, 0.0),
    "third backcross to northern": (0.875, 0.125, 0.0),
    "young of two F2": (0.25, 0.5, 0.25),  # and of every later generation that mates at random
    "young of F1 and backcross": (0.375, 0.5, 0.125),
    "young of two backcrosses": (0.5625, 0.375, 0.0625),
}


def main(n_fish: int) -> None:
    random = np.random.default_rng(20260101)
    print(f"| the fish is | {' | '.join(f'{n} loci' for n in LOCI)} |")
    print("|---|" + "---|" * len(LOCI))
    for kind, chances in KINDS.items():
        cells = []
        for n_loci in LOCI:
            told: dict[str, int] = {}
            seen = np.array(chances) @ miscalls(MISCALL_RATE)
            for drawn in random.multinomial(n_loci, seen, size=n_fish):
                n0, n1, n2 = map(int, drawn)
                q, h = (n1 + 2 * n2) / (2 * n_loci), n1 / n_loci
                name = generation_of(q, h, n_loci, genotypes=(n0, n1, n2)).told
                told[name] = told.get(name, 0) + 1
            right, left = told.pop(kind, 0), told.pop(NOT_RESOLVED, 0)
            cells.append(" / ".join(f"{n / n_fish:.3f}" for n in (right, left, n_fish - right - left)))
        print(f"| {kind} | {' | '.join(cells)} |")


if __name__ == "__main__":
    from results import kept

    with kept("generations"):
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 5_000)
