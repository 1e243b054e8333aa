"""Names and counts as a sentence holds them, and the names nearest to a slip."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence


def n_of(n: int, one: str, many: str | None = None) -> str:
    """Return a number with its noun: "1 label", "2 labels", "0 labels"; ``many`` where the plural adds no s."""
    return f"{n} {one if n == 1 else many or one + 's'}"


def nearest_names(name: str, names: Sequence[str], most: int = 3) -> list[str]:
    """Return the names a person may have meant by ``name``, nearest first; none where none is close."""
    from difflib import get_close_matches

    as_named = {other.casefold(): other for other in names}
    asked = name.strip().casefold()
    near = [as_named[key] for key in get_close_matches(asked, as_named, n=most, cutoff=0.6)]
    if len(asked) > 1:
        near += [other for key, other in as_named.items() if key.startswith(asked) and other not in near]
    return near[:most]


def listed(names: Iterable[str], most: int = 8) -> str:
    """Return names in a row, at most ``most`` of them, and how many more there are."""
    every = list(names)
    more = f" and {len(every) - most} more" if len(every) > most else ""
    return ", ".join(every[:most] if more else every) + more


def targets_said(targets: Mapping[str, int]) -> str:
    """Return targets by size class in words: "8 in each of 6 size classes", or each class with its own."""
    numbers = set(targets.values())
    if len(numbers) == 1 and len(targets) > 1:
        return f"{numbers.pop()} in each of {len(targets)} size classes"
    return ", ".join(f"{name} ({n})" for name, n in targets.items())
