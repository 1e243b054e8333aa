"""Every vial goes in exactly one package, whole plates together where there are enough."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as some

from geneticlog.rules.shipment.packages import in_packages


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
