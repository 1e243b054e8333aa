"""What a number of fish can be expected to show: the intervals in use, over surveys drawn from the lake's own fish."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np

from geneticlog.rules.arguments import by_name, count, level_of, number
from geneticlog.rules.genetics.misread_mean import Typed, reach_of_misreading, reaches_of_misreading
from geneticlog.rules.intervals import GUARD_FISH, t_quantile
from geneticlog.rules.plan.likely_fish import LikelyFish, drawn, moved
from geneticlog.rules.seeds import EARLIER, LATER
from geneticlog.rules.statistics.contrast import Table, statistic
from geneticlog.rules.statistics.strata_limits import Strata, strata_limits
from geneticlog.rules.statistics.sums import Sums

SURVEYS_FOR_WIDTH, SURVEYS_FOR_CHANCE = 200, 500  # standard error of a chance of .8: .018
KEPT_TRIALS = 2_000  # a plan asks for some numbers twice, and a report for the plan of the report before it


def shares_of(catch: Mapping[str, float]) -> dict[str, float]:
    """Return the share of each size class in a catch, of those with fish; empty without."""
    fish = {name: number(n, f"catch of {name}", least=0) for name, n in by_name(catch, "catch").items()}
    caught = {name: n for name, n in fish.items() if n > 0}
    total = sum(caught.values())
    return {name: n / total for name, n in caught.items()}


def likely_half_width(
    swabs: Mapping[str, int],
    catch: Mapping[str, float],
    fish: Mapping[str, LikelyFish],
    miscall_rate: float = 0.0,
    level: float = 0.95,
) -> float | None:
    """Return the mean half-width of the catch-weighted interval of the reports over surveys drawn from these fish.

    swabs
        Size class -> fish to be typed.
    catch
        Size class -> likely catch of one survey; it is taken as many times as the swabs need.
    miscall_rate
        Upper limit of the rate of misread alleles; the interval reaches as far (`reach_of_misreading`).
    returns
        None where a class with a catch gets no swab (there is then no mean of the lake), or none gets two.
    """
    level_of(level)
    swabs = {name: count(n, f"swabs of {name}") for name, n in by_name(swabs, "swabs").items()}
    w = shares_of(catch)
    if not w or any(not swabs.get(name) for name in w) or max(swabs[name] for name in w) < 2:
        return None
    return _half_width(tuple((name, swabs[name], catch[name], fish[name]) for name in w), miscall_rate, level)


@lru_cache(maxsize=KEPT_TRIALS)
def _half_width(
    classes: tuple[tuple[str, int, float, LikelyFish], ...], miscall_rate: float, level: float
) -> float:
    """Return the mean half-width over surveys drawn; a class has its name, swabs, likely catch and fish."""
    swabs = {name: n for name, n, _, _ in classes}
    catch = {name: n for name, _, n, _ in classes}
    fish = {name: one for name, _, _, one in classes}
    w = shares_of(catch)
    n_catch = _measured(swabs, catch, w)
    table = drawn(fish, swabs, w, n_catch, SURVEYS_FOR_WIDTH)
    means = table.q1 / table.n
    mean = np.clip((table.w * means).sum(axis=0), 0.0, 1.0)
    between = (table.w * (means - mean) ** 2).sum(axis=0) / table.n_catch
    strata = Strata(
        table.n, table.q1, table.q2, table.least, table.most, table.w, table.w**2 / table.n, between,
        np.full(mean.size, np.nan),
    )  # fmt: skip
    low, high = strata_limits(strata, mean, level, GUARD_FISH)
    reached = np.array(reaches_of_misreading(low, high, miscall_rate))
    for at in np.flatnonzero(
        (low <= miscall_rate) | (high >= 1 - miscall_rate)
    ).tolist():  # perhaps fish of one kind
        reached[:, at] = reach_of_misreading(
            float(low[at]), float(high[at]), miscall_rate, _typed(strata, at), level
        )
    return float(np.mean(reached[1] - reached[0]) / 2)


def _typed(strata: Strata, at: int) -> Typed:
    """Return the fish of one survey drawn; how many alleles each was read at is not known."""
    n, q1, q2 = (float(rows[:, at].sum()) for rows in (strata.n, strata.q1, strata.q2))
    sums = Sums(int(n), q1, q2, None, float(strata.least[:, at].min()), float(strata.most[:, at].max()))
    return Typed(sums, float(1 / strata.g[:, at].sum()))


def _measured(swabs: Mapping[str, int], catch: Mapping[str, float], w: Mapping[str, float]) -> float:
    """Return the fish measured where catches like this one bring the swabs."""
    times = max(1.0, *(swabs[name] / catch[name] for name in w))
    return float(sum(max(swabs[name], round(times * catch[name])) for name in w))


def chance_to_see_change(
    earlier: Mapping[str, tuple[int, LikelyFish]],
    swabs: Mapping[str, int],
    weights: Mapping[str, float],
    change: float,
    level: float = 0.95,
) -> float:
    """Return how often the interval of a change leaves 0 out on its side, where the lake changed by so much.

    Both surveys are drawn: the earlier one again with its own numbers of fish, the later one from the same fish, moved
    by the change (`moved`).

    earlier
        Size class -> fish typed in the earlier survey, and those that they are drawn from.
    swabs, weights
        Size class -> fish to be typed; its weight in both means, 1 together.
    """
    level_of(level)
    classes = tuple((name, weight, *earlier[name], swabs[name]) for name, weight in weights.items())
    return _chance_of_change(classes, change, level)


@lru_cache(maxsize=KEPT_TRIALS)
def _chance_of_change(
    classes: tuple[tuple[str, float, int, LikelyFish, int], ...], change: float, level: float
) -> float:
    """Return the chance to see a change; a class has its name, weight, earlier number and fish, and its swabs."""
    weights = {name: weight for name, weight, *_ in classes}
    fish = {name: one for name, _, _, one, _ in classes}
    swabs = {name: n for name, *_, n in classes}
    before = drawn(
        fish, {name: n for name, _, n, _, _ in classes}, weights, np.inf, SURVEYS_FOR_CHANCE, EARLIER
    )
    after = drawn(
        {name: moved(one, change) for name, one in fish.items()},
        swabs,
        weights,
        np.inf,
        SURVEYS_FOR_CHANCE,
        LATER,
    )
    return _chance(after, before, change, level)


def chance_to_see_young_and_adult(
    sides: tuple[Mapping[str, LikelyFish], Mapping[str, LikelyFish]],
    swabs: Mapping[str, int],
    catch: Mapping[str, float],
    difference: float,
    level: float = 0.95,
) -> float:
    """Return how often the interval of young minus adult leaves 0 out on its side, where they differ by so much.

    The young are drawn from their own fish, moved so that they differ from the adults by the difference.

    sides
        Young and adult: size class -> the fish that its own are drawn from.
    swabs, catch
        Size class -> fish to be typed; likely catch, by which each side is weighted.
    """
    level_of(level)
    young, adult = (
        tuple((name, swabs[name], catch[name], one) for name, one in side.items() if catch[name] > 0)
        for side in sides
    )
    return _chance_of_difference(young, adult, difference, level)


Side = tuple[
    tuple[str, int, float, LikelyFish], ...
]  # the name of each class, its swabs, likely catch and fish


@lru_cache(maxsize=KEPT_TRIALS)
def _chance_of_difference(of_young: Side, of_adult: Side, difference: float, level: float) -> float:
    every = (*of_young, *of_adult)
    swabs = {name: n for name, n, _, _ in every}
    catch = {name: n for name, _, n, _ in every}
    sides = [{name: one for name, _, _, one in side} for side in (of_young, of_adult)]
    young, adult = sides
    weights = [shares_of({name: catch[name] for name in side}) for side in sides]
    means = [
        sum(w * side[name].mean for name, w in of.items()) for side, of in zip(sides, weights, strict=True)
    ]
    by = difference - (means[0] - means[1])
    tables = [
        drawn(fish, swabs, of, _measured(swabs, catch, of), SURVEYS_FOR_CHANCE, seed)
        for fish, of, seed in (
            ({name: moved(one, by) for name, one in young.items()}, weights[0], EARLIER),
            (adult, weights[1], LATER),
        )
    ]
    return _chance(tables[0], tables[1], difference, level)


def _chance(first: Table, second: Table, truth: float, level: float) -> float:
    d, se, df = statistic(first, second)
    reach = t_quantile(np.where(np.isnan(df), 1.0, df), level) * se
    seen = np.where(truth > 0, d - reach > 0, d + reach < 0) & ~np.isnan(df)
    return float(seen.mean())
