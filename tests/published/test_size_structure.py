"""Proportional size distribution of real fish, counted from their lengths; the lengths and sources in measured_bass.py.

Neumann RM, Allen MS (2007), in Guy & Brown, Analysis and Interpretation of Freshwater Fisheries Data, AFS, as cited in
the R package FSA 0.10.0 (Ogle DH et al. 2025). The expected numbers were worked out on those lengths outside this
package.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import pytest
from measured_bass import BOOMER_MM, CARL_BLACKWELL_MM, INCH_LAKE, TEST_DATA

from geneticlog.rules.lengths import parse_length
from geneticlog.rules.schemes import FIVE_LENGTH
from geneticlog.rules.species import size_class
from geneticlog.rules.statistics.psd import increments, size_indices

TEST_DATA_MM = [mm for mm, *_ in TEST_DATA]


def counted(lengths: Iterable[float], unit: str) -> list[int]:
    held = Counter(size_class("largemouth_bass", length, unit) for length in lengths)
    return [held[name] for name in FIVE_LENGTH]


@pytest.mark.parametrize(
    ("lengths", "n", "substock", "at_least", "indices"),
    [
        pytest.param(
            BOOMER_MM, 447, 113, (334, 183, 75, 1, 0),
            [("PSD", 54.79, (49.43, 60.04)), ("PSD-P", 22.46, (18.31, 27.23)), ("PSD-M", 0.30, None)],
            id="PSD-2 Boomer Lake 1974",
        ),
        pytest.param(
            CARL_BLACKWELL_MM, 289, 104, (185, 72, 18, 0, 0),
            [("PSD", 38.92, (32.19, 46.10)), ("PSD-P", 9.73, (6.24, 14.85)), ("PSD-M", 0.0, None)],
            id="PSD-3 Lake Carl Blackwell 1973",
        ),
        pytest.param(
            TEST_DATA_MM, 54, 4, (50, 30, 15, 5, 0),
            [("PSD", 60.0, None), ("PSD-P", 30.0, None), ("PSD-M", 10.0, None)],
            id="PSD-4 the package's test data",
        ),
    ],
)  # fmt: skip
def test_size_indices_from_the_lengths(
    lengths: list[int], n: int, substock: int, at_least: tuple[int, ...],
    indices: list[tuple[str, float, tuple[float, float] | None]],
) -> None:  # fmt: skip
    held = counted(lengths, "mm")
    assert (len(lengths), sum(held), held[0]) == (n, n, substock)
    assert tuple(sum(held[at:]) for at in range(1, 6)) == at_least
    found = {
        index.name: index for index in size_indices(dict(zip(FIVE_LENGTH, held, strict=True)), FIVE_LENGTH)
    }
    assert {index.n_stock for index in found.values()} == {at_least[0]}
    for name, value, limits in indices:
        assert found[name].value == pytest.approx(value, abs=0.005), name
        if limits:
            assert found[name].limits == pytest.approx(limits, abs=0.005), name
    assert found["PSD-T"].value == 0


def test_the_unit_trap_of_boomer_lake() -> None:
    # PSD-2: the help page of LMBassBL says cm. Read so, every fish of 87 to 510 "cm" would be a trophy.
    assert (min(BOOMER_MM), max(BOOMER_MM)) == (87, 510)
    assert counted(BOOMER_MM, "cm") == [0, 0, 0, 0, 0, 447]


def test_classes_of_the_test_data() -> None:
    # PSD-4: 54 fish of 112 to 627 mm; the class that the package's authors worked out for each, counted
    assert (min(TEST_DATA_MM), max(TEST_DATA_MM)) == (112, 627)
    held = counted(TEST_DATA_MM, "mm")
    assert held == [4, 20, 15, 10, 5, 0]
    assert increments(dict(zip(FIVE_LENGTH, held, strict=True)), FIVE_LENGTH) == {
        "stock": 40, "quality": 30, "preferred": 20, "memorable": 10, "trophy": 0,
    }  # fmt: skip


def test_inch_lake_by_its_own_table_and_converted() -> None:
    # PSD-5: 90 fish measured in inches
    as_measured = {fish: parse_length(inches, "in") for fish, inches in INCH_LAKE.items()}
    held = counted([length.value for length in as_measured.values()], "in")
    assert held == [8, 27, 49, 6, 0, 0]
    assert size_indices(dict(zip(FIVE_LENGTH, held, strict=True)), FIVE_LENGTH)[0].value == pytest.approx(
        67.07, abs=0.005
    )
    by_inches, by_mm = (
        {
            fish: size_class("largemouth_bass", getattr(length, of), unit)
            for fish, length in as_measured.items()
        }
        for of, unit in (("value", "in"), ("metric", "mm"))
    )
    changed = {fish: (by_inches[fish], by_mm[fish]) for fish in INCH_LAKE if by_inches[fish] != by_mm[fish]}
    assert changed == {
        854: ("stock", "quality"),
        861: ("substock", "stock"),
        862: ("substock", "stock"),
    }
    assert [as_measured[fish].metric for fish in (854, 861, 862)] == [302.26, 200.66, 200.66]
