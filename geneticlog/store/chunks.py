"""Many keys or rows in parts, as a database takes only so many values in one statement."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import TypeVar

T = TypeVar("T")
AT_A_TIME = 5_000  # SQLite takes 32,766 values, PostgreSQL 65,535


def in_chunks(keys: Iterable[T], size: int = AT_A_TIME) -> Iterator[list[T]]:
    """Yield keys, or rows, in their order, in lists short enough for one statement."""
    left = iter(keys)
    while chunk := list(islice(left, size)):
        yield chunk
