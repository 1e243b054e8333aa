"""Does ancestry go with size in one survey: three tests that stand together, and are adjusted together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from geneticlog.rules.estimates import NO_FISH, ONE_FISH, TOO_FEW, guard_words
from geneticlog.rules.intervals import difference
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.trend import holm, jonckheere_terpstra, permutation_difference, spearman
from geneticlog.work.lake_facts import Contrast, FishResult, RankOnLength, Trend
from geneticlog.work.lake_means import mean_of, number_of

RESAMPLES, SEED = 9999, 20260101
ALL_OF_ONE_LENGTH, ALL_ALIKE = "all fish of one length", "all fish alike in q"
OF_NO_SIZE = "no fish of known size"
ALL_IN_ORDER = "all fish in order, so no interval"


@dataclass(frozen=True)
class SizeTests:
    """Young minus adult, the trend over size classes and q on length, each with its p alone and after Holm."""

    young_minus_adult: Contrast
    trend: Trend
    rank_on_length: RankOnLength


def size_tests(scheme: Scheme, fish: Sequence[FishResult]) -> SizeTests:
    """Return the three tests of size; a test that these fish cannot feed has no p and is not counted by Holm."""
    contrast = _contrast(
        [one for one in fish if one.size_class in scheme.young],
        [one for one in fish if one.size_class in scheme.adult],
    )
    trend, on_length = _trend(scheme, fish), _rank_on_length(fish)
    adjusted = holm_of([contrast.p, trend.p, on_length.p])
    return SizeTests(
        replace(contrast, p_holm=adjusted[0]),
        replace(trend, p_holm=adjusted[1]),
        replace(on_length, p_holm=adjusted[2]),
    )


def holm_of(p: Sequence[float | None]) -> list[float | None]:
    """Return p values after Holm, in the order given; one that is None stays None and is not counted."""
    adjusted = iter(holm([value for value in p if value is not None]))
    return [None if value is None else next(adjusted) for value in p]


def _contrast(young: Sequence[FishResult], adult: Sequence[FishResult]) -> Contrast:
    first, second = mean_of(young), mean_of(adult)
    if first.mean is None or second.mean is None:
        return Contrast(first=number_of(first), second=number_of(second))
    found = difference(first, second)
    p = None
    if len(young) > 1 and len(adult) > 1:
        q_young, q_adult = [one.q for one in young], [one.q for one in adult]
        p = permutation_difference(q_young, q_adult, n_resamples=RESAMPLES, seed=SEED).p
    return Contrast(found.mean, found.low, found.high, p, number_of(first), number_of(second))


def _trend(scheme: Scheme, fish: Sequence[FishResult]) -> Trend:
    groups = [[one.q for one in fish if one.size_class == name] for name in scheme.classes]
    groups = [group for group in groups if group]
    n = sum(map(len, groups))
    if not n and fish:
        return Trend(guard=OF_NO_SIZE)
    why = "all results in one size class" if len(groups) == 1 and n > 1 else ""
    if len(groups) < 2 or n < 5:
        return Trend(n_classes=len(groups), n=n, guard=guard_words(n, None, None, why))
    if len({q for group in groups for q in group}) == 1:
        why = ALL_ALIKE
    found = jonckheere_terpstra(groups)
    rising = found.p_rising < found.p_falling
    return Trend(found.statistic, found.p, rising, len(groups), n=n, guard=guard_words(n, None, None, why))


def _rank_on_length(fish: Sequence[FishResult]) -> RankOnLength:
    both = [(one.length_mm, one.q) for one in fish if one.length_mm is not None]
    n = len(both)
    if not n and fish:
        return RankOnLength(guard=OF_NO_SIZE)
    if n < 3:
        return RankOnLength(n=n, guard=(NO_FISH, ONE_FISH, TOO_FEW)[n])
    lengths, q = [length for length, _ in both], [value for _, value in both]
    found = spearman(lengths, q)
    low, high = found.limits or (None, None)
    why = ""
    if found.correlation is None:
        why = ALL_OF_ONE_LENGTH if len(set(lengths)) == 1 else ALL_ALIKE
    elif found.limits is None and n >= 4:
        why = ALL_IN_ORDER
    return RankOnLength(
        found.correlation, low, high, found.p, n=n, method=found.method, guard=guard_words(n, None, None, why)
    )
