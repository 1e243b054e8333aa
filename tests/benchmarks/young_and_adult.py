"""How often the interval of young minus adult holds the truth: run by hand, prints the rows of DEVELOPERS.md.

Both weighted to the catch, and, beside it, with the swabbed fish of each side taken as they are.
"""

from __future__ import annotations

import sys

import numpy as np

from geneticlog.rules.intervals import difference, mean_proportion
from geneticlog.rules.statistics.sums import sums_of
from geneticlog.rules.statistics.weighted_difference import weighted_difference

CATCH, EVEN = (0.45, 0.30, 0.175, 0.06, 0.015), (0.30, 0.30, 0.30, 0.08, 0.02)
LAKES = {  # shares of the catch, means of the classes; the first two are young
    "size gradient": (CATCH, (0.16, 0.27, 0.39, 0.48, 0.65)),
    "stocked young": (CATCH, (0.30, 0.15, 0.05, 0.02, 0.02)),
    "adults uneven": (EVEN, (0.30, 0.30, 0.27, 0.36, 0.75)),
    "adults uneven, low": (EVEN, (0.20, 0.20, 0.15, 0.30, 0.60)),
    "all alike": (CATCH, (0.30,) * 5),
}
N_CAUGHT, N_LOCI = 1_000, 35


def main(n_surveys: int) -> None:
    random = np.random.default_rng(5)
    print("| lake | truth | fish a class | coverage | leaves 0 out | swabbed fish: coverage | leaves 0 out |")
    print("|---|---|---|---|---|---|---|")
    for name, (share, mean) in LAKES.items():
        w, p = np.array(share), np.array(mean)
        truth = float(w[:2] @ p[:2] / w[:2].sum() - w[2:] @ p[2:] / w[2:].sum())
        for n_class in (5, 8, 12):
            told = np.zeros((2, 2))
            for _ in range(n_surveys):
                caught = random.multinomial(N_CAUGHT, w)
                n = np.minimum(caught, n_class)
                fish = [
                    random.binomial(2 * N_LOCI, random.beta(20 * a, 20 * (1 - a), k)) / (2 * N_LOCI)
                    for a, k in zip(p, n, strict=True)
                ]
                sums = {str(at): sums_of(q, N_LOCI) for at, q in enumerate(fish)}
                sides = []
                for names in ("01", "234"):
                    sides += [{at: sums[at] for at in names}, {at: int(caught[int(at)]) for at in names}]
                as_swabbed = [mean_proportion(np.concatenate(part), N_LOCI) for part in (fish[:2], fish[2:])]
                for row, one in enumerate((weighted_difference(*sides).difference, difference(*as_swabbed))):
                    told[row] += one.low <= truth <= one.high, one.low > 0 or one.high < 0
            cells = " | ".join(f"{value:.3f}" for value in (told / n_surveys).ravel())
            print(f"| {name} | {truth:+.3f} | {n_class} | {cells} |")


if __name__ == "__main__":
    from results import kept

    with kept("young_and_adult"):
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000)
