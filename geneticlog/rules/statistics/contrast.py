"""One engine for every difference of means: its estimate, its interval and its p, from the sums of the size classes.

A change, young against adult, a class against a class and a lake against a lake are one question: by how much do two
weighted means differ. Estimate, limits and p come from one studentised statistic, so p is below 1 - level exactly
where the interval of that level leaves 0 out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.special import stdtr

from geneticlog.rules.arguments import (
    Floats,
    NumberFault,
    by_name,
    count,
    level_of,
    number,
    proportion,
)
from geneticlog.rules.intervals import NO_VARIANCE, t_quantile
from geneticlog.rules.statistics.class_table import by_class, of_class
from geneticlog.rules.statistics.clusters import Clustered
from geneticlog.rules.statistics.estimates import ONE_FISH_A_CLASS, Estimate, guard_words
from geneticlog.rules.statistics.guarded_variance import (
    guarded_variances,
    sum_over_classes,
    within_classes,
)
from geneticlog.rules.statistics.site_cells import AtSites, Weighted, over_sites
from geneticlog.rules.statistics.sums import Sums

ALL_ALIKE = "no fish differs from the others of its size class"

# Fish added at q = 0 and again at q = 1 before the variance of a class is taken: a guard for fish that are all alike,
# small enough to leave a swarm of little spread its power. Project's own choice, from the study below.
GUARD_FISH = 0.005
# Fish added at the lowest and at the highest q seen on either side before the variance of a class is taken, in all of
# one side's classes together: the fewest with a size below .065 and coverage of .94 in nine cells of ten, by
# tests/benchmarks/contrast_study.py. Project's own choice.
SPARE_FISH = 0.75


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a contrast.

    sums
        Size class -> sums of the fish with a result.
    weights
        Size class -> its weight, together 1; only classes with a weight enter, each with a fish.
    n_catch
        Fish measured, where the weights are their shares of that catch and so are a sample themselves; None where the
        weights are given.
    sites
        Where its fish were caught, where that is known of enough of them.
    """

    sums: Mapping[str, Sums]
    weights: Mapping[str, float]
    n_catch: int | None = None
    sites: AtSites | None = None

    @property
    def n(self) -> int:
        """Fish with a result in the classes that have a weight."""
        return sum(self.sums[name].n for name, weight in self.weights.items() if weight > 0)

    @property
    def mean(self) -> float:
        """Mean q over these classes, each with its weight."""
        of_class = ((self.sums[name], weight) for name, weight in self.weights.items() if weight > 0)
        return min(1.0, sum(weight * sums.sum_q / sums.n for sums, weight in of_class))


@dataclass(frozen=True, slots=True)
class Contrast:
    """First minus second.

    estimate
        The difference with its limits, -1 to 1, standard error and degrees of freedom; n counts the fish of both
        sides. No limits where a side has no class of two fish.
    p
        Two-sided; below 1 - level exactly where the limits leave 0 out. None without limits.
    n_first, n_second
        Fish with a result on either side.
    first, second
        The two sides, for what their fish could have missed.
    """

    estimate: Estimate
    p: float | None
    n_first: int
    n_second: int
    first: Side = field(repr=False)
    second: Side = field(repr=False)


def contrast(
    first: Side,
    second: Side,
    level: float = 0.95,
    *,
    guard_fish: float = GUARD_FISH,
    spare_fish: float = SPARE_FISH,
) -> Contrast:
    """Return first minus second; see `contrasts`, of which it is one."""
    return contrasts([(first, second)], level, guard_fish=guard_fish, spare_fish=spare_fish)[0]


