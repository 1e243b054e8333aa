"""Which interval of a lake's change per year is the narrowest that holds, and how often a change is seen.

    python tests/benchmarks/through_years.py [SERIES] [--write]

First seven intervals over simulated series of 3 to 10 surveys at uneven years whose true change is 0: errors of the
surveys alike, within a factor 3, or with one survey a good deal better or worse than the others; known, or estimated
with 9 or 25 degrees of freedom; surveys scattering about the line by nothing, by one and by three times an error of
.05. Then two of them over invented lakes of three size classes, 100 caught, 10 fish typed of each or 4, 8 or 20 by
chance, with the variances that the intervals of the means imply; the mean drifts by the rate
given, beside which surveys scatter by the standard deviation given (weather, schools). Last a stocking half-way that
lifts the mean by .1, and a step of the line at it. Seeded.
"""

from __future__ import annotations

import sys
from itertools import product

import numpy as np
from results import save
from scipy.special import ndtri, stdtrit

from geneticlog.rules.arguments import Floats
from geneticlog.rules.intervals import GUARD_FISH
from geneticlog.rules.statistics.strata_limits import Strata, strata_limits
from geneticlog.rules.statistics.sums import sums_of
from geneticlog.rules.statistics.through_years import yearly_change
from geneticlog.rules.strata import catch_weighted_from_sums

ERROR = 0.05
IN_USE = "half-way, never nearer than Gauss"
Z = float(ndtri(0.975))


def _weighted(x: Floats, y: Floats, w: Floats) -> tuple[Floats, Floats, Floats]:
    """Slope, its variance at these weights and the weighted squares about the line, of (series, surveys)."""
    total = w.sum(1)
    dx, dy = x - ((w * x).sum(1) / total)[:, None], y - ((w * y).sum(1) / total)[:, None]
    sxx = (w * dx**2).sum(1)
    slope = (w * dx * dy).sum(1) / sxx
    return slope, 1 / sxx, (w * (dy - slope[:, None] * dx) ** 2).sum(1)


def _paule_mandel(x: Floats, y: Floats, v: Floats) -> Floats:
    df = x.shape[1] - 2

    def more(tau2: Floats) -> np.ndarray:
        return _weighted(x, y, 1 / (v + tau2[:, None]))[2] > df

    low, high = np.zeros(len(x)), np.full(len(x), 4 * (np.ptp(y) ** 2 + v.max()))
    some = more(low)
    for _ in range(50):
        middle = (low + high) / 2
        up = more(middle)
        low, high = np.where(up, middle, low), np.where(up, high, middle)
    return np.where(some, (low + high) / 2, 0.0)


def intervals(x: Floats, y: Floats, v: Floats) -> dict[str, tuple[Floats, Floats]]:
    """Slope and half-width of every interval, (series,) each."""
    df = x.shape[1] - 2
    t = float(stdtrit(df, 0.975))
    of_each = {}
    for name, used in (("", v), ("half-way", np.sqrt(v * v.mean(1, keepdims=True)))):
        tau2 = _paule_mandel(x, y, used)
        b, variance, squares = _weighted(x, y, 1 / (used + tau2[:, None]))
        se, factor = np.sqrt(variance), np.sqrt(squares / df)
        of_each[name or "as published"] = b, t * factor * se
        of_each[f"{name or 'as published'}, never nearer than Gauss"] = b, np.maximum(t * factor, Z) * se
        if not name:
            # with Paule-Mandel the factor is 1 where tau^2 is above 0: also "kept at 1 only where tau^2 is 0"
            of_each["factor never below 1"] = b, t * np.maximum(factor, 1.0) * se
            of_each["Gauss"] = b, Z * se
    b, variance, squares = _weighted(x, y, np.ones_like(v))
    of_each["least squares"] = b, t * np.sqrt(variance * squares / df)
    return of_each


