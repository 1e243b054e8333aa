"""What a number must be before a statistic takes it, and the fault that names the one that is not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import isfinite
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geneticlog.errors import GeneticlogError

Floats = NDArray[np.float64]
T = TypeVar("T")

RESAMPLES = 9_999  # random arrangements behind a p or a bootstrap limit


class NumberFault(GeneticlogError, ValueError):
    """A number handed to a statistic cannot be what it is said to be; the sentence names the number."""


def array(values: ArrayLike, what: str) -> Floats:
    """Return ``values`` as an array of numbers of any shape, NaN and infinity among them; raises NumberFault."""
    try:
        raw = np.asarray(values)
        # Text that looks like a number is refused too: what it means (a percentage, a comma) is for a reader to decide.
        if raw.dtype.kind in "USO" and any(isinstance(value, str | bytes) for value in raw.ravel().tolist()):
            raise ValueError("text")
        return raw.astype(np.float64)
    except (TypeError, ValueError) as fault:
        raise NumberFault(f"{what}: {values!r} holds something that is not a number") from fault


def numbers(values: ArrayLike, what: str) -> Floats:
    """Return ``values`` as a flat array of finite numbers, at least one; raises NumberFault."""
    given = array(values, what)
    if given.ndim > 1:
        raise NumberFault(f"{what}: one row of numbers is wanted, not a table of shape {given.shape}")
    given = np.atleast_1d(given)
    if given.size == 0:
        raise NumberFault(f"{what}: there is none; at least one is wanted")
    bad = np.flatnonzero(~np.isfinite(given))
    if bad.size:
        raise NumberFault(f"{what}: number {bad[0] + 1} is {given[bad[0]]}; leave out what has no value")
    return given


def proportions(values: ArrayLike, what: str = "proportions") -> Floats:
    """Return ``values`` as a flat array of proportions from 0 to 1; raises NumberFault naming the first other."""
    shares = numbers(values, what)
    bad = np.flatnonzero((shares < 0) | (shares > 1))
    if bad.size:
        value = shares[bad[0]]
        hint = "; is it a percentage?" if 1 < value <= 100 else ""
        raise NumberFault(f"{what}: number {bad[0] + 1} is {value:g}, outside 0 to 1{hint}")
    return shares


def number(value: float, what: str, *, least: float | None = None) -> float:
    """Return one finite number, not below ``least``; raises NumberFault."""
    plain_number = _one(value)
    if plain_number is None or (least is not None and plain_number < least):
        raise NumberFault(
            f"{what}: {value!r} is not a number" + ("" if least is None else f" from {least:g} up")
        )
    return plain_number


def _one(value: object) -> float | None:
    if isinstance(value, str | bytes):
        return None
    try:
        plain_number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, OverflowError):
        return None
    return plain_number if isfinite(plain_number) else None


def proportion(value: float, what: str) -> float:
    """Return one proportion from 0 to 1; raises NumberFault."""
    share = _one(value)
    if share is None or not 0 <= share <= 1:
        hint = "; is it a percentage?" if share is not None and 1 < share <= 100 else ""
        raise NumberFault(f"{what}: {value!r} is not a proportion from 0 to 1{hint}")
    return share


def level_of(level: float) -> float:
    """Return a confidence level strictly between 0 and 1; raises NumberFault."""
    share = _one(level)
    if share is None or not 0 < share < 1:
        raise NumberFault(f"confidence level {level!r} is not between 0 and 1; 0.95 is usual")
    return share


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
    plain_number = _one(value)
    if plain_number is None or plain_number <= 0:
        raise NumberFault(f"{what}: {value!r} is not a number above 0")
    return plain_number


def counts_by_name(values: Mapping[str, int], what: str) -> Mapping[str, int]:
    """Return ``values`` if it maps names (of size classes) to whole numbers from 0 up; raises NumberFault.

    what
        What is counted in a class: "fish caught in {}".
    """
    for name, n in values.items():
        if type(n) is not int or n < 0:  # a portfolio has tens of thousands of them
            count(n, what.format(name))
    return values


def listed(values: Iterable[T], what: str) -> list[T]:
    """Return ``values`` as a list; raises NumberFault for what is none, such as a single number or a text."""
    if isinstance(values, str | bytes | Mapping) or not isinstance(values, Iterable):
        raise NumberFault(f"{what}: {values!r} is not a list")
    return list(values)


def by_name(values: Mapping[str, T], what: str) -> Mapping[str, T]:
    """Return ``values`` if it maps names (of size classes) to something; raises NumberFault."""
    if not isinstance(values, Mapping):
        raise NumberFault(f"{what}: {values!r} does not say which size class is which")
    return values


def seeded(seed: int) -> np.random.Generator:
    """Return a random generator that gives the same numbers for the same seed; raises NumberFault."""
    return np.random.default_rng(count(seed, "seed"))


def same_length(first: Sequence[object] | Floats, second: Sequence[object] | Floats, what: str) -> None:
    """Raise NumberFault when two lists that belong together differ in length."""
    if len(first) != len(second):
        raise NumberFault(f"{what}: {len(first)} against {len(second)}; each fish needs both")
