"""Of invented lakes read with misreadings: carriers named in a pure lake, coverage of the mean, and what is said.

    python tests/benchmarks/miscalls.py [SURVEYS, 4000] [--write]

Every allele is misread by itself at 0, 0.5, 1 and 2 %. The panel's rate is what a person has: the assumed one (0.5 %,
up to 2 %), one stated as the true rate, or one measured from five blind duplicates of the same lake. Seeded.
``--write`` puts the tables into tests/benchmarks/results/miscalls.md.
"""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from results import save

from geneticlog.rules.genetics.miscalls import (
    ASSUMED_RATE,
    MiscallRate,
    fewest_alleles,
    measured_rate,
    stated_rate,
)
from geneticlog.rules.genetics.misread_mean import Typed, misreading_alone, reach_of_misreading
from geneticlog.rules.intervals import mean_from_sums_many
from geneticlog.rules.statistics.sums import Sums

Ancestry = NDArray[np.float64]
Counts = NDArray[np.int64]
RATES = (0.0, 0.005, 0.01, 0.02)
LOCI, PAIRS = 38, 5
AIM = 0.94
SOURCES = ("assumed", "stated", "measured")


# name: (true mean q, (surveys, fish) chance of an allele at a locus of each fish; F1 are told apart by a share below 0)
F1 = -1.0
LAKES: dict[str, tuple[float, Callable[[np.random.Generator, tuple[int, int]], Ancestry]]] = {
    "pure northern": (0.0, lambda random, shape: np.zeros(shape)),
    "trace, swarm of 1 %": (0.01, lambda random, shape: np.full(shape, 0.01)),
    "swarm of 5 %": (0.05, lambda random, shape: np.full(shape, 0.05)),
    "5 % F1, others northern": (0.025, lambda random, shape: F1 * (random.random(shape) < 0.05)),
    "a tenth F1, others northern": (0.05, lambda random, shape: F1 * (random.random(shape) < 0.1)),
    "mostly northern": (
        0.05,
        lambda random, shape: np.where(random.random(shape) < 0.8, 0.0, random.beta(1, 3, shape)),
    ),
    "hybrid swarm": (0.3, lambda random, shape: random.beta(6, 14, shape)),
    "pure Florida": (1.0, lambda random, shape: np.ones(shape)),
}


def genotypes(random: np.random.Generator, ancestry: Ancestry, loci: int) -> Counts:
    """Alleles of the taxon at each locus, (..., loci)."""
    each = random.binomial(2, np.maximum(ancestry, 0.0)[..., None], (*ancestry.shape, loci))
    return np.where(ancestry[..., None] == F1, 1, each)


def misread(table: Counts, of: int, rate: float, random: np.random.Generator) -> Counts:
    """Return what a lab reads of true counts of alleles among so many."""
    return np.asarray(table - random.binomial(table, rate) + random.binomial(of - table, rate))


def known_rates(
    source: str, true_rate: float, surveys: int, differ: Counts | None, loci: int
) -> list[MiscallRate]:
    if source == "assumed":
        return [ASSUMED_RATE] * surveys
    if source == "stated":
        return [stated_rate(true_rate, true_rate)] * surveys
    assert differ is not None
    kept = {
        int(one): measured_rate([(2 * loci * PAIRS, int(one))]) or ASSUMED_RATE for one in np.unique(differ)
    }
    return [kept[int(one)] for one in differ]


def surveys_of(lake: str, n: int, rate: float, surveys: int, loci: int) -> tuple[NDArray[np.float64], Counts]:
    """q of the fish of many surveys, and alleles that differ between the duplicates of five of each."""
    random = np.random.default_rng([n, round(rate * 1000), len(lake), loci])
    ancestry = LAKES[lake][1](random, (surveys, n))
    twice = genotypes(random, ancestry[:, :PAIRS], loci)
    count = random.binomial(2 * loci, np.maximum(ancestry, 0.0))
    count = np.where(ancestry == F1, loci, count)
    count[:, :PAIRS] = twice.sum(axis=-1)
    first, second = (misread(twice, 2, rate, random) for _ in range(2))
    seen = misread(count, 2 * loci, rate, random)
    seen[:, :PAIRS] = first.sum(axis=-1)
    return seen / (2 * loci), np.abs(first - second).sum(axis=(1, 2))


