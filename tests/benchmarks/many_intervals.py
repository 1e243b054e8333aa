"""Intervals of 100,000 groups at once against scipy's time for the same number of beta quantiles.

Run: python tests/benchmarks/many_intervals.py [groups]
Prints both times and their ratio; the goal is below 3.
"""

from __future__ import annotations

import sys
import time

import numpy as np
from scipy.special import betaincinv

from geneticlog.rules.intervals import mean_from_sums_many


def main(groups: int) -> None:
    random = np.random.default_rng(8)
    n = random.integers(4, 61, groups)
    loci = random.choice([35, 38, 61, 73], groups)
    p = random.beta(0.5, 1.5, groups)
    # q of a fish scattered about its group's mean: exact sums of n beta values would take longer than the benchmark
    sums = np.array(
        [
            random.beta(4 * mean + 0.1, 4 * (1 - mean) + 0.1, size).round(4)
            for mean, size in zip(p, n, strict=True)
        ],
        dtype=object,
    )
    sum_q = np.array([q.sum() for q in sums])
    sum_q2 = np.array([(q**2).sum() for q in sums])
    alleles = 2.0 * n * loci

    best_ours, best_theirs, found = np.inf, np.inf, None
    for _ in range(5):
        start = time.perf_counter()
        found = mean_from_sums_many(n, sum_q, sum_q2, alleles)
        best_ours = min(best_ours, time.perf_counter() - start)
        n_eff, mean = found.n_effective, found.mean
        start = time.perf_counter()
        betaincinv(n_eff * mean, n_eff * (1 - mean) + 1, 0.025)
        betaincinv(n_eff * mean + 1, n_eff * (1 - mean), 0.975)
        best_theirs = min(best_theirs, time.perf_counter() - start)
    print(
        f"{groups:,} intervals {1000 * best_ours:.0f} ms; {2 * groups:,} beta quantiles {1000 * best_theirs:.0f} ms"
    )
    print(f"ratio {best_ours / best_theirs:.2f} (goal: below 3)")


if __name__ == "__main__":
    from results import kept

    with kept("many_intervals"):
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
