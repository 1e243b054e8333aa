"""Well order against the published row-major list and the two formulas of the standard layout."""

from __future__ import annotations

import pytest

from geneticlog.rules.shipment.plates import place

# OPC UA LADS (OPC 30500-1), annex D.2, lists the wells of a 96-well plate row by row: A1 … A12, B1 … H12.
ROW_MAJOR = [f"{letter}{column:02d}" for letter in "ABCDEFGH" for column in range(1, 13)]


def test_by_row_is_the_published_list() -> None:
    assert [place("plate96", i, "by_row") for i in range(96)] == ROW_MAJOR


@pytest.mark.parametrize("i", range(96))
def test_by_column_follows_its_formula(i: int) -> None:
    # from 0: c = i // 8, r = i % 8 (8 rows of ANSI/SLAS 4-2004's 96 wells, A1 to H12)
    assert place("plate96", i, "by_column") == "ABCDEFGH"[i % 8] + f"{i // 8 + 1:02d}"
