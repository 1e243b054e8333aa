"""Does ancestry rise or fall with size, and do two groups differ: tests that shuffle fish, never alleles."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations, permutations
from math import comb

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri, stdtr

from geneticlog.rules.arguments import (
    RESAMPLES,
    Floats,
    NumberFault,
    count,
    level_of,
    listed,
    number,
    numbers,
    same_length,
    seeded,
)
from geneticlog.rules.intervals import t_quantile
from geneticlog.rules.seeds import SEED
from geneticlog.rules.statistics.estimates import Limits
from geneticlog.rules.statistics.jonckheere import exact_tails, largest_exact, statistic, statistics

EXACT_SPLITS = 100_000  # splits of two groups up to which all are looked at
CELLS = 2_000_000  # of fish counted by order, class and value at once: 50 MB


@dataclass(frozen=True, slots=True)
class Trend:
    """A trend across ordered size classes.

    statistic, expected, variance, z
        Jonckheere-Terpstra J, its mean and tie-corrected variance without a trend, and the standardised J
        (0 when nothing varies).
    p
        Two-sided, twice the smaller of the two below, at most 1.
    p_rising, p_falling
        One-sided: chance of so large (small) a J when size has nothing to do with q.
    p_rising_normal
        One-sided from z, for reference.
    method
        "exact", "9,999 random arrangements" or "nothing to compare".
    n, n_classes
        Fish, and classes that have any.
    """

    statistic: float
    expected: float
    variance: float
    z: float
    p: float
    p_rising: float
    p_falling: float
    p_rising_normal: float
    method: str
    n: int
    n_classes: int


def jonckheere_terpstra(
    groups: Mapping[str, ArrayLike] | Sequence[ArrayLike], n_resamples: int = RESAMPLES, seed: int = SEED
) -> Trend:
    """Return the Jonckheere-Terpstra test for a trend of q across size classes, smallest class first.

    ``J = sum over classes i < j of [count(b > a) + 0.5 count(b = a)]``; variance corrected for ties. The p is
    exact where all arrangements can be counted, else from seeded random arrangements as (b + 1)/(m + 1).

    groups
        Size class -> (fish,) q, in order of size, or the lists alone. Empty classes are passed over; with fewer
        than two classes left there is nothing to compare and p is 1.
    raises
        NumberFault for a value that is not a finite number, or no fish at all.
    source
        Hollander M, Wolfe DA, Chicken E, Nonparametric Statistical Methods, 3rd ed., ch. 6.
    """
    lists = list(groups.values()) if isinstance(groups, Mapping) else listed(groups, "trend")
    samples = [numbers(values, f"class {at + 1}") for at, values in enumerate(lists) if np.size(values)]
    if not samples:
        raise NumberFault("trend: no class has a fish")
    m, random = count(n_resamples, "random arrangements", least=1), seeded(seed)
    sizes = np.array([len(sample) for sample in samples])
    values = np.concatenate(samples)
    n = len(values)
    expected = (n**2 - float((sizes**2).sum())) / 4
    observed, variance = statistic(values, sizes), _variance(values, sizes)
    if len(samples) < 2 or variance <= 0:
        return Trend(
            observed,
            expected,
            max(variance, 0.0),
            0.0,
            1.0,
            1.0,
            1.0,
            0.5,
            "nothing to compare",
            n,
            len(samples),
        )
    z = (observed - expected) / variance**0.5
    if largest_exact(values, sizes):
        rising, falling = exact_tails(values, sizes, observed)
        method = "exact"
    else:
        rising, falling = _random_tails(values, sizes, observed, m, random)
        method = f"{m:,} random arrangements"
    return Trend(
        observed, expected, variance, z, min(1.0, 2 * min(rising, falling)), rising, falling, float(ndtr(-z)),
        method, n, len(samples),
    )  # fmt: skip


def _variance(values: Floats, sizes: NDArray[np.int64]) -> float:
    n = float(len(values))
    k = sizes.astype(np.float64)
    t = np.unique(values, return_counts=True)[1].astype(np.float64)
    first = n * (n - 1) * (2 * n + 5) - (k * (k - 1) * (2 * k + 5)).sum() - (t * (t - 1) * (2 * t + 5)).sum()
    variance = first / 72
    if n > 2:
        second = (k * (k - 1) * (k - 2)).sum() * (t * (t - 1) * (t - 2)).sum()
        variance += second / (36 * n * (n - 1) * (n - 2))
    if n > 1:
        variance += (k * (k - 1)).sum() * (t * (t - 1)).sum() / (8 * n * (n - 1))
    return float(variance)


def _random_tails(
    values: Floats, sizes: NDArray[np.int64], observed: float, m: int, random: np.random.Generator
) -> tuple[float, float]:
    places = np.unique(values, return_inverse=True)[1]
    at_once = max(1, CELLS // (len(sizes) * (int(places.max()) + 1)))
    up = down = 0
    for start in range(0, m, at_once):
        orders = [random.permutation(places) for _ in range(min(at_once, m - start))]
        drawn = statistics(np.array(orders), sizes)
        up += int((drawn >= observed - 1e-9).sum())
        down += int((drawn <= observed + 1e-9).sum())
    return (up + 1) / (m + 1), (down + 1) / (m + 1)


@dataclass(frozen=True, slots=True)
class PermutationTest:
    """Two groups compared by shuffling which fish belongs to which.

    difference
        Mean of the first minus mean of the second.
    p
        Two-sided: share of splits whose difference is at least as far from 0.
    p_greater
        One-sided: share of splits whose difference is at least as large.
    n_splits, exact
        Splits looked at, and whether these are all there are.
    """

    difference: float
    p: float
    p_greater: float
    n_splits: int
    exact: bool


def permutation_difference(
    a: ArrayLike, b: ArrayLike, n_resamples: int = RESAMPLES, seed: int = SEED
) -> PermutationTest:
    """Return the permutation test of the difference of two means, fish as the unit that is shuffled.

    Exact when there are at most 100,000 splits, else n_resamples seeded random ones with p = (b + 1)/(m + 1).

    a, b
        (fish,) values of each group, in any unit.
    raises
        NumberFault for an empty group or a value that is not a finite number.
    source
        Efron B, Tibshirani R (1993) An Introduction to the Bootstrap, ch. 15.
    """
    first, second = numbers(a, "first group"), numbers(b, "second group")
    m, random = count(n_resamples, "random splits", least=1), seeded(seed)
    values = np.concatenate([first, second])
    k, n, total = len(first), len(first) + len(second), float(values.sum())
    observed = float(first.mean() - second.mean())
    slack = 1e-10 * max(1.0, float(np.abs(values).max()))
    if comb(n, k) <= EXACT_SPLITS:
        # The smaller group is drawn: its sum tells the difference for both.
        drawn = min(k, n - k)
        chosen = np.fromiter(
            (at for split in combinations(range(n), drawn) for at in split), dtype=np.intp
        ).reshape(-1, drawn)
        sums = values[chosen].sum(axis=1)
        sums = sums if drawn == k else total - sums
        differences = sums / k - (total - sums) / (n - k)
        far = float((np.abs(differences) >= abs(observed) - slack).mean())
        return PermutationTest(
            observed, far, float((differences >= observed - slack).mean()), len(differences), True
        )
    far_n = greater_n = 0
    rows = max(1, 2_000_000 // n)  # bounds the memory of one draw
    for start in range(0, m, rows):
        shuffled = random.permuted(np.tile(values, (min(rows, m - start), 1)), axis=1)
        sums = shuffled[:, :k].sum(axis=1)
        differences = sums / k - (total - sums) / (n - k)
        far_n += int((np.abs(differences) >= abs(observed) - slack).sum())
        greater_n += int((differences >= observed - slack).sum())
    return PermutationTest(observed, (far_n + 1) / (m + 1), (greater_n + 1) / (m + 1), m, False)


@dataclass(frozen=True, slots=True)
class Welch:
    """Welch's t for two groups: difference of means, its t limits, t, df and two-sided p."""

    difference: float
    low: float
    high: float
    t: float
    df: float
    p: float


