"""The least whole number that does, found by doubling and halving."""

from __future__ import annotations

from collections.abc import Callable


def least_number(does: Callable[[int], bool], *, start: int, most: int) -> int | None:
    """Return the least number from start up that does, where every greater one does too; None above most."""
    low, high = start - 1, start
    while not does(high):
        if high >= most:
            return None
        low, high = high, min(high * 2, most)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if does(middle) else (middle, high)
    return high
