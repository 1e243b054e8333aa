"""How often the intervals of a closed water hold its mean: `python tests/benchmarks/closed_waters.py [surveys a cell]`.

Every survey fills a new invented water with N fish and types n of them; the truth is the mean q of all N as the panel
would read them. Two size classes make up 70 and 30 % of the water and get half of the swabs each (or all their fish).
"""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np

from geneticlog.rules.notebook.known_catch import known_totals, mean_in_closed_water, post_stratified
from geneticlog.rules.statistics.estimates import Estimate
from geneticlog.rules.statistics.sums import sums_of

LOCI = 38
Random = np.random.Generator
LAKES: dict[str, Callable[[Random, int], np.ndarray]] = {
    "hybrid swarm": lambda r, n: r.beta(6, 14, n),
    "mostly northern": lambda r, n: np.where(r.random(n) < 0.8, 0.0, r.beta(1, 3, n)),
    "rare carriers": lambda r, n: np.where(r.random(n) < 0.05, 0.5, 0.0),
    "long tail": lambda r, n: r.beta(0.25, 2.5, n),
    "bimodal": lambda r, n: np.where(r.random(n) < 0.5, 0.02, 0.97),
}
MORE = 0.1  # what the large fish of a "gradient" carry beyond the young ones


def held(found: Estimate, truth: float) -> tuple[bool, float]:
    """Return whether the limits hold the truth, and how far they are apart."""
    assert found.low is not None
    assert found.high is not None
    return found.low - 1e-12 <= truth <= found.high + 1e-12, found.high - found.low


def main(surveys: int) -> None:
    """Print coverage / mean width of nominal 95 % intervals, and the lowest coverage over lakes of a kind."""
    random = np.random.default_rng(7)
    covered: dict[tuple[str, bool], list[list[float]]] = {}
    print("| lake | N | n | one lot | without the factor | class totals known | sorted afterwards |")
    print("|---|---|---|---|---|---|---|")
    cells = [(lake, more) for lake in LAKES for more in (0.0, MORE)]
    for lake, more in cells:
        for size, n in ((20, 8), (60, 30), (200, 30)):
            seen: list[list[tuple[bool, float]]] = [[], [], [], []]
            young = round(0.7 * size)
            for _ in range(surveys):
                q = random.binomial(2 * LOCI, LAKES[lake](random, size)) / (2 * LOCI)
                q[young:] = np.minimum(1, q[young:] + more)
                truth = float(q.mean())
                drawn = random.permutation(size)[:n]
                one_lot = sums_of(q[drawn], LOCI)
                seen[0].append(held(mean_in_closed_water(one_lot, size), truth))
                seen[1].append(held(one_lot.estimate(), truth))
                totals = {"young": young, "large": size - young}
                each = min(n // 2, size - young)
                by_class = {
                    "young": sums_of(random.permutation(q[:young])[: n - each], LOCI),
                    "large": sums_of(random.permutation(q[young:])[:each], LOCI),
                }
                seen[2].append(held(known_totals(by_class, totals), truth))
                sorted_after = {
                    "young": sums_of(q[drawn[drawn < young]], LOCI),
                    "large": sums_of(q[drawn[drawn >= young]], LOCI),
                }
                found = post_stratified(sorted_after, totals)
                if found.low is not None and not found.uncovered:
                    seen[3].append(held(found, truth))
            shares = [float(np.mean([hit for hit, _ in part])) for part in seen]
            covered.setdefault((lake, more > 0), []).append(shares)
            columns = " | ".join(
                f"{share:.3f} / {np.mean([w for _, w in part]):.2f}"
                for share, part in zip(shares, seen, strict=True)
            )
            name = lake + (", gradient" if more else "")
            print(f"| {name} | {size} | {n} | {columns} |", flush=True)
    lowest(covered)


def lowest(covered: dict[tuple[str, bool], list[list[float]]]) -> None:
    """Print the lowest coverage of each column over lakes of a kind."""
    print("\nLowest coverage over the lines of each kind of lake:\n")
    print("| lakes | one lot | without the factor | class totals known | sorted afterwards |")
    print("|---|---|---|---|---|")
    hidden, two = "rare carriers", "bimodal"
    kinds: dict[str, Callable[[str, bool], bool]] = {
        "swarm, mostly northern, rare carriers, long tail": lambda lake, more: lake != two and not more,
        "bimodal": lambda lake, _: lake == two,
        "large fish .1 above the others, rare carriers": lambda lake, more: lake == hidden and more,
        "large fish .1 above the others, the other three": lambda lake, more: (
            lake not in (hidden, two) and more
        ),
    }
    for name, fits in kinds.items():
        rows = [shares for key, lines in covered.items() if fits(*key) for shares in lines]
        print(f"| {name} | " + " | ".join(f"{share:.3f}" for share in np.min(rows, axis=0)) + " |")
    print(
        "\nRare carriers are 5 % of the fish, in classes otherwise all alike: most samples of 15 a class hold none or"
        "\none of them, and no interval can know of a kind that is not in the sample. The factor takes away what the"
        "\nplain interval has to spare: where a kind can hide, leave it out (`finite=False`, or `mean_from_sums`)."
    )


if __name__ == "__main__":
    from results import kept

    with kept("closed_waters"):
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 2_000)