def _series(k: int, scatter: float, errors: str, df: int, n: int) -> tuple[Floats, Floats, Floats]:
    random = np.random.default_rng([k, round(100 * scatter), len(errors), df])
    x = np.sort(random.random((n, 3 * k)).argsort(1)[:, :k], axis=1).astype(float)
    v = np.full((n, k), ERROR**2)
    one = np.arange(n), random.integers(0, k, n)
    if errors == "within a factor 3":
        v = v * np.exp(random.uniform(-np.log(3), np.log(3), (n, k)))
    elif errors == "one better":
        v *= 2
        v[one] /= 16
    elif errors == "one worse":
        v /= 2
        v[one] *= 12
    y = random.standard_normal((n, k)) * np.sqrt(v + scatter**2)
    return x, y, v * random.chisquare(df, (n, k)) / df if df else v


def which_interval(n: int) -> list[str]:
    held: dict[str, list[float]] = {}
    width: dict[str, list[float]] = {}
    cells = list(
        product(
            (3, 4, 6, 10),
            (0.0, 0.05, 0.15),
            ("alike", "within a factor 3", "one better", "one worse"),
            (0, 9, 25),
        )
    )
    for cell in cells:
        for name, (b, reach) in intervals(*_series(*cell, n)).items():
            held.setdefault(name, []).append(float((np.abs(b) <= reach).mean()))
            width.setdefault(name, []).append(float(np.median(2 * reach)))
    surveys = np.array([cell[0] for cell in cells])
    base = np.array(width["as published"])
    lines = [
        f"{len(cells)} cells of {n} series, true change 0. Width: median, of that as published; geometric mean.",
        "",
        "| interval | lowest coverage | in | .94 and more | mean, 3 surveys | 4 | 6 | 10 | width, 3 | 4 | 6 | 10 |",
        "|---|---|---|---|---|---|---|---|---|---|---|---|",
    ]
    for name, of_name in held.items():
        coverage, ratio = np.array(of_name), np.log(np.array(width[name]) / base)
        at = cells[int(coverage.argmin())]
        numbers = [f"{coverage[surveys == k].mean():.3f}" for k in (3, 4, 6, 10)]
        numbers += [f"{np.exp(ratio[surveys == k].mean()):.2f}" for k in (3, 4, 6, 10)]
        lines.append(
            f"| {name}{' (in use)' if name == IN_USE else ''} | {coverage.min():.3f} | {at[0]} surveys, scatter"
            f" {at[1]:.2f}, errors {at[2]}, {'known' if not at[3] else f'{at[3]} df'} |"
            f" {(coverage >= 0.94).mean():.2f} | {' | '.join(numbers)} |"
        )
    return lines


NAMES, SHARES = ("young", "middle", "old"), (0.5, 0.35, 0.15)
Lakes = tuple[Floats, Floats, Floats]


def some_lakes(
    lakes: int,
    n: int,
    slope: float,
    scatter: float,
    random: np.random.Generator,
    step: float = 0.0,
    typed: tuple[int, ...] = (10,),
) -> Lakes:
    """Years, means and variances, (lakes, surveys) each."""
    years = np.sort(random.random((lakes, 3 * n)).argsort(1)[:, :n], axis=1).astype(float)
    p = 0.3 + slope * (years - years.mean(1, keepdims=True)) + step * (years > _middle(years)[:, None])
    p = np.clip(p + scatter * random.standard_normal(years.shape), 0.02, 0.98).ravel()
    fish = random.choice(np.array(typed), p.size)
    inside = np.arange(max(typed))[:, None, None] < fish  # (fish, classes, surveys)
    shape = (max(typed), len(NAMES), p.size)
    q = random.binomial(76, random.beta(np.broadcast_to(6 * p, shape), 6 * (1 - p))) / 76
    caught = np.array([np.maximum(fish, round(100 * share)) for share in SHARES])
    n_caught = caught.sum(0)
    w = caught / n_caught
    q1, q2 = np.where(inside, q, 0.0).sum(0), np.where(inside, q**2, 0.0).sum(0)
    means = (w * q1 / fish).sum(0)
    strata = Strata(
        np.broadcast_to(fish, w.shape).astype(float), q1, q2, np.where(inside, q, 1.0).min(0),
        np.where(inside, q, 0.0).max(0), w, w**2 / fish, (w * (q1 / fish - means) ** 2).sum(0) / n_caught,
        76.0 * len(NAMES) * fish,
    )  # fmt: skip
    low, high = strata_limits(strata, means, 0.95, GUARD_FISH)
    _as_the_report_does(q, fish, caught, (means, low, high))
    return years, means.reshape(years.shape), (((high - low) / (2 * Z)) ** 2).reshape(years.shape)