def welch(a: ArrayLike, b: ArrayLike, level: float = 0.95) -> Welch | None:
    """Return Welch's t test for reference beside the permutation; None where a group has fewer than two
    fish or nothing varies.

    raises
        NumberFault for an empty group or a value that is not a finite number.
    source
        Welch BL (1947) Biometrika 34:28-35.
    """
    first, second = numbers(a, "first group"), numbers(b, "second group")
    level_of(level)
    if len(first) < 2 or len(second) < 2:
        return None
    parts = np.array([first.var(ddof=1) / len(first), second.var(ddof=1) / len(second)])
    if parts.sum() == 0:
        return None
    d, se = float(first.mean() - second.mean()), float(parts.sum() ** 0.5)
    df = float(parts.sum() ** 2 / (parts**2 / np.array([len(first) - 1, len(second) - 1])).sum())
    reach = float(t_quantile(np.array([df]), level)[0]) * se
    return Welch(d, d - reach, d + reach, d / se, df, float(2 * stdtr(df, -abs(d / se))))


EXACT_RANKS = 8  # fish up to which all orders are looked at: 40,320


@dataclass(frozen=True, slots=True)
class RankCorrelation:
    """A rank correlation from -1 to 1 with its two-sided p; both None where nothing varies or n < 3.

    limits
        By Fisher's z with the variance of Bonett and Wright; None below four fish and where all fish are in order.
    method
        Where p is from: "exact" over all orders of the fish, "Student's t", or "nothing to compare".
    """

    correlation: float | None
    p: float | None
    n: int
    limits: Limits | None = None
    method: str = "nothing to compare"


