"""What a plan promises against what reports give: python tests/benchmarks/planned_intervals.py [20000]

Prints, for invented lakes, the half-width that a plan expects of n fish (it knows the lake's mean and spread), the
mean half-width of the intervals that simulated surveys of n fish get, and the share of surveys that get no wider.
"""

from __future__ import annotations

import sys

import numpy as np

from geneticlog.rules.intervals import mean_from_sums_many
from geneticlog.rules.statistics.planned_intervals import expected_interval, half_width

LAKES = {  # q of a fish ~ Beta
    "hybrid swarm": (6, 14),
    "even": (2, 2),
    "long tail": (0.25, 2.5),
    "nearly all northern": (0.05, 1.5),
}
N_LOCI = 35


def main(surveys: int) -> None:
    random = np.random.default_rng(5)
    print("| lake | spread | fish | expected | surveys got | no wider |\n|---|---|---|---|---|---|")
    for lake, (a, b) in LAKES.items():
        mean, spread = a / (a + b), (a * b / ((a + b) ** 2 * (a + b + 1))) ** 0.5
        for n in (5, 8, 15, 30):
            q = random.beta(a, b, (surveys, n))
            got = mean_from_sums_many(
                np.full(surveys, n), q.sum(1), (q**2).sum(1), np.full(surveys, 2.0 * N_LOCI * n)
            )
            reach = (got.high - got.low) / 2
            expected = half_width(expected_interval(mean, spread, n)) or 0.0
            no_wider = (reach <= expected).mean()
            print(f"| {lake} | {spread:.3f} | {n} | {expected:.3f} | {reach.mean():.3f} | {no_wider:.2f} |")


if __name__ == "__main__":
    from results import kept

    with kept("planned_intervals"):
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