def _as_the_report_does(q: Floats, fish: np.ndarray, caught: np.ndarray, arrays: tuple[Floats, ...]) -> None:
    """Check that the arrays are what a report gives of the first surveys."""
    for at in range(3):
        groups = {name: q[: fish[at], row, at] for row, name in enumerate(NAMES)}
        of_class = {name: int(caught[row, at]) for row, name in enumerate(NAMES)}
        one = catch_weighted_from_sums({name: sums_of(of, 38) for name, of in groups.items()}, of_class)
        assert np.allclose([one.mean, one.low, one.high], [each[at] for each in arrays], atol=1e-9)


def _middle(years: Floats) -> Floats:
    at = years.shape[1] // 2
    return np.asarray((years[:, at - 1] + years[:, at]) / 2)


def with_a_step(lakes: int) -> list[str]:
    lines = [
        "",
        f"With a step of .1 at a stocking half-way, {lakes} lakes a line:",
        "",
        "| surveys | scatter of surveys | step covered | step seen | change a year covered | width of the step |",
        "|---|---|---|---|---|---|",
    ]
    for n in (5, 6, 10):
        for scatter in (0.0, 0.03, 0.06):
            random = np.random.default_rng([n, round(100 * scatter), 7])
            told = []
            every = some_lakes(lakes, n, 0.01, scatter, random, 0.1)
            for years, means, variances, middle in zip(*every, _middle(every[0]), strict=True):
                change = yearly_change(years, means, variances, {"stocking": middle})
                (_, _, low, high, _), *_ = change.steps
                told.append((low <= 0.1 <= high, low > 0, change.low <= 0.01 <= change.high, high - low))
            lines.append(
                f"| {n} | {scatter:.2f} | " + " | ".join(f"{one:.3f}" for one in np.mean(told, axis=0)) + " |"
            )
    return lines


def over_lakes(n_lakes: int) -> list[str]:
    lines = [
        "",
        f"{n_lakes} invented lakes a line; in brackets the interval as published.",
        "",
        "| surveys | fish a class | change a year | scatter | coverage | leaves 0 out | median width a year |",
        "|---|---|---|---|---|---|---|",
    ]
    lowest = 1.0
    for n, typed, slope, scatter in product(
        (3, 4, 6, 10), ((10,), (4, 8, 20)), (0.0, 0.02), (0.0, 0.03, 0.06)
    ):
        random = np.random.default_rng([n, round(100 * slope), round(100 * scatter), len(typed)])
        lakes = some_lakes(n_lakes, n, slope, scatter, random, typed=typed)
        of_each = intervals(*lakes)
        one = yearly_change(*(of[0] for of in lakes))
        assert abs(of_each[IN_USE][1][0] - (one.high - one.low) / 2) < 1e-9 * one.high + 1e-9
        told = []
        for name in (IN_USE, "as published"):
            b, reach = of_each[name]
            told.append(
                ((np.abs(b - slope) <= reach).mean(), (np.abs(b) > reach).mean(), np.median(2 * reach))
            )
        lowest = min(lowest, float(told[0][0]))
        lines.append(
            f"| {n} | {', '.join(map(str, typed))} | {slope:.2f} | {scatter:.2f} | "
            + " | ".join(f"{mine:.3f} ({theirs:.3f})" for mine, theirs in zip(*told, strict=True))
            + " |"
        )
    return [*lines, "", f"Lowest coverage of the interval in use: {lowest:.3f}."]


def main(series: int) -> list[str]:
    return [*which_interval(series), *over_lakes(series), *with_a_step(max(series // 8, 10))]


if __name__ == "__main__":
    save("through_years", main(next((int(one) for one in sys.argv[1:] if one.isdigit()), 4000)))
