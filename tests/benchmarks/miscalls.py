"""Of invented lakes read with misreadings: carriers named in a pure lake, coverage of the mean, and what is said.

    python tests/benchmarks/miscalls.py [SURVEYS] [--write]

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
    is_carrier,
    measured_rate,
    misreading_alone,
    reach_of_misreading,
    stated_rate,
)
from geneticlog.rules.intervals import mean_proportion

Table = NDArray[np.int64]
RATES = (0.0, 0.005, 0.01, 0.02)
LOCI = 38


def by_ancestry(ancestry: NDArray[np.float64], random: np.random.Generator, loci: int) -> Table:
    return random.binomial(2, np.repeat(ancestry[:, None], loci, axis=1))


def few_f1(random: np.random.Generator, n: int, loci: int) -> Table:
    return np.repeat((random.random(n) < 0.05).astype(np.int64)[:, None], loci, axis=1)


LAKES: dict[str, tuple[float, Callable[[np.random.Generator, int, int], Table]]] = {
    "pure northern": (0.0, lambda random, n, loci: np.zeros((n, loci), dtype=np.int64)),
    "trace, swarm of 1 %": (0.01, lambda random, n, loci: random.binomial(2, 0.01, (n, loci))),
    "swarm of 5 %": (0.05, lambda random, n, loci: random.binomial(2, 0.05, (n, loci))),
    "5 % F1, others northern": (0.025, few_f1),
    "mostly northern": (
        0.05,
        lambda random, n, loci: by_ancestry(
            np.where(random.random(n) < 0.8, 0.0, random.beta(1, 3, n)), random, loci
        ),
    ),
    "hybrid swarm": (0.3, lambda random, n, loci: by_ancestry(random.beta(6, 14, n), random, loci)),
    "pure Florida": (1.0, lambda random, n, loci: np.full((n, loci), 2)),
}


def misread(table: Table, rate: float, random: np.random.Generator) -> Table:
    """Return what a lab reads of true genotypes (fish, loci)."""
    lost = random.binomial(table, rate)
    gained = random.binomial(2 - table, rate)
    return table - lost + gained


def known_rate(source: str, true_rate: float, table: Table, random: np.random.Generator) -> MiscallRate:
    if source == "assumed":
        return ASSUMED_RATE
    if source == "stated":
        return stated_rate(true_rate, true_rate)
    again = [(misread(fish, true_rate, random), misread(fish, true_rate, random)) for fish in table[:5]]
    pairs = [(2 * len(a), int(np.abs(a - b).sum())) for a, b in again]
    return measured_rate(pairs) or ASSUMED_RATE


AIM = 0.94


def main(surveys: int) -> list[str]:
    lines = [
        "Carriers named among the fish of a pure northern lake (30 fish), share of fish:",
        "",
        "| loci | rate known by | 0 % | 0.5 % | 1 % | 2 % |",
        "|---|---|---|---|---|---|",
    ]
    for loci in (12, 25, 38, 73):
        for source in ("assumed", "stated", "measured"):
            cells = []
            for rate in RATES:
                random = np.random.default_rng(31)
                named = 0
                for _ in range(surveys // 10):
                    table = np.zeros((30, loci), dtype=np.int64)
                    seen = misread(table, rate, random).mean(axis=1) / 2
                    told = known_rate(source, rate, table, random)
                    named += sum(is_carrier(q, loci, told) for q in seen)
                cells.append(f"{named / (surveys // 10 * 30):.3f}")
            lines.append(f"| {loci} | {source} | {' | '.join(cells)} |")
    lines += [
        "",
        "Coverage of the mean's 95 % interval, plain / reaching as far as misreading could have moved it, its mean "
        "width, and how often the answer says that misreading alone explains the alleles; 38 loci:",
        "",
        "| lake | fish | misread | rate known by | plain | reaching | width | misreading alone |",
        "|---|---|---|---|---|---|---|---|",
    ]
    lowest: dict[str, float] = {}
    below: list[str] = []
    for lake, (truth, draw) in LAKES.items():
        for n in (8, 15, 30, 60):
            for rate in RATES:
                for source in ("assumed", "stated", "measured"):
                    random = np.random.default_rng([n, round(rate * 1000), len(lake)])
                    plain = reaching = width = alone = 0.0
                    for _ in range(surveys):
                        table = draw(random, n, LOCI)
                        q = misread(table, rate, random).mean(axis=1) / 2
                        told = known_rate(source, rate, table, random)
                        found = mean_proportion(q, LOCI)
                        assert found.low is not None
                        assert found.high is not None
                        low, high = reach_of_misreading(found.low, found.high, told.high)
                        plain += found.low <= truth <= found.high
                        reaching += low <= truth <= high
                        width += high - low
                        alone += misreading_alone(found.low, q, [LOCI] * n, told)
                    shares = [f"{one / surveys:.3f}" for one in (plain, reaching, width, alone)]
                    lowest[source] = min(lowest.get(source, 1.0), reaching / surveys)
                    if reaching / surveys < AIM:
                        below.append(
                            f"{lake}, {n} fish, {rate:.1%} misread, {source} ({reaching / surveys:.3f})"
                        )
                    lines.append(f"| {lake} | {n} | {rate:.1%} | {source} | {' | '.join(shares)} |")
    lines += ["", f"Lowest coverage: {', '.join(f'{k} {v:.3f}' for k, v in lowest.items())}."]
    lines += ["", f"Below the aim of {AIM}: {'; '.join(below) or 'no line'}."]
    if below:
        lines += [
            "Five F1 in a hundred are absent from 4.6 % of samples of 60 fish; a few misread alleles then make such a "
            "sample look like a lake with a little of everything, and no interval drawn from it reaches the truth."
        ]
    return lines


if __name__ == "__main__":
    n_surveys = next((int(one) for one in sys.argv[1:] if one.isdigit()), 1000)
    save("miscalls", main(n_surveys))
