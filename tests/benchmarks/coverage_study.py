"""How often 95 % intervals hold the truth: ours and what others use, over invented lakes, sample sizes and panels.

Run: python tests/benchmarks/coverage_study.py [surveys per cell] [bootstrap surveys per cell]
With 0 bootstrap surveys only the catch-weighted part is run.
Prints Markdown tables (those in DEVELOPERS.md). Everything is vectorised and seeded.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import numpy as np
from scipy.special import ndtr, ndtri, stdtrit

from geneticlog.rules.intervals import GUARD_FISH, mean_from_sums_many, unseen_share
from geneticlog.rules.statistics.sums import NO_SUMS, Sums
from geneticlog.rules.strata import catch_weighted_from_sums

Random = np.random.Generator
N_FISH = (4, 6, 8, 10, 15, 20, 30, 60)
N_LOCI = (12, 35, 73)


def from_ancestry(draw: Callable[[Random, tuple[int, int]], np.ndarray]) -> Callable:
    """Alleles of a fish are binomial given its ancestry."""
    return lambda random, shape, loci: random.binomial(2 * loci, draw(random, shape)) / (2 * loci)


def mixed(random: Random, shape: tuple[int, int], pure: float, a: float, b: float) -> np.ndarray:
    return np.where(random.random(shape) < pure, 0.0, random.beta(a, b, shape))


def crosses(random: Random, shape: tuple[int, int], loci: int) -> np.ndarray:
    """35 % northern, 10 % Florida, 15 % F1, 15 % F2, 25 % backcross to northern, gene by gene."""
    kind = random.random(shape)
    q = np.where(kind < 0.45, np.where(kind < 0.35, 0.0, 1.0), 0.5)  # pure, and the F1: exactly half
    q = np.where((kind >= 0.60) & (kind < 0.75), random.binomial(2 * loci, 0.5, shape) / (2 * loci), q)
    return np.where(kind >= 0.75, random.binomial(loci, 0.5, shape) / (2 * loci), q)


# name: (how a fish is drawn, true mean, share of the smallest distinct kind of fish or None)
LAKES = {
    "hybrid swarm": (from_ancestry(lambda r, s: r.beta(6, 14, s)), 0.3, None),
    "mostly northern": (from_ancestry(lambda r, s: mixed(r, s, 0.8, 1, 3)), 0.05, 0.2),
    "mostly Florida": (from_ancestry(lambda r, s: 1 - mixed(r, s, 0.85, 1, 3)), 0.9625, 0.15),
    "rare carriers": (from_ancestry(lambda r, s: 0.5 * (r.random(s) < 0.05)), 0.025, 0.05),
    "bimodal": (from_ancestry(lambda r, s: np.where(r.random(s) < 0.5, 0.02, 0.97)), 0.495, 0.5),
    "mixed classes": (crosses, 0.10 + 0.15 / 2 + 0.15 / 2 + 0.25 / 4, 0.1),
    "long tail": (from_ancestry(lambda r, s: r.beta(0.25, 2.5, s)), 0.25 / 2.75, None),
    "small group": (
        from_ancestry(lambda r, s: np.where(r.random(s) < 0.12, 1.0, r.beta(2, 98, s))),
        0.12 + 0.88 * 0.02,
        0.12,
    ),
}
METHODS = ("guarded", "Korn-Graubard", "alleles", "t", "percentile", "BCa")


def score(low: np.ndarray, high: np.ndarray, truth: float) -> tuple[float, float]:
    """Share that hold the truth (an undefined interval is the point it stands on), and mean width."""
    return float(((low <= truth + 1e-12) & (high >= truth - 1e-12)).mean()), float((high - low).mean())


def bootstraps(
    q: np.ndarray, random: Random, resamples: int = 999
) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    n_surveys, n = q.shape
    drawn = np.empty((n_surveys, resamples))
    for at in range(n_surveys):
        drawn[at] = q[at][random.integers(0, n, (resamples, n))].mean(axis=1)
    drawn.sort(axis=1)
    mean = q.mean(axis=1)
    below = np.clip(
        (drawn < mean[:, None] - 1e-12).mean(axis=1), 1 / (resamples + 1), 1 - 1 / (resamples + 1)
    )
    z0 = ndtri(below)
    d = (q - mean[:, None]) / (n - 1)
    spread = (d**2).sum(axis=1)
    a = np.divide((d**3).sum(axis=1), 6 * spread**1.5, out=np.zeros(n_surveys), where=spread > 0)
    found = {}
    for name in ("percentile", "BCa"):
        ends = []
        for z in ndtri([0.025, 0.975]):
            share = np.full(n_surveys, ndtr(z))
            if name == "BCa":
                share = ndtr(z0 + (z0 + z) / (1 - a * (z0 + z)))
            at = np.clip(np.round(share * (resamples - 1)).astype(int), 0, resamples - 1)
            ends.append(drawn[np.arange(n_surveys), at])
        found[name] = (ends[0], ends[1])
    return found


def cell(draw: Callable, truth: float, n: int, loci: int, surveys: int, few: int, seed: int) -> dict:
    random = np.random.default_rng(seed)
    q = draw(random, (surveys, n), loci)
    fish, sums, squares = np.full(surveys, n), q.sum(axis=1), (q**2).sum(axis=1)
    alleles = 2.0 * loci * fish
    found = {}
    for name, guard in (("guarded", 0.02), ("Korn-Graubard", 0.0)):
        ours = mean_from_sums_many(fish, sums, squares, alleles, guard_fish=guard)
        found[name] = score(ours.low, ours.high, truth)
    p, s = q.mean(axis=1), q.std(axis=1, ddof=1)
    wald = 1.959964 * np.sqrt(p * (1 - p) / alleles)
    reach = stdtrit(n - 1, 0.975) * s / n**0.5
    found["alleles"], found["t"] = score(p - wald, p + wald, truth), score(p - reach, p + reach, truth)
    for name, (low, high) in bootstraps(q[:few], random).items():
        found[name] = score(low, high, truth)
    return found


def means(surveys: int, few: int) -> None:
    print(f"\n{surveys:,} surveys a cell ({few:,} for the bootstraps); coverage / mean width.\n")
    heading = [
        "lake",
        "n",
        "unseen",
        *(f"guarded, {loci} loci" for loci in N_LOCI),
        *(f"{m}, 35" for m in METHODS[1:]),
    ]
    print("| " + " | ".join(heading) + " |")
    print("|" + "---|" * len(heading))
    lowest: dict[tuple[str, str, str], tuple[float, str]] = {}
    widths: dict[str, list[float]] = {name: [] for name in METHODS}
    for at, (lake, (draw, truth, kind)) in enumerate(LAKES.items()):
        for n in N_FISH:
            hidden = kind is not None and kind < unseen_share(n)
            said = {}
            for loci in N_LOCI:
                found = cell(draw, truth, n, loci, surveys, few, 10_000 * at + 100 * loci + n)
                for name, (held, width) in found.items():
                    said[name, loci] = f"{held:.3f} / {width:.2f}"
                    if name == "guarded" and held < 0.93:
                        said[name, loci] = f"**{said[name, loci]}**"
                    widths[name].append(width)
                    key = (
                        name,
                        "n >= 8" if n >= 8 else "n < 8",
                        "a kind can hide" if hidden else "no kind can hide",
                    )
                    if held < lowest.get(key, (2.0, ""))[0]:
                        lowest[key] = (held, f"{lake}, {loci} loci, n = {n}")
            row = [lake, str(n), f"{unseen_share(n):.3f}{'†' if hidden else ''}"]
            row += [said["guarded", loci] for loci in N_LOCI] + [said[name, 35] for name in METHODS[1:]]
            print("| " + " | ".join(row) + " |", flush=True)
    print("\n| method | fish | cells | lowest coverage | where |\n|---|---|---|---|---|")
    for key, (held, where) in sorted(
        lowest.items(), key=lambda item: (METHODS.index(item[0][0]), item[0][1:])
    ):
        print("| " + " | ".join(key) + f" | {held:.3f} | {where} |")
    print(
        "\nMean width over all cells: " + ", ".join(f"{name} {np.mean(widths[name]):.3f}" for name in METHODS)
    )


SHARES = np.array([0.45, 0.30, 0.175, 0.06, 0.015])
Weighted = tuple[np.ndarray, list[float], Callable[[Random, float, int], np.ndarray]]


def f1s(r: Random, m: float, n: int) -> np.ndarray:
    return 0.5 * (r.random(n) < 2 * m)


def trace(r: Random, m: float, n: int) -> np.ndarray:
    """One fish in fifty carries the trace of a cross long past: one allele in eighty."""
    return 0.0125 * (r.random(n) < 80 * m)


def pure_some(r: Random, m: float, n: int) -> np.ndarray:
    return 1.0 * (r.random(n) < m)


# name: (share of each size class in the lake, its mean, how a fish of it is drawn)
WEIGHTED: dict[str, Weighted] = {
    "size gradient, swarm": (
        SHARES,
        [0.16, 0.27, 0.39, 0.48, 0.65],
        lambda r, m, n: r.beta(20 * m, 20 * (1 - m), n),
    ),
    "no gradient, swarm": (SHARES, [0.3] * 5, lambda r, m, n: r.beta(6, 14, n)),
    "mostly northern": (SHARES, [0.05] * 5, lambda r, m, n: mixed(r, (n, 1), 0.8, 1, 3)[:, 0]),
    "rare carriers": (SHARES, [0.025] * 5, f1s),
    "stocked young": (SHARES, [0.30, 0.15, 0.05, 0.02, 0.02], f1s),
    "old Florida giants": (SHARES, [0.02, 0.05, 0.2, 0.6, 0.9], pure_some),
    "bimodal": (SHARES, [0.495] * 5, lambda r, m, n: np.where(r.random(n) < 0.5, 0.02, 0.97)),
    "long tail": (SHARES, [0.25 / 2.75] * 5, lambda r, m, n: r.beta(0.25, 2.5, n)),
    "trace, 1 in 50": (SHARES, [0.00025] * 5, trace),
}


def two_kinds(r: Random, m: float, n: int) -> np.ndarray:
    """Young fish northern or Florida, all pure; adults nearly Florida."""
    return 1.0 * (r.random(n) < m) if m < 0.6 else r.beta(98, 2, n)


# Two groups, young and adult.
TWO = np.array([0.6, 0.4])
TWO_GROUPS: dict[str, Weighted] = {
    "two groups, trace": (TWO, [0.00025] * 2, trace),
    "two groups, F1, 1 in 50": (TWO, [0.01] * 2, f1s),
    "two groups, pure, 1 in 50": (TWO, [0.02] * 2, pure_some),
    "two groups, mostly northern": (TWO, [0.05] * 2, WEIGHTED["mostly northern"][2]),
    "two groups, stocked young": (TWO, [0.15, 0.02], f1s),
    "two groups, old Florida": (TWO, [0.05, 0.4], pure_some),
    "two groups, swarm": (TWO, [0.3] * 2, WEIGHTED["no gradient, swarm"][2]),
    "two kinds, young a tenth Florida": (TWO, [0.1, 0.98], two_kinds),
    "two kinds, young a fifth Florida": (TWO, [0.2, 0.98], two_kinds),
    "two kinds, young 30 % Florida": (TWO, [0.3, 0.98], two_kinds),
}
ONE = np.array([1.0])
ONE_CLASS: dict[str, Weighted] = {
    "one class, trace": (ONE, [0.00025], trace),
    "one class, mostly northern": (ONE, [0.05], WEIGHTED["mostly northern"][2]),
    "one class, a tenth Florida": (ONE, [0.1], pure_some),
    "one class, fish nearly alike": (ONE, [0.1], lambda r, m, n: r.beta(400 * m, 400 * (1 - m), n)),
    "one class, swarm": (ONE, [0.3], WEIGHTED["no gradient, swarm"][2]),
}


def weighted(lakes: dict[str, Weighted], surveys: int, catch: int, per_class: int, loci: int = 35) -> None:
    for at, (lake, (shares, class_means, draw)) in enumerate(lakes.items()):
        random = np.random.default_rng(777 + at + 13 * catch + per_class)
        truth = float(shares @ np.array(class_means))
        held: dict[str, list[bool]] = {"guarded": [], "plain": [], "unweighted": []}
        widths: dict[str, list[float]] = {"guarded": [], "plain": [], "unweighted": []}
        for _ in range(surveys):
            caught = random.multinomial(catch, shares)
            sums, n_caught = {}, {}
            for name, n, mean in zip("abcde", caught, class_means, strict=False):
                if n:
                    q = random.binomial(2 * loci, draw(random, mean, min(per_class, n))) / (2 * loci)
                    sums[name] = Sums(len(q), float(q.sum()), float((q**2).sum()), 2.0 * loci * len(q))
                    n_caught[name] = int(n)
            found = {
                "guarded": catch_weighted_from_sums(sums, n_caught, guard_fish=GUARD_FISH),
                "plain": catch_weighted_from_sums(sums, n_caught, guard_fish=0.0),
                "unweighted": sum(sums.values(), NO_SUMS).estimate(),
            }
            for form, one in found.items():
                if one.low is not None and one.high is not None:
                    held[form].append(one.low <= truth <= one.high)
                    widths[form].append(one.high - one.low)
        said = [f"{np.mean(held[form]):.3f} / {np.mean(widths[form]):.3f}" for form in held]
        print(f"| {lake} | {catch} | {per_class} | " + " | ".join(said) + " |", flush=True)


def all_weighted(surveys: int) -> None:
    print("\n| lake | caught | a class | catch-weighted | without its guard | swabbed fish unweighted |")
    print("|---|---|---|---|---|---|")
    for caught, per_class in ((60, 8), (200, 8), (1000, 8), (200, 5), (1000, 5), (200, 12), (1000, 12)):
        weighted(WEIGHTED, surveys, caught, per_class)
    # 8 and 16 caught: every fish is typed, and the sample weights itself.
    for caught, per_class in (
        (8, 8),
        (16, 16),
        (60, 4),
        (1000, 4),
        (1000, 5),
        (60, 8),
        (1000, 8),
        (1000, 12),
    ):
        weighted(TWO_GROUPS, surveys, caught, per_class)
    for per_class in (4, 5, 8, 12):
        weighted(ONE_CLASS, surveys, 200, per_class)


if __name__ == "__main__":
    from results import kept

    with kept("coverage"):
        many = int(sys.argv[1]) if len(sys.argv) > 1 else 5_000
        some = int(sys.argv[2]) if len(sys.argv) > 2 else 400
        started = time.perf_counter()
        if some:
            means(many, some)
        all_weighted(max(200, many // 2))
        print(f"\n{time.perf_counter() - started:.0f} s")