def contrasts(
    pairs: Sequence[tuple[Side, Side]],
    level: float = 0.95,
    *,
    guard_fish: float = GUARD_FISH,
    spare_fish: float = SPARE_FISH,
) -> list[Contrast]:
    """Return first minus second of every pair, each side weighted over its size classes: a stratified Welch test.

    With weight w_h, n_h fish, mean p_h and variance v_h of class h: ``d = sum w_1h p_1h - sum w_2h p_2h``;
    ``V = sum g_h v_h`` over the classes of both sides, ``g_h = w_h^2 / n_h``, and where the weights come from a catch
    of n' fish ``sum w_h (p_h - p)^2 / n'`` besides; ``df = (sum g_h v_h)^2 / sum [(g_h v_h)^2 / (n_h - 1)]``; limits
    ``d -/+ t[df] sqrt(V)`` and p from the same t.

    v_h is the larger of two guarded variances, so that a class whose fish happen to be alike is not taken to be so:
    with guard_fish at q = 0 and at 1; and with ``spare_fish u_h g_h / sum g`` at the
    lowest and at the highest q seen on either side. u_h, from 0 to 1, is (s / 2e)^2 with e the distance of the class
    mean from the nearer of those two: about 0 in a swarm, 1 where one kind of fish stands out among another. A class of
    one fish borrows the pooled variance of the other classes of its side. With both numbers 0 and one class a side it
    is Welch's test.

    Where the fish of a side come from six sites or more, the variance within classes is that over sites (`over_sites`)
    where it is the larger, with its own degrees of freedom; of two sides of one survey that of their difference.

    Measured over simulated lakes: tests/benchmarks/results/contrasts.md.

    level
        Confidence level of the limits.
    guard_fish, spare_fish
        Fish added for the variance alone.
    returns
        One Contrast a pair, in order. Each is computed apart from the others, to the last digit.
    raises
        NumberFault for weights that do not sum to 1, a weighted class without fish, or a level outside 0 to 1.
    source
        Welch BL (1947) Biometrika 34:28-35; Satterthwaite FE (1946) Biometrics Bulletin 2:110-114; the variance of
        double sampling as in Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 12. The guards are the project's own.
    """
    level_of(level)
    number(guard_fish, "guard_fish", least=0)
    number(spare_fish, "spare_fish", least=0)
    if not pairs:
        return []
    table_a, table_b = (_table([pair[at] for pair in pairs]) for at in (0, 1))
    parts = _both(table_a, table_b, guard_fish, spare_fish)
    for at, (first, second) in enumerate(pairs):
        if first.sites is not None or second.sites is not None:
            _follow_sites(at, (first, second), parts)
    d, se, df = _difference(*parts)
    some = ~np.isnan(df)
    usable = np.where(some, df, 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.where(se > 0, np.abs(d) / se, np.where(np.abs(d) > 0, np.inf, 0.0))
    reach = t_quantile(usable, level) * se
    p = np.minimum(1.0, 2 * stdtr(usable, -t))
    alike = _all_alike((table_a, table_b))
    results = []
    for at, (first, second) in enumerate(pairs):
        n = first.n, second.n
        if not some[at]:
            words = guard_words(min(n), None, None, ONE_FISH_A_CLASS if min(n) > 1 else "")
            estimate = Estimate(float(d[at]), None, None, sum(n), guard=words, level=level)
            results.append(Contrast(estimate, None, *n, first, second))
            continue
        ends = (max(-1.0, float(d[at] - reach[at])), min(1.0, float(d[at] + reach[at])))
        words = guard_words(min(n), *ends, ALL_ALIKE if alike[at] else "")
        estimate = Estimate(
            float(d[at]), *ends, sum(n), guard=words, level=level, se=float(se[at]), df=float(df[at])
        )
        results.append(Contrast(estimate, float(p[at]), *n, first, second))
    return results


@dataclass(frozen=True, slots=True)
class Table:
    """One side of many contrasts, as arrays of (classes, contrasts); no fish and no weight where there is no class.

    n, q1, q2, least, most, w
        Fish, sums of q and of q squared, lowest and highest q, weight.
    n_catch
        (contrasts,) fish measured, infinite where the weights are given.
    """

    n: Floats
    q1: Floats
    q2: Floats
    least: Floats
    most: Floats
    w: Floats
    n_catch: Floats

    @property
    def inside(self) -> np.ndarray:
        """Where there is a class with fish and a weight."""
        return (self.n > 0) & (self.w > 0)


def statistic(
    first: Table, second: Table, guard_fish: float = GUARD_FISH, spare_fish: float = SPARE_FISH
) -> tuple[Floats, Floats, Floats]:
    """Return first minus second, its standard error and its degrees of freedom, (contrasts,) each; see `contrasts`.

    The degrees of freedom are NaN where a side has no class of two fish.
    """
    return _difference(*_both(first, second, guard_fish, spare_fish))


def _both(first: Table, second: Table, guard_fish: float, spare_fish: float) -> tuple[_Parts, _Parts]:
    sides = first, second
    low = np.minimum(*(_extreme(side.least, side.inside, np.minimum) for side in sides))
    high = np.maximum(*(_extreme(side.most, side.inside, np.maximum) for side in sides))
    side_a, side_b = (_parts(side, low, high, guard_fish, spare_fish) for side in sides)
    return side_a, side_b


def _follow_sites(at: int, sides: tuple[Side, Side], parts: tuple[_Parts, _Parts]) -> None:
    """Put the variance over sites in the place of that over single fish where it is larger."""
    first, second = (Weighted(side.sums, side.weights, side.sites) for side in sides)
    (a, b), (of_a, of_b) = parts, sides
    if of_a.sites is not None and of_b.sites is not None and of_a.sites.survey == of_b.sites.survey:
        away = Weighted(second.sums, {name: -w for name, w in second.weights.items()}, second.sites)
        joint = over_sites([first, away])
        if joint is not None and joint.variance is not None and joint.variance > a.within[at] + b.within[at]:
            _set(a, at, joint)
            b.within[at] = b.below[at] = 0.0
        return
    for side, part in ((first, a), (second, b)):
        alone = over_sites([side])
        if alone is not None and alone.variance is not None and alone.variance > part.within[at]:
            _set(part, at, alone)


def _set(part: _Parts, at: int, over: Clustered) -> None:
    assert over.variance is not None
    assert over.df is not None
    part.within[at] = over.variance
    part.below[at] = over.variance**2 / over.df


def _difference(side_a: _Parts, side_b: _Parts) -> tuple[Floats, Floats, Floats]:
    within, below = side_a.within + side_b.within, side_a.below + side_b.below
    with np.errstate(divide="ignore", invalid="ignore"):
        df = np.where(below > 0, within**2 / below, side_a.df_pooled + side_b.df_pooled)
    df[(side_a.df_pooled == 0) | (side_b.df_pooled == 0)] = np.nan
    return side_a.mean - side_b.mean, np.sqrt(within + (side_a.between + side_b.between)), df


def _table(sides: Sequence[Side]) -> Table:
    names = [_weighted_classes(side) for side in sides]
    rows = by_class(
        [
            [(*of_class(side.sums[name]), side.weights[name]) for name in classes]
            for side, classes in zip(sides, names, strict=True)
        ],
        6,
    )
    catch = np.array(
        [np.inf if side.n_catch is None else count(side.n_catch, "fish caught") for side in sides]
    )
    return Table(rows[0], rows[1], rows[2], rows[3], rows[4], rows[5], catch)


def _weighted_classes(side: Side) -> list[str]:
    if not isinstance(side, Side):
        raise NumberFault(f"{side!r} is not a side of a contrast")
    weights = by_name(side.weights, "weights")
    classes = []
    for name, weight in weights.items():
        if type(weight) is not float or not 0 <= weight <= 1:  # a portfolio has tens of thousands of them
            proportion(weight, f"weight of {name}")
        if weight > 0:
            classes.append(name)
    for name in classes:
        if name not in side.sums or not side.sums[name].n:
            raise NumberFault(f"size class {name!r} has a weight and no fish with a result")
    total = sum(weights[name] for name in classes)
    if abs(total - 1) > 1e-9:
        raise NumberFault(f"weights: they sum to {total:g} in place of 1")
    return classes


def _extreme(values: Floats, inside: np.ndarray, pick: np.ufunc) -> Floats:
    kept = np.where(inside, values, 1.0 if pick is np.minimum else 0.0)
    return np.asarray(pick.reduce(kept, axis=0), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class _Parts:
    mean: Floats
    within: Floats
    below: Floats
    between: Floats
    df_pooled: Floats


def _parts(side: Table, low: Floats, high: Floats, guard_fish: float, spare_fish: float) -> _Parts:
    """Return mean, within-class variance, the divisor of its degrees of freedom, and between-class variance."""
    n = np.where(side.inside, side.n, 1.0)
    g = np.where(side.inside, side.w**2 / n, 0.0)
    part = g / np.maximum(sum_over_classes(g), NO_VARIANCE)
    own = guarded_variances(n, side.q1, side.q2, (low, high), guard_fish, spare_fish * part)
    within, below, df_pooled = within_classes(n, g, own)
    p = side.q1 / n
    mean = sum_over_classes(side.w * p)
    return _Parts(mean, within, below, sum_over_classes(side.w * (p - mean) ** 2) / side.n_catch, df_pooled)


def _all_alike(sides: Sequence[Table]) -> np.ndarray:
    """Return for each pair whether no fish of either side differs from the others of its class."""
    alike = np.ones(sides[0].w.shape[1], dtype=bool)
    for side in sides:
        over = side.q2 - side.q1**2 / np.where(side.inside, side.n, 1.0)
        alike &= (over < NO_VARIANCE * np.maximum(side.n, 1)).all(axis=0)
    return alike
