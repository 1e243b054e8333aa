"""Coverage of the change per year of a lake over several surveys, and how often it is seen.

    python tests/benchmarks/through_years.py [LAKES] [--write]

Invented lakes of three size classes, 10 fish typed of each, 100 caught; the mean drifts by the rate given, beside which
surveys scatter by the standard deviation given (weather, schools). Variances as the intervals imply. Then the same
with a stocking half-way that lifts the mean by .1, and a step of the line at it. Seeded.
"""

from __future__ import annotations

import sys

import numpy as np
from results import save

from geneticlog.rules.statistics.sums import sums_of
from geneticlog.rules.statistics.through_years import yearly_change
from geneticlog.rules.strata import catch_weighted_many

NAMES, SHARES = ("young", "middle", "old"), (0.5, 0.35, 0.15)


Lake = tuple[list[float], list[float], list[float]]


def some_lakes(
    lakes: int, n: int, slope: float, scatter: float, random: np.random.Generator, step: float = 0.0
) -> list[Lake]:
    """Years, means and variances of the n surveys of each lake."""
    years = [
        np.sort(random.choice(np.arange(0, 3 * n), n, replace=False)).astype(float) for _ in range(lakes)
    ]
    asked = []
    for of_lake in years:
        for year in of_lake:
            p = 0.3 + slope * (year - of_lake.mean()) + step * (year > _middle(of_lake))
            p = float(np.clip(p + scatter * random.standard_normal(), 0.02, 0.98))
            groups = {name: random.binomial(76, random.beta(6 * p, 6 * (1 - p), 10)) / 76 for name in NAMES}
            caught = {name: max(10, round(100 * share)) for name, share in zip(NAMES, SHARES, strict=True)}
            asked.append(({name: sums_of(q, 38) for name, q in groups.items()}, caught))
    told = iter(catch_weighted_many(asked))
    found: list[Lake] = []
    for of_lake in years:
        means, variances = [], []
        for one in [next(told) for _ in of_lake]:
            assert one.mean is not None
            assert one.low is not None
            assert one.high is not None
            means.append(one.mean)
            variances.append(((one.high - one.low) / (2 * 1.959964)) ** 2)
        found.append((list(of_lake), means, variances))
    return found


def _middle(years: np.ndarray) -> float:
    at = len(years) // 2
    return float(years[at - 1] + years[at]) / 2


def with_a_step(lakes: int) -> list[str]:
    lines = [
        "",
        "With a step of .1 at a stocking half-way:",
        "",
        "| surveys | scatter of surveys | step covered | step seen | change a year covered | width of the step |",
        "|---|---|---|---|---|---|",
    ]
    for n in (5, 6, 10):
        for scatter in (0.0, 0.03, 0.06):
            random = np.random.default_rng([n, round(100 * scatter), 7])
            told = []
            for years, means, variances in some_lakes(lakes, n, 0.01, scatter, random, 0.1):
                change = yearly_change(years, means, variances, {"stocking": _middle(np.array(years))})
                (_, _, low, high, _), *_ = change.steps
                told.append((low <= 0.1 <= high, low > 0, change.low <= 0.01 <= change.high, high - low))
            lines.append(
                f"| {n} | {scatter:.2f} | " + " | ".join(f"{one:.3f}" for one in np.mean(told, axis=0)) + " |"
            )
    return lines


def main(lakes: int) -> list[str]:
    lines = [
        "| surveys | change a year | scatter of surveys | coverage | leaves 0 out | mean width a year |",
        "|---|---|---|---|---|---|",
    ]
    lowest = 1.0
    for n in (3, 4, 6, 10):
        for slope in (0.0, 0.02):
            for scatter in (0.0, 0.03, 0.06):
                random = np.random.default_rng([n, round(100 * slope), round(100 * scatter)])
                held = seen = width = 0.0
                for lake in some_lakes(lakes, n, slope, scatter, random):
                    told = yearly_change(*lake)
                    held += told.low <= slope <= told.high
                    seen += told.low > 0 or told.high < 0
                    width += told.high - told.low
                lowest = min(lowest, held / lakes)
                lines.append(
                    f"| {n} | {slope:.2f} | {scatter:.2f} | {held / lakes:.3f} | {seen / lakes:.3f} |"
                    f" {width / lakes:.3f} |"
                )
    return [*lines, "", f"Lowest coverage: {lowest:.3f}.", *with_a_step(lakes)]


if __name__ == "__main__":
    save("through_years", main(next((int(one) for one in sys.argv[1:] if one.isdigit()), 1000)))
