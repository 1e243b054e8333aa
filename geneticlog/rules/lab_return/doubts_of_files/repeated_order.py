"""Values that come again in one order: where, in two lists of numbers, and how often chance would make that."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from math import log
from typing import NamedTuple

import numpy as np

WINDOW = 4  # values of which a block is found; shorter ones chance makes among many files
MOST_PLACES = 200_000  # where windows meet; they are more only where the values are few, and say little
MOST_LEFT_OUT = 2  # rows between parts of one block: samples that failed, or were corrected
MOST_OFTEN = 50  # windows alike in one list, which are those of pure fish


class Block(NamedTuple):
    """Places in the first list and in the second, in pairs, and whether the second runs backwards.

    log_pairs: natural logarithm of the number of places for such a block; log_alike: that of the chance of each pair.
    """

    here: list[int]
    beyond: list[int]
    turned: bool
    log_pairs: float
    log_alike: list[float]

    @property
    def log_chance(self) -> float:
        """The natural logarithm of the number of such blocks that chance makes, at most."""
        return self.log_pairs + sum(self.log_alike)

    def only(self, wanted: Callable[[int, int], bool]) -> Block:
        """Return the block with those pairs alone that are wanted."""
        kept = [
            (i, j, log_p)
            for i, j, log_p in zip(self.here, self.beyond, self.log_alike, strict=True)
            if wanted(i, j)
        ]
        return self._replace(
            here=[i for i, _, _ in kept], beyond=[j for _, j, _ in kept], log_alike=[one for *_, one in kept]
        )


def repeated_blocks(
    here: Sequence[Hashable | None], beyond: Sequence[Hashable | None], wanted: Sequence[Hashable | None] = ()
) -> Iterator[Block]:
    """Yield the blocks of one list that are in another one in the same or in the opposite order.

    The number that chance makes is that of pairs of places, in both orders, times each value's part of all values
    in both lists: where rows are exchangeable no more can be expected.

    here, beyond
        values; None belongs to no block.
    wanted
        what is looked for there in place of each value here, as what it leaves of one.
    """
    looked_for = list(wanted or here)
    numbers: dict[Hashable, int] = {}
    for value in looked_for:
        if value is not None:
            numbers.setdefault(value, len(numbers) + 1)
    ours = [numbers.get(value, 0) if value is not None else 0 for value in looked_for]
    theirs = np.fromiter((numbers.get(value, 0) for value in beyond), dtype=np.int64, count=len(beyond))
    base = len(numbers) + 1
    if base**WINDOW >= 2**62 or len(ours) < WINDOW or len(theirs) < WINDOW:
        return
    often = Counter(value for value in (*looked_for, *beyond) if value is not None)
    n_all = sum(often.values())
    pairs = 2.0 * len(ours) * len(theirs)
    windows = sum(theirs[i : len(theirs) - WINDOW + 1 + i] * base**i for i in range(WINDOW))
    for turned in (False, True):
        order = ours[::-1] if turned else ours
        ends: Mapping[int, list[int]] = defaultdict(list)
        for i in range(len(order) - WINDOW + 1):
            part = order[i : i + WINDOW]
            if all(part):
                ends[sum(one * base**k for k, one in enumerate(part))].append(i)
        ends = {window: places for window, places in ends.items() if len(places) <= MOST_OFTEN}
        met = np.flatnonzero(np.isin(windows, np.fromiter(ends, dtype=np.int64, count=len(ends))))
        if len(met) > MOST_PLACES:
            continue
        by_step: dict[int, list[int]] = defaultdict(list)  # how far the second list is ahead -> places in it
        for place in met.tolist():
            for i in ends[int(windows[place])]:
                by_step[place - i].append(place)
        for step, places in by_step.items():
            for first, last in _in_a_row(places):
                at = list(range(first, last + WINDOW))
                mine = [place - step for place in at]
                if turned:
                    mine = [len(ours) - 1 - i for i in mine]
                yield Block(mine, at, turned, log(pairs), [log(often[looked_for[i]] / n_all) for i in mine])


def with_gaps(
    block: Block, here: Sequence[Hashable | None], beyond: Sequence[Hashable | None]
) -> tuple[list[int], list[int]]:
    """Return the places of a block in both lists, with what goes on in the same order behind a few rows left out."""
    pairs = sorted(zip(block.here, block.beyond, strict=True))
    way = -1 if block.turned else 1
    for forward in (1, -1):
        i, j = pairs[-1] if forward > 0 else pairs[0]
        while (step := _next(i, j, forward, way, here, beyond)) is not None:
            i, j = step
            pairs.append(step)
        pairs.sort()
    return [i for i, _ in pairs], [j for _, j in pairs]


def _next(
    i: int, j: int, forward: int, way: int, here: Sequence[Hashable | None], beyond: Sequence[Hashable | None]
) -> tuple[int, int] | None:
    """The next pair: the neighbours, or two in a row behind at most so many rows left out in either list."""
    for left_out in range(2 * MOST_LEFT_OUT + 1):
        for a in range(max(left_out - MOST_LEFT_OUT, 0), min(left_out, MOST_LEFT_OUT) + 1):
            b = left_out - a
            at = [
                (i + forward * (1 + a + k), j + forward * way * (1 + b + k))
                for k in range(2 if left_out else 1)
            ]
            if all(
                0 <= x < len(here) and 0 <= y < len(beyond) and here[x] is not None and here[x] == beyond[y]
                for x, y in at
            ):
                return at[0]
    return None


def _in_a_row(places: Sequence[int]) -> Iterator[tuple[int, int]]:
    """The first and last of rising whole numbers that follow one another."""
    first = last = -1
    for place in places:
        if first >= 0 and place != last + 1:
            yield first, last
            first = place
        first = place if first < 0 else first
        last = place
    if first >= 0:
        yield first, last