def carriers(surveys: int) -> list[str]:
    lines = [
        "Carriers named among the fish of a pure northern lake (30 fish), share of fish:",
        "",
        "| loci | rate known by | 0 % | 0.5 % | 1 % | 2 % |",
        "|---|---|---|---|---|---|",
    ]
    for loci in (12, 25, 38, 73):
        for source in SOURCES:
            cells = []
            for rate in RATES:
                q, differ = surveys_of("pure northern", 30, rate, surveys, loci)
                told = known_rates(source, rate, surveys, differ, loci)
                least = np.array([fewest_alleles(loci, one.high) for one in told])
                cells.append(f"{(np.rint(2 * loci * q) >= least[:, None]).mean():.3f}")
            lines.append(f"| {loci} | {source} | {' | '.join(cells)} |")
    return lines


def one_line(lake: str, n: int, rate: float, source: str, surveys: int) -> NDArray[np.float64]:
    """Coverage of the plain interval and of the one in use, its width, and how often misreading alone explains it."""
    truth = LAKES[lake][0]
    q, differ = surveys_of(lake, n, rate, surveys, LOCI)
    q1, q2, alleles = q.sum(axis=1), (q * q).sum(axis=1), np.full(surveys, 2.0 * LOCI * n)
    plain = mean_from_sums_many(np.full(surveys, n), q1, q2, alleles)
    told = []
    for at, known in enumerate(known_rates(source, rate, surveys, differ, LOCI)):
        low, high = float(plain.low[at]), float(plain.high[at])
        sums = Sums(n, float(q1[at]), float(q2[at]), 2.0 * LOCI * n, float(q[at].min()), float(q[at].max()))
        reach = reach_of_misreading(low, high, known.high, Typed(sums, float(n)))
        told.append(
            (
                low <= truth <= high,
                reach.low <= truth <= reach.high,
                reach.high - reach.low,
                misreading_alone(low, high, sums, known.high),
            )
        )
    return np.mean(told, axis=0)


def main(surveys: int) -> list[str]:
    lines = carriers(surveys // 10)
    lines += [
        "",
        f"{surveys} surveys a line. Coverage of the mean's 95 % interval, plain / reaching as far as misreading could "
        "have moved it, its mean width, and how often the answer says that misreading alone explains the alleles; 38 "
        "loci:",
        "",
        "| lake | fish | misread | rate known by | plain | reaching | width | misreading alone |",
        "|---|---|---|---|---|---|---|---|",
    ]
    lowest: dict[str, float] = {}
    below: list[str] = []
    for lake in LAKES:
        for n in (8, 15, 30, 60):
            for rate in RATES:
                for source in SOURCES:
                    told = one_line(lake, n, rate, source, surveys)
                    held = float(told[1])
                    lowest[source] = min(lowest.get(source, 1.0), held)
                    if held < AIM:
                        below.append(f"{lake}, {n} fish, {rate:.1%} misread, {source} ({held:.3f})")
                    shares = " | ".join(f"{one:.3f}" for one in told)
                    lines.append(f"| {lake} | {n} | {rate:.1%} | {source} | {shares} |")
    lines += ["", f"Lowest coverage: {', '.join(f'{k} {v:.3f}' for k, v in lowest.items())}."]
    return [*lines, "", f"Below the aim of {AIM}: {'; '.join(below) or 'no line'}."]


if __name__ == "__main__":
    save("miscalls", main(next((int(one) for one in sys.argv[1:] if one.isdigit()), 4000)))