def ranks(values: Floats) -> Floats:
    """Return the ranks from 1, ties sharing their mean rank.

    values
        (fish,) finite numbers.
    raises
        NumberFault for an empty list or a value that is not a finite number.
    """
    _, where, counts = np.unique(numbers(values, "values"), return_inverse=True, return_counts=True)
    last = counts.cumsum()
    return np.asarray((last - (counts - 1) / 2)[where.ravel()], dtype=np.float64)


def spearman(
    x: ArrayLike, y: ArrayLike, level: float = 0.95, exact_up_to: int = EXACT_RANKS
) -> RankCorrelation:
    """Return Spearman's rank correlation, as of q on total length, with limits and p.

    p is exact over all orders of up to ``exact_up_to`` fish, else from Student's t on n - 2 df, which is too small
    where few fish are nearly in order.

    x, y
        (fish,) each.
    raises
        NumberFault for lists of different lengths, an empty list, or a value that is not a finite number.
    source
        As scipy.stats.spearmanr; limits: Bonett DG, Wright TA (2000) Psychometrika 65:23-28.
    """
    first, second = numbers(x, "x"), numbers(y, "y")
    same_length(first, second, "x and y")
    level_of(level)
    count(exact_up_to, "fish up to which p is exact")
    n = len(first)
    if n < 3 or np.ptp(first) == 0 or np.ptp(second) == 0:
        return RankCorrelation(None, None, n)
    by_x, by_y = ranks(first), ranks(second)
    rho = float(np.clip(np.corrcoef(by_x, by_y)[0, 1], -1, 1))
    limits = rank_limits(rho, n, level)
    if n <= min(exact_up_to, EXACT_RANKS):
        drawn = by_y[_orders(n)] @ (by_x - by_x.mean())
        found = float(by_y @ (by_x - by_x.mean()))
        p = float((np.abs(drawn) >= abs(found) - 1e-9).mean())
        return RankCorrelation(rho, p, n, limits, "exact")
    if abs(rho) > 1 - 1e-15:
        return RankCorrelation(rho, 0.0, n, limits, "Student's t")
    t = rho * ((n - 2) / (1 - rho**2)) ** 0.5
    return RankCorrelation(rho, float(2 * stdtr(n - 2, -abs(t))), n, limits, "Student's t")


@cache
def _orders(n: int) -> NDArray[np.int8]:
    return np.array(list(permutations(range(n))), dtype=np.int8)


def rank_limits(correlation: float, n: int, level: float = 0.95) -> Limits | None:
    """Return limits of Spearman's correlation; None below four fish, or where it is 1 or -1 and has none.

    ``tanh(atanh(r) +/- z sqrt((1 + r**2/2) / (n - 3)))``.

    correlation, n
        r, -1 to 1, of n fish.
    raises
        NumberFault for a correlation outside -1 to 1, a number of fish that is not whole, or a level outside 0 to 1.
    source
        Bonett DG, Wright TA (2000) Psychometrika 65:23-28.
    """
    level, n = level_of(level), count(n, "fish")
    if abs(number(correlation, "rank correlation")) > 1 + 1e-12:
        raise NumberFault(f"rank correlation: {correlation!r} is outside -1 to 1")
    if n < 4 or abs(correlation) > 1 - 1e-12:
        return None
    reach = float(ndtri((1 + level) / 2)) * ((1 + correlation**2 / 2) / (n - 3)) ** 0.5
    middle = float(np.arctanh(correlation))
    return Limits(float(np.tanh(middle - reach)), float(np.tanh(middle + reach)))


def kendall_tau_b(x: ArrayLike, y: ArrayLike) -> float | None:
    """Return Kendall's tau-b; None where nothing varies. Arguments and faults as for `spearman`."""
    first, second = numbers(x, "x"), numbers(y, "y")
    same_length(first, second, "x and y")
    signs = [np.sign(v[:, None] - v[None, :]) for v in (first, second)]
    below = float((signs[0] ** 2).sum() * (signs[1] ** 2).sum()) ** 0.5
    return float((signs[0] * signs[1]).sum()) / below if below else None
