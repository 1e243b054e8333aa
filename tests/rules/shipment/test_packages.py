"""Every vial goes in exactly one package, whole plates together where there are enough."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from geneticlog.errors import Refused
from geneticlog.rules.shipment.packages import in_packages, refuse_cut_containers
from geneticlog.rules.shipment.plates import CONTAINERS


@given(n=some.integers(1, 60), each=some.integers(1, 12), k=some.integers(1, 7))
def test_every_vial_is_in_one_package(n: int, each: int, k: int) -> None:
    places = [(1 + i // each, f"{i % each}") for i in range(n)]
    parts = in_packages(places, k)
    assert len(parts) == k
    assert [place for part in parts for place in part] == places
    n_containers = places[-1][0]
    if k <= n_containers:
        assert all(parts)  # no package is empty, and no plate is split
        assert sum(len({number for number, _ in part}) for part in parts) == n_containers
    else:
        assert max(map(len, parts)) - min(map(len, parts)) <= 1


@pytest.mark.parametrize(
    ("kind", "containers", "most"),
    [("plate96", [1] * 26, 1), ("plate96", [1, 1, 2], 2), ("box9x9", [3, 1, 2], 3), ("loose", [1] * 4, 999)],
)
def test_no_plate_or_box_is_cut_in_two(kind: str, containers: list[int], most: int) -> None:
    refuse_cut_containers("SHIP-1", CONTAINERS[kind], containers, most)
    if kind != "loose":
        with pytest.raises(Refused, match=f"at most {most} package"):
            refuse_cut_containers("SHIP-1", CONTAINERS[kind], containers, most + 1)
