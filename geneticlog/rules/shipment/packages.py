"""Which vial goes in which package of a shipment: whole plates or boxes, or even parts of loose vials."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from geneticlog.errors import Refused
from geneticlog.rules.sentences import n_of
from geneticlog.rules.shipment.plates import Container

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


def refuse_cut_containers(code: str, kind: Container, containers: Collection[int], n_packages: int) -> None:
    """Refuse more packages than a shipment has plates or boxes: none of them can be in two packages.

    containers
        the numbers of the plates or boxes, in any order and any number of times; loose vials go in any packages.
    raises
        Refused with the way out.
    """
    n = len(set(containers))
    if kind.capacity is None or n_packages <= max(n, 1):
        return
    raise Refused(
        f"shipment {code} is packed in {n} x {kind.printed}, and none can be cut in two: it goes in at most"
        f" {n_of(n, 'package')}, not {n_packages}; pack the vials loose (--container loose) for more"
    )
