"""How often the limits of a catch-weighted share of carriers hold it: run by hand, prints a line for each lake."""

from __future__ import annotations

import sys

import numpy as np

from geneticlog.rules.intervals import wilson
from geneticlog.rules.statistics.weighted_share import catch_weighted_share

CATCH, EVEN = (0.45, 0.30, 0.175, 0.06, 0.015), (0.3, 0.3, 0.3, 0.08, 0.02)
LAKES = {  # shares of the catch, shares of carriers
    "stocked young": (CATCH, (0.60, 0.30, 0.10, 0.04, 0.04)),
    "carriers among the smallest alone": (CATCH, (0.8, 0, 0, 0, 0)),
    "giants": (CATCH, (0.02, 0.02, 0.1, 0.5, 0.9)),
    "carriers 5 of 100": (CATCH, (0.05,) * 5),
    "carriers 10 of 100": (CATCH, (0.1,) * 5),
    "carriers 50 of 100": (CATCH, (0.5,) * 5),
    "all but some of the large": (EVEN, (1, 1, 0.7, 0.5, 0.5)),
    "carriers 95 of 100": (EVEN, (0.95,) * 5),
    "two classes": ((0.5, 0.5), (0.1, 0.95)),
    "a few of one class": (EVEN, (0.15, 0, 0, 0, 0)),
    "one class, 30 of 100": ((1.0,), (0.3,)),
    "one class, 10 of 100": ((1.0,), (0.1,)),
}


def main(n_surveys: int) -> None:
    random = np.random.default_rng(7)
    print("| lake | share | fish a class | caught | coverage | width | Wilson of the fish typed |")
    print("|---|---|---|---|---|---|---|")
    for name, (of_catch, carriers) in LAKES.items():
        truth = float(np.dot(of_catch, carriers))
        for n_class in (5, 8, 12):
            for n_caught in (1000, 120):
                told = np.zeros(3)
                for _ in range(n_surveys):
                    caught = random.multinomial(n_caught, of_catch)
                    n = np.minimum(caught, n_class)
                    x = random.binomial(n, carriers)
                    found = catch_weighted_share(
                        *({str(at): int(k) for at, k in enumerate(row)} for row in (x, n, caught))
                    )
                    low, high = wilson(int(x.sum()), int(n.sum()))
                    told += found.low <= truth <= found.high, found.high - found.low, low <= truth <= high
                cells = " | ".join(f"{value:.3f}" for value in told / n_surveys)
                print(f"| {name} | {truth:.3f} | {n_class} | {n_caught} | {cells} |", flush=True)


if __name__ == "__main__":
    from results import kept

    with kept("carriers"):
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000)
