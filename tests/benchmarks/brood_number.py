"""How often fish of no common broods are taken for fish of a few, and how near the number of broods is told.

    python tests/benchmarks/brood_number.py [SURVEYS] [--write]
    python tests/benchmarks/brood_number.py [SURVEYS] --most [--write]

With --most, only how often the true number is no more than the estimate, one and a half, two or three times it: what
a report may say. Lakes without broods: every fish has parents of its own. Broods as in broods.py, of unequal size; the
true effective number is 1 over the chance that two of the fish are of one brood. Seeded.
"""

from __future__ import annotations

import sys

import numpy as np
from broods import PARENTS, Table, child
from results import save

from geneticlog.rules.genetics.broods import BroodSign, brood_sign

SIZES = ((16, 38), (33, 38), (33, 73), (80, 38))


def none_related(kind: str, n: int, loci: int, random: np.random.Generator) -> Table:
    mother, father = PARENTS[kind]
    return np.array([child(mother(loci, random), father(loci, random), random) for _ in range(n)])


def of_many_kinds(n: int, loci: int, random: np.random.Generator) -> Table:
    """Pure fish, first crosses, backcrosses and second crosses side by side, none related."""
    kinds = [np.zeros(loci, int), np.ones(loci, int), None, None]
    found = []
    for at in random.choice(4, n, p=[0.4, 0.2, 0.2, 0.2]):
        whole = kinds[at]
        found.append(random.binomial(at - 1, 0.5, loci) if whole is None else whole)
    return np.array(found)


def old_swarm(n: int, loci: int, random: np.random.Generator) -> Table:
    return random.binomial(2, random.beta(3, 6, loci), (n, loci))


def main(surveys: int) -> list[str]:
    lines = [
        f"{surveys} surveys a line. Fish of no common broods:",
        "",
        "| fish | n | loci | looked for | broods found wrongly |",
        "|---|---|---|---|---|",
    ]
    worst = 0.0
    lakes = {kind: lambda n, loci, random, kind=kind: none_related(kind, n, loci, random) for kind in PARENTS}
    lakes |= {"pure, F1, backcross and F2": of_many_kinds, "old swarm, loci drifted apart": old_swarm}
    for kind, make in lakes.items():
        for n, loci in SIZES:
            random = np.random.default_rng([11, n, loci])
            told = [brood_sign(make(n, loci, random)) for _ in range(surveys)]
            looked, found = (sum(bool(value) for value in some) for some in (
                [not one.guard for one in told], [one.found for one in told]))  # fmt: skip
            share = found / looked if looked else 0.0
            worst = max(worst, share) if looked >= surveys / 4 else worst
            lines.append(f"| {kind} | {n} | {loci} | {looked / surveys:.2f} | {share:.3f} |")
    lines += ["", f"Worst share found wrongly: {worst:.3f}.", "", "Fish of broods:", ""]
    lines += [
        "| parents | broods | n | loci | looked for | found | true effective number, median | told, median | "
        "told within half and twice |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for kind in PARENTS:
        for n_broods in (2, 4, 10, 25):
            for n, loci in SIZES[1:2] if n_broods != 4 else SIZES:
                lines.append(_line(kind, n_broods, n, loci, surveys))
    return lines


def of_broods(
    kind: str, n_broods: int, n: int, loci: int, surveys: int
) -> tuple[list[BroodSign], list[float], int]:
    """Signs of the surveys whose broods were found, the true effective numbers, and how many could be looked for."""
    random = np.random.default_rng([12, n_broods, n, loci])
    told, truth, looked = [], [], 0
    for _ in range(surveys):
        mother, father = PARENTS[kind]
        pairs = [(mother(loci, random), father(loci, random)) for _ in range(n_broods)]
        which = random.choice(n_broods, n, p=random.dirichlet(np.full(n_broods, 2.0)))
        one = brood_sign(np.array([child(*pairs[at], random) for at in which]))
        looked += not one.guard
        if one.found:
            sizes = np.bincount(which)
            told.append(one)
            truth.append(n * (n - 1) / (sizes * (sizes - 1)).sum())
    return told, truth, looked


def at_most(surveys: int) -> list[str]:
    lines = [
        f"{surveys} surveys a line; of those whose broods were found, the share with no more broods than the estimate "
        "times the number above.",
        "",
        "| parents | broods | n | loci | found | 1 | 1.5 | 2 | 3 |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    lowest = np.ones(4)
    for kind in PARENTS:
        for n_broods in (2, 4, 10, 25):
            for n, loci in SIZES[1:2] if n_broods != 4 else SIZES:
                told, truth, looked = of_broods(kind, n_broods, n, loci, surveys)
                start = f"| {kind} | {n_broods} | {n} | {loci} | {len(told)} of {looked} "
                if len(told) < surveys / 4:  # so few are found that their share says nothing
                    lines.append(start + "| | | | |")
                    continue
                ratio = np.array(truth) / np.array([one.n_broods for one in told], dtype=float)
                shares = np.array([(ratio <= most).mean() for most in (1, 1.5, 2, 3)])
                lowest = np.minimum(lowest, shares)
                lines.append(start + "| " + " | ".join(f"{share:.2f}" for share in shares) + " |")
                print(lines[-1], flush=True)
    return [*lines, "", f"Lowest: {', '.join(f'{share:.2f}' for share in lowest)}."]


def _line(kind: str, n_broods: int, n: int, loci: int, surveys: int) -> str:
    told, truth, looked = of_broods(kind, n_broods, n, loci, surveys)
    start = (
        f"| {kind} | {n_broods} | {n} | {loci} | {looked / surveys:.2f} | {len(told) / max(1, looked):.2f} "
    )
    if not told:
        return start + "| | | |"
    of = np.array([one.n_broods for one in told], dtype=float)
    real = np.array(truth)
    near = np.mean((of >= real / 2) & (of <= 2 * real))
    return start + f"| {np.median(real):.1f} | {np.median(of):.1f} | {near:.2f} |"


if __name__ == "__main__":
    wanted = next((int(one) for one in sys.argv[1:] if one.isdigit()), 200)
    if "--most" in sys.argv:
        save("brood_most", at_most(wanted))
    else:
        save("brood_number", main(wanted))
