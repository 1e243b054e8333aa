"""How often the same fish twice is found, and how often two different fish are taken for one, in invented lots.

Run it from the repository: python tests/benchmarks/same_fish_lots.py [LOTS]. Sixty fish a lot; the eighth is typed
twice, 1 % of its loci misread, 3 % of all calls missing. Seeded.
"""

from __future__ import annotations

import sys

import numpy as np

from geneticlog.rules.lab_return.same_genotypes import same_genotypes

LOTS = int(sys.argv[1]) if len(sys.argv) > 1 else 200
N = 60
CHANCE = np.random.default_rng(5)


def swarm(n_loci: int, a: float, b: float) -> np.ndarray:
    return CHANCE.binomial(2, CHANCE.beta(a, b, N)[:, None], (N, n_loci))


def child(mother: np.ndarray, father: np.ndarray) -> np.ndarray:
    def gamete(parent: np.ndarray) -> np.ndarray:
        return np.where(parent == 1, CHANCE.integers(0, 2, parent.shape), parent // 2)

    return gamete(mother) + gamete(father)


def families(n_loci: int, both: bool) -> np.ndarray:
    """Two families of brothers and sisters: northern, or a second backcross, by a second backcross to northern."""
    northern, first = np.zeros(n_loci, dtype=int), np.ones(n_loci, dtype=int)

    def backcross() -> np.ndarray:
        return child(northern, child(northern, first))

    parents = [(backcross() if both else northern, backcross()) for _ in range(2)]
    return np.array([child(*parents[i % 2]) for i in range(N)])


def lineage_and_northern(n_loci: int) -> np.ndarray:
    """Half northern fish, half of another lineage: four loci in five fixed, a fifth of them for Florida alleles."""
    fixed = CHANCE.random(n_loci) < 0.8
    frequency = np.where(fixed, CHANCE.random(n_loci) < 0.2, CHANCE.random(n_loci) * 0.6)
    half = CHANCE.binomial(2, frequency, (N // 2, n_loci))
    return np.vstack([half, np.zeros((N - N // 2, n_loci), dtype=int)])


KINDS = {
    "hybrid swarm": lambda n: swarm(n, 6, 14),
    "mostly northern": lambda n: swarm(n, 0.25, 2.5),
    "trace of Florida": lambda n: swarm(n, 2, 98),
    "F2": lambda n: np.array([child(np.ones(n, int), np.ones(n, int)) for _ in range(N)]),
    "two families, backcross to northern": lambda n: families(n, both=False),
    "two families, backcross by backcross": lambda n: families(n, both=True),
    "another lineage and northern": lineage_and_northern,
    "F1, all alike": lambda n: np.ones((N, n), dtype=int),
}


def main() -> None:
    print("| lot | loci | found | lots with a pair that is none |\n|---|---|---|---|")
    for kind, make in KINDS.items():
        for n_loci in (12, 20, 35, 73):
            found = wrong = 0
            for _ in range(LOTS):
                x = make(n_loci)
                twin = x[7].copy()
                misread = CHANCE.random(n_loci) < 0.01
                twin[misread] = (twin[misread] + 1) % 3
                x = np.vstack([x, twin])
                x[CHANCE.random(x.shape) < 0.03] = -1
                pairs = {(p.first, p.second) for p in same_genotypes(x, [str(i) for i in range(N + 1)])}
                found += ("7", str(N)) in pairs
                wrong += bool(pairs - {("7", str(N))})
            print(f"| {kind} | {n_loci} | {found / LOTS:.2f} | {wrong / LOTS:.2f} |")


if __name__ == "__main__":
    from results import kept

    with kept("same_fish_lots"):
        main()
