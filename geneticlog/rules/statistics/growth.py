"""Is ancestry tied to condition or length here? An association within size classes, never a cause."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtr

from geneticlog.rules.arguments import (
    Floats,
    NumberFault,
    by_name,
    level_of,
    listed,
    numbers,
    proportions,
    same_length,
)
from geneticlog.rules.intervals import t_quantile
from geneticlog.rules.statistics.estimates import LEAST_TO_READ, TOO_FEW, Limits
from geneticlog.rules.trend import spearman

CAUTION = "An association, never a cause: size, age, year class, stocking history and gear all travel with ancestry."
# Maceina MJ, Murphy BR (1988) Transactions of the American Fisheries Society 117:232-237 (abstract).
SMALL_FLORIDA_CAUTION = (
    "In Aquilla Lake, Texas, small Florida bass (101 to 300 mm) had a lower relative weight than northern ones and"
    " larger fish (301 to 500 mm) did not differ (Maceina & Murphy 1988): a low relative weight of small"
    " Florida-type fish is not by itself poor condition. Florida bass and crosses have no standard weight of their own."
)


@dataclass(frozen=True, slots=True)
class Association:
    """How a measure goes with q.

    slope, limits, p
        Change of the measure, in its unit, from all northern to all Florida (q 0 to 1), by least squares, with t
        limits; None where q or the measure does not vary or fewer than three fish
        are left.
    rank_correlation, rank_limits
        Spearman, and limits by Fisher's z with the variance of Bonett and Wright; None below four fish.
    n, guard
        Fish; "too few to read" below three degrees of freedom, in one class below five fish.
    """

    slope: float | None
    limits: Limits | None
    p: float | None
    rank_correlation: float | None
    rank_limits: Limits | None
    n: int
    guard: str


def association(q: ArrayLike, measure: ArrayLike, level: float = 0.95) -> Association:
    """Return how a measure (relative weight, or length in mm) goes with q within one size class.

    q, measure
        (fish,) each.
    raises
        NumberFault for an empty list, q outside 0 to 1, lists of different lengths, or a value that is no number.
    source
        Least squares; Bonett DG, Wright TA (2000) Psychometrika 65:23-28 for the rank correlation.
    """
    x, y = proportions(q, "q"), numbers(measure, "measure")
    same_length(x, y, "q and measure")
    return _fit(x, y, 1, level, ranks=True)


def association_over_classes(
    groups: Mapping[str, tuple[ArrayLike, ArrayLike]], level: float = 0.95
) -> Association:
    """Return the common slope within size classes: every class keeps a mean of its own.

    So the classes themselves, which differ in both length and ancestry, add nothing to the slope.

    groups
        Size class -> (q, measure) of its fish, (fish,) each; a class of one fish adds nothing.
    raises
        NumberFault as for `association`.
    source
        Least squares with an effect for each class (analysis of covariance).
    """
    xs, ys = [], []
    for name, pair in by_name(groups, "fish of the size classes").items():
        if len(listed(pair, f"q and measure of {name}")) != 2:
            raise NumberFault(f"q and measure of {name}: {len(pair)} lists; both are wanted")
        q, measure = pair
        if not np.size(q) and not np.size(measure):
            continue
        x, y = proportions(q, f"q of {name}"), numbers(measure, f"measure of {name}")
        same_length(x, y, f"q and measure of {name}")
        xs.append(x - x.mean())
        ys.append(y - y.mean())
    if not xs:
        level_of(level)
        return Association(None, None, None, None, None, 0, TOO_FEW)
    return _fit(np.concatenate(xs), np.concatenate(ys), len(xs), level, ranks=False)


def _fit(x: Floats, y: Floats, n_classes: int, level: float, *, ranks: bool) -> Association:
    n, df = len(x), len(x) - n_classes - 1
    level_of(level)
    guard = TOO_FEW if df < LEAST_TO_READ - 2 else ""  # one class: fewer fish than can be read
    rank = rank_limits = None
    if ranks and n >= 4:
        found = spearman(x, y, level, exact_up_to=0)
        rank, rank_limits = found.correlation, found.limits
    dx, dy = x - x.mean(), y - y.mean()
    sxx = float(dx @ dx)
    if df < 1 or sxx < 1e-12 or float(np.abs(dy).max()) < 1e-9:
        return Association(None, None, None, rank, rank_limits, n, guard)
    slope = float(dx @ dy) / sxx
    residual = float(((dy - slope * dx) ** 2).sum())
    se = (residual / df / sxx) ** 0.5
    reach = float(t_quantile(np.array([float(df)]), level)[0]) * se
    p = float(2 * stdtr(df, -abs(slope) / se)) if se > 0 else (0.0 if slope else 1.0)
    return Association(slope, Limits(slope - reach, slope + reach), p, rank, rank_limits, n, guard)
