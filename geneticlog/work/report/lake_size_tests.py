"""Does ancestry go with size in one survey: three tests that stand together, and are adjusted together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from geneticlog.rules.schemes import Scheme
from geneticlog.rules.statistics.contrast import Side, contrast
from geneticlog.rules.statistics.estimates import (
    LEAST_TO_READ,
    NO_FISH,
    ONE_FISH,
    TOO_FEW,
    Estimate,
    guard_words,
)
from geneticlog.rules.statistics.holm import holm_of
from geneticlog.rules.statistics.missed_kind import missed_kind
from geneticlog.rules.statistics.site_cells import AtSites, at_sites
from geneticlog.rules.statistics.sums import Sums, sums_of
from geneticlog.rules.strata import catch_weighted_from_sums
from geneticlog.rules.trend import jonckheere_terpstra, spearman
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.lake_means import loci_of, mean_of, number_of, unseen_of
from geneticlog.work.report.number_facts import Contrast, Number, RankOnLength, Slope, TrendOfSizes

ALL_OF_ONE_LENGTH, ALL_ALIKE = "all fish of one length", "all fish alike in q"
ONE_CLASS = "all results in one size class"
OF_NO_SIZE = "no fish of known size"
WEIGHTED_SIDES = "each side weighted to the catch of its own size classes"
ONE_CLASS_EACH = "one size class against another"
ALL_IN_ORDER = "all fish in order, so no interval"


@dataclass(frozen=True)
class SizeTests:
    """Young minus adult, the trend over size classes and q on length, each with its p alone and after Holm."""

    young_minus_adult: Contrast
    trend: TrendOfSizes
    rank_on_length: RankOnLength


def size_tests(scheme: Scheme, fish: Sequence[FishResult], n_caught: Mapping[str, int]) -> SizeTests:
    """Return the three tests of size; a test that these fish cannot feed has no p and is not counted by Holm.

    n_caught
        Size class -> fish measured, for every class of the scheme.
    """
    contrast = _contrast(*(_side(names, fish, n_caught) for names in (scheme.young, scheme.adult)))
    trend, slope = _trend(scheme, fish), _slope(scheme, fish, n_caught)
    if (
        slope.p is not None and not trend.guard
    ):  # the fish that a test of order rests on are those of the slope
        trend = replace(trend, guard=slope.guard)
    trend = replace(trend, slope=slope)
    on_length = _rank_on_length(fish)
    adjusted = holm_of([contrast.p, trend.p, on_length.p])
    return SizeTests(
        replace(contrast, p_holm=adjusted[0]),
        replace(trend, p_holm=adjusted[1]),
        replace(on_length, p_holm=adjusted[2]),
    )


@dataclass(frozen=True)
class _Side:
    """Young or adult fish: size class -> fish with a result, of classes that have one; size class -> fish caught."""

    fish: Mapping[str, Sequence[FishResult]]
    caught: Mapping[str, int]
    sites: AtSites | None  # of all fish of the survey

    @property
    def covered(self) -> float | None:
        total = sum(self.caught.values())
        return sum(self.caught[name] for name in self.fish) / total if total else None

    @property
    def weighted(self) -> Side:
        """These fish as one side of a contrast, weighted to the catch of their own size classes."""
        n_catch = sum(self.caught[name] for name in self.fish)
        return Side(self.sums, {name: self.caught[name] / n_catch for name in self.fish}, n_catch, self.sites)

    @property
    def sums(self) -> dict[str, Sums]:
        return {name: sums_of([one.q for one in group], loci_of(group)) for name, group in self.fish.items()}

    def number(self, estimate: Estimate) -> Number:
        """Return a mean of these fish with what they cannot see of the catch of this side."""
        seen = [(n, len(self.fish.get(name, ()))) for name, n in self.caught.items()]
        return number_of(estimate, unseen_of(seen))


def _side(names: Sequence[str], fish: Sequence[FishResult], n_caught: Mapping[str, int]) -> _Side:
    groups = {name: [one for one in fish if one.size_class == name] for name in names}
    return _Side(
        {name: group for name, group in groups.items() if group},
        {name: n_caught[name] for name in names},
        at_sites("", [(one.size_class, one.site, one.q) for one in fish]),
    )


def _contrast(young: _Side, adult: _Side) -> Contrast:
    """Young minus adult, each weighted to the catch of its own size classes."""
    if not young.fish or not adult.fish:
        first, second = (
            side.number(mean_of([fish for group in side.fish.values() for fish in group]))
            for side in (young, adult)
        )
        return Contrast(first=first, second=second, first_covered=young.covered, second_covered=adult.covered)
    contrasted = contrast(young.weighted, adult.weighted)
    estimate = contrasted.estimate
    one_each = len(young.fish) == len(adult.fish) == 1
    return Contrast(
        estimate.mean,
        estimate.low,
        estimate.high,
        contrasted.p,
        young.number(catch_weighted_from_sums(young.sums, young.caught)),
        adult.number(catch_weighted_from_sums(adult.sums, adult.caught)),
        basis=ONE_CLASS_EACH if one_each else WEIGHTED_SIDES,
        first_covered=young.covered,
        second_covered=adult.covered,
        missed=missed_kind(contrasted.first, contrasted.second),
    )


def _slope(scheme: Scheme, fish: Sequence[FishResult], n_caught: Mapping[str, int]) -> Slope:
    """Return the slope of the class means on the place of the class, each class weighing its share of the catch.

    A slope is a difference of two weighted means, of the classes that pull it up and of those that pull it down, times
    the sum of the pulls: so it has the interval and the p of every other difference.
    """
    side = _side(scheme.classes, fish, n_caught)
    names = list(side.fish)
    if len(names) < 2:
        return Slope(
            guard=guard_words(sum(map(len, side.fish.values())), None, None, ONE_CLASS * bool(names))
        )
    place = {name: float(scheme.classes.index(name)) for name in names}
    share = {name: side.caught[name] / sum(side.caught[one] for one in names) for name in names}
    middle = sum(share[name] * place[name] for name in names)
    spread = sum(share[name] * (place[name] - middle) ** 2 for name in names)
    pull = {name: share[name] * (place[name] - middle) / spread for name in names}
    up, down = ({name: sign * of for name, of in pull.items() if sign * of > 0} for sign in (1, -1))
    total = sum(up.values())
    rising, falling = (
        Side(side.sums, {name: of / sum(part.values()) for name, of in part.items()}, sites=side.sites)
        for part in (up, down)
    )
    contrasted = contrast(rising, falling)
    estimate = contrasted.estimate
    low, high = (None if end is None else total * end for end in (estimate.low, estimate.high))
    guard = guard_words(min(contrasted.n_first, contrasted.n_second), None, None)
    return Slope(total * estimate.mean if estimate.mean is not None else None, low, high, contrasted.p, guard)


def _trend(scheme: Scheme, fish: Sequence[FishResult]) -> TrendOfSizes:
    groups = [[one.q for one in fish if one.size_class == name] for name in scheme.classes]
    groups = [group for group in groups if group]
    n = sum(map(len, groups))
    if not n and fish:
        return TrendOfSizes(guard=OF_NO_SIZE)
    why = ONE_CLASS if len(groups) == 1 and n > 1 else ""
    if len(groups) < 2 or n < LEAST_TO_READ:
        return TrendOfSizes(n_classes=len(groups), n=n, guard=guard_words(n, None, None, why))
    if len({q for group in groups for q in group}) == 1:
        why = ALL_ALIKE
    tested = jonckheere_terpstra(groups)
    rising = tested.p_rising < tested.p_falling
    return TrendOfSizes(
        tested.statistic, tested.p, rising, len(groups), n=n, guard=guard_words(n, None, None, why),
        expected=tested.expected, method=tested.method,
    )  # fmt: skip


def _rank_on_length(fish: Sequence[FishResult]) -> RankOnLength:
    both = [(one.length_mm, one.q) for one in fish if one.length_mm is not None]
    n = len(both)
    if not n and fish:
        return RankOnLength(guard=OF_NO_SIZE)
    if n < 3:
        return RankOnLength(n=n, guard=(NO_FISH, ONE_FISH, TOO_FEW)[n])
    lengths, q = [length for length, _ in both], [value for _, value in both]
    ranked = spearman(lengths, q)
    low, high = ranked.limits or (None, None)
    why = ""
    if ranked.correlation is None:
        why = ALL_OF_ONE_LENGTH if len(set(lengths)) == 1 else ALL_ALIKE
    elif ranked.limits is None and n >= 4:
        why = ALL_IN_ORDER
    return RankOnLength(
        ranked.correlation,
        low,
        high,
        ranked.p,
        n=n,
        method=ranked.method,
        guard=guard_words(n, None, None, why),
    )
