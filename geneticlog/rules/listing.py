"""Names in a row, as a sentence holds them."""

from __future__ import annotations

from collections.abc import Iterable


def listed(names: Iterable[str], most: int = 8) -> str:
    """Return names in a row, at most so many of them, and how many more there are."""
    every = list(names)
    more = f" and {len(every) - most} more" if len(every) > most else ""
    return ", ".join(every[:most] if more else every) + more
