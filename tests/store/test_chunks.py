"""Keys in parts: none is left out, none comes twice, no part is too long."""

from __future__ import annotations

import pytest

from geneticlog.store.chunks import in_chunks


@pytest.mark.parametrize(
    ("n", "lengths"), [(0, []), (1, [1]), (3, [3]), (4, [3, 1]), (6, [3, 3]), (7, [3, 3, 1])]
)
def test_keys_come_once_each_in_their_order(n: int, lengths: list[int]) -> None:
    chunks = list(in_chunks(iter(range(n)), 3))
    assert [key for chunk in chunks for key in chunk] == list(range(n))
    assert [len(chunk) for chunk in chunks] == lengths


def test_without_a_size_a_part_fits_every_database() -> None:
    assert [len(chunk) for chunk in in_chunks(range(12_001))] == [5_000, 5_000, 2_001]
