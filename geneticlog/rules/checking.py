"""What a number must be before a statistic takes it, and the fault that names the one that is not."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geneticlog.errors import GeneticlogError

Floats = NDArray[np.float64]


class NumberFault(GeneticlogError, ValueError):
    """A number handed to a statistic cannot be what it is said to be; the sentence names the number."""


def numbers(values: ArrayLike, what: str) -> Floats:
    """Return ``values`` as a flat array of finite numbers, at least one; raises NumberFault."""
    try:
        found = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError) as fault:
        raise NumberFault(f"{what}: {values!r} holds something that is not a number") from fault
    if found.ndim > 1:
        raise NumberFault(f"{what}: one row of numbers is wanted, not a table of shape {found.shape}")
    found = np.atleast_1d(found)
    if found.size == 0:
        raise NumberFault(f"{what}: there is none; at least one is wanted")
    bad = np.flatnonzero(~np.isfinite(found))
    if bad.size:
        raise NumberFault(f"{what}: number {bad[0] + 1} is {found[bad[0]]}; leave out what has no value")
    return found


def proportions(values: ArrayLike, what: str = "proportions") -> Floats:
    """Return ``values`` as a flat array of proportions from 0 to 1; raises NumberFault naming the first other."""
    found = numbers(values, what)
    bad = np.flatnonzero((found < 0) | (found > 1))
    if bad.size:
        value = found[bad[0]]
        hint = "; is it a percentage?" if 1 < value <= 100 else ""
        raise NumberFault(f"{what}: number {bad[0] + 1} is {value:g}, outside 0 to 1{hint}")
    return found


def proportion(value: float, what: str) -> float:
    """Return one proportion from 0 to 1; raises NumberFault."""
    return float(proportions([value], what)[0])


def level_of(level: float) -> float:
    """Return a confidence level strictly between 0 and 1; raises NumberFault."""
    if not 0 < level < 1:
        raise NumberFault(f"confidence level {level!r} is not between 0 and 1; 0.95 is usual")
    return float(level)


def count(value: float, what: str, *, least: int = 0) -> int:
    """Return a whole number not below ``least``; raises NumberFault."""
    try:
        whole = int(value)
    except (TypeError, ValueError, OverflowError) as fault:
        raise NumberFault(f"{what}: {value!r} is not a whole number") from fault
    if whole != value or whole < least:
        raise NumberFault(f"{what}: {value!r} is not a whole number from {least} up")
    return whole


def positive(value: float, what: str) -> float:
    """Return a finite number above 0; raises NumberFault."""
    if not (np.isfinite(value) and value > 0):
        raise NumberFault(f"{what}: {value!r} is not a number above 0")
    return float(value)


def same_length(first: Sequence[object] | Floats, second: Sequence[object] | Floats, what: str) -> None:
    """Raise NumberFault when two lists that belong together differ in length."""
    if len(first) != len(second):
        raise NumberFault(f"{what}: {len(first)} against {len(second)}; each fish needs both")
