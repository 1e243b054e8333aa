"""The Jonckheere-Terpstra statistic and its exact distribution, ties and all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from functools import lru_cache
from math import comb, prod

import numpy as np
from numpy.typing import NDArray

from geneticlog.rules.arguments import Floats

# Work up to which the exact distribution is counted: states x values; about a second at the limit.
EXACT_WORK = 60_000


def statistic(values: Floats, sizes: NDArray[np.int64]) -> float:
    """Return J of values laid end to end, class after class.

    values
        (fish,) with the smallest class first.
    sizes
        (classes,) fish of each class.
    """
    total, start = 0.0, 0
    for size in sizes[:-1]:
        lower = np.sort(values[start : start + size])
        start += int(size)
        rest = values[start:]
        below = np.searchsorted(lower, rest, side="left").sum()
        up_to = np.searchsorted(lower, rest, side="right").sum()
        total += 0.5 * float(below + up_to)
    return total


def statistics(orders: NDArray[np.int64], sizes: NDArray[np.int64]) -> Floats:
    """Return J of many orders of the same fish at once, as `statistic` of each.

    orders
        (orders, fish) the place of each fish's value among the distinct ones, the smallest class first.
    sizes
        (classes,) fish of each class.
    """
    n_orders, n_classes, n_values = len(orders), len(sizes), int(orders.max()) + 1
    of_class = np.repeat(np.arange(n_classes), sizes)
    at = (np.arange(n_orders)[:, None] * n_classes + of_class) * n_values + orders
    cells = np.bincount(at.ravel(), minlength=n_orders * n_classes * n_values)
    fish = cells.reshape(n_orders, n_classes, n_values).astype(np.float64)
    smaller = fish.cumsum(axis=1) - fish  # fish of the smaller classes with each value
    below = smaller.cumsum(axis=2) - smaller / 2  # and with a lower one; of those with the same, half
    return np.asarray((fish * below).sum(axis=(1, 2)), dtype=np.float64)


def largest_exact(values: Floats, sizes: NDArray[np.int64]) -> bool:
    """Return whether the exact distribution is counted in about a second."""
    return prod(int(size) + 1 for size in sizes) * len(np.unique(values)) <= EXACT_WORK


def exact_tails(values: Floats, sizes: NDArray[np.int64], observed: float) -> tuple[float, float]:
    """Return the chances of J >= found and of J <= found over all arrangements of the fish."""
    ties = np.unique(values, return_counts=True)[1]
    counted = _arrangements(tuple(map(int, ties)), tuple(map(int, sizes)))
    twice = np.arange(len(counted))
    everything = counted.sum()
    rising = counted[twice >= 2 * observed - 1e-6].sum() / everything
    falling = counted[twice <= 2 * observed + 1e-6].sum() / everything
    return float(rising), float(falling)


@lru_cache(maxsize=64)
def _arrangements(ties: tuple[int, ...], full: tuple[int, ...]) -> Floats:
    """Return how many arrangements have each value of twice J, for so many fish of each value and class.

    The distinct values are dealt out from the smallest up. All that matters of what was dealt before is how many
    fish each class has got: for each such state the arrangements are counted by twice their J so far.
    """
    top = 2 * sum(full[i] * full[j] for i in range(len(full)) for j in range(i + 1, len(full)))
    states: dict[tuple[int, ...], Floats] = {(0,) * len(full): np.eye(1, top + 1)[0]}
    for tied in ties:
        after: dict[tuple[int, ...], Floats] = defaultdict(lambda: np.zeros(top + 1))
        for state, counted in states.items():
            room = tuple(size - got for size, got in zip(full, state, strict=True))
            for dealt in _deals(tied, room):
                ways, gained = 1.0, 0
                left = tied
                for j, more in enumerate(dealt):
                    ways *= comb(left, more)
                    left -= more
                    gained += more * sum(2 * state[i] + dealt[i] for i in range(j))
                reached = tuple(got + more for got, more in zip(state, dealt, strict=True))
                after[reached][gained:] += ways * counted[: top + 1 - gained]
        states = dict(after)
    return states[full]


@lru_cache(maxsize=4096)
def _deals(n: int, room: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    return tuple(_deal(n, room))


def _deal(n: int, room: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Yield every way of dealing n fish into classes that have this much room."""
    if len(room) == 1:
        if n <= room[0]:
            yield (n,)
        return
    for first in range(min(n, room[0]) + 1):
        for rest in _deal(n - first, room[1:]):
            yield (first, *rest)
