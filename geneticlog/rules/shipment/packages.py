"""Which vial goes in which package of a shipment: whole plates or boxes where there are enough, else even parts."""

from __future__ import annotations

from collections.abc import Sequence

Place = tuple[int, str]  # container number, position


def in_packages(places: Sequence[Place], n_packages: int) -> list[list[Place]]:
    """Return the places of each package, in filling order; packages beyond the number of vials stay empty.

    places
        of all vials, in filling order.
    """
    n = max(1, n_packages)
    containers = list(dict.fromkeys(number for number, _ in places))
    parts: list[list[Place]] = [[] for _ in range(n)]
    if len(containers) >= n > 1:
        of_container = {number: i * n // len(containers) for i, number in enumerate(containers)}
        for place in places:
            parts[of_container[place[0]]].append(place)
        return parts
    for i, place in enumerate(places):
        parts[i * n // len(places)].append(place)
    return parts
