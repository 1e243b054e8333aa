"""What two groups of fish can hide from their difference: a kind of fish of which neither sample met one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isnan

from geneticlog.rules.intervals import mean_from_sums_many
from geneticlog.rules.statistics.class_table import by_class
from geneticlog.rules.statistics.contrast import Side
from geneticlog.rules.statistics.unseen_shares import unseen_shares


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


def missed_kinds(
    pairs: Sequence[tuple[Side, Side]], level: float = 0.95, *, from_on: float = 0.0
) -> list[MissedKind | None]:
    """Return `missed_kind` of many differences at once, in order, the same to the last digit.

    from_on
        Where the share alone could move a difference by less than this, it is given as it is: the room that the
        intervals leave, which could only lessen it, is not asked for.
    """
    farthest = _farthest([side for pair in pairs for side in pair], level)
    far = [at for at, kind in enumerate(farthest) if kind is not None and kind.moves >= from_on]
    for at, room in zip(far, _rooms([pairs[at] for at in far], level), strict=True):
        kind = farthest[at]
        if kind is not None and room is not None:
            farthest[at] = replace(kind, moves=min(kind.moves, room))
    return farthest


def _weighted(side: Side) -> list[str]:
    return [name for name, weight in side.weights.items() if weight > 0]


def _farthest(sides: Sequence[Side], level: float) -> list[MissedKind | None]:
    """Return of each two sides what the share that could be missed moves by itself."""
    names = [_weighted(side) for side in sides]
    sided = list(zip(sides, names, strict=True))
    weights, n = by_class(
        [[(side.weights[name], side.sums[name].n) for name in classes] for side, classes in sided], 2
    )
    distance = []
    for side, classes in sided:
        means = [side.sums[name].mean or 0.0 for name in classes] or [0.0]
        distance.append(max(max(means), 1 - min(means)))
    shares = unseen_shares(weights, n, level).tolist()
    kinds: list[MissedKind | None] = []
    for at in range(0, len(sides), 2):
        reached = [(shares[one] * distance[one], shares[one]) for one in (at, at + 1)]
        moves, share = max(reached)
        is_first = reached[0] == (moves, share)
        kinds.append(MissedKind(share, is_first, moves) if names[at] and names[at + 1] else None)
    return kinds


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
