"""What two groups of fish can hide from their difference: a kind of fish of which neither sample met one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

from geneticlog.rules.intervals import mean_from_sums_many
from geneticlog.rules.statistics.contrast import Side
from geneticlog.rules.statistics.unseen import unseen_share_of_weights


@dataclass(frozen=True, slots=True)
class MissedKind:
    """The kind of fish that could move a difference farthest and still have been missed.

    share
        The largest share of its group that it may make up, 0 to 1.
    of_first
        Whether that is the first group of the difference.
    moves
        By how much it could move the difference, 0 to 1; where the intervals of the size classes leave less room than
        that between the two groups, that much.
    """

    share: float
    of_first: bool
    moves: float


def missed_kind(first: Side, second: Side, level: float = 0.95) -> MissedKind | None:
    """Return what kind of fish the samples of a difference could have missed; None where a side has no fish.

    The interval of a difference follows the spread of the fish met, so two groups that hardly vary have a narrow one
    whatever their numbers. A kind of which none was met makes up at most ``unseen_share_of_weights`` of its group, and
    moves its mean by that share times its distance from the fish met, at most that of a class mean from 0 or from 1.
    The intervals of the single class means are guarded against such a kind: where they leave less room between the two
    groups, that counts.

    level
        1 - the chance of missing a kind of that share; also the level of the intervals.
    source
        The exact binomial limit at 0 of n, over strata; see `unseen_share_of_weights`. Taking the lesser of the two is
        the project's own.
    """
    return missed_kinds([(first, second)], level)[0]


def missed_kinds(pairs: Sequence[tuple[Side, Side]], level: float = 0.95) -> list[MissedKind | None]:
    """Return `missed_kind` of many differences at once, in order, the same to the last digit."""
    return [
        _farthest(first, second, room, level)
        for (first, second), room in zip(pairs, _rooms(pairs, level), strict=True)
    ]


def _weighted(side: Side) -> list[str]:
    return [name for name, weight in side.weights.items() if weight > 0]


def _farthest(first: Side, second: Side, room: float | None, level: float) -> MissedKind | None:
    reached: list[tuple[float, float]] = []
    for side in (first, second):
        names = _weighted(side)
        if not names:
            return None
        share = unseen_share_of_weights(
            [side.weights[name] for name in names], [side.sums[name].n for name in names], level
        )
        means = [side.sums[name].mean or 0.0 for name in names]
        reached.append((share * max(max(means), 1 - min(means)), share))
    at = max((0, 1), key=lambda one: reached[one])
    moves, share = reached[at]
    return MissedKind(share, at == 0, moves if room is None else min(moves, room))


def _rooms(pairs: Sequence[tuple[Side, Side]], level: float) -> list[float | None]:
    """Return how far apart the intervals of the class means let the two groups be; None where a class has none."""
    sides = [side for pair in pairs for side in pair]
    groups = [side.sums[name] for side in sides for name in _weighted(side)]
    if not groups:
        return [None] * len(pairs)
    means = mean_from_sums_many(
        [of.n for of in groups],
        [of.sum_q for of in groups],
        [of.sum_q2 for of in groups],
        [float("nan") if of.n_alleles is None else of.n_alleles for of in groups],
        level,
    )
    limits = iter(zip(means.low.tolist(), means.high.tolist(), strict=True))
    ends: list[tuple[float, float]] = []
    for side in sides:
        low = high = 0.0
        for name in _weighted(side):
            least, most = next(limits)
            low, high = low + side.weights[name] * least, high + side.weights[name] * most
        ends.append((low, high))
    rooms = [
        max(high_1 - low_2, high_2 - low_1)
        for (low_1, high_1), (low_2, high_2) in zip(ends[::2], ends[1::2], strict=True)
    ]
    return [None if isnan(room) else room for room in rooms]
