"""Names in a row, as a sentence holds them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping


def listed(names: Iterable[str], most: int = 8) -> str:
    """Return names in a row, at most so many of them, and how many more there are."""
    every = list(names)
    more = f" and {len(every) - most} more" if len(every) > most else ""
    return ", ".join(every[:most] if more else every) + more


def targets_said(targets: Mapping[str, int]) -> str:
    """Return targets by size class in words: "8 in each of 6 size classes", or each class with its own."""
    numbers = set(targets.values())
    if len(numbers) == 1 and len(targets) > 1:
        return f"{numbers.pop()} in each of {len(targets)} size classes"
    return ", ".join(f"{name} ({n})" for name, n in targets.items())
