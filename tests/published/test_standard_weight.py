"""Standard and relative weight against print: R package FSA 0.10.0 (Ogle et al. 2025)."""

from __future__ import annotations

import numpy as np
import pytest
from measured_bass import TEST_DATA

from geneticlog.rules.species import relative_weight, standard_weight


# WR-1 to WR-4. Test data of FSA 0.10.0 (three largemouth bass), and one on the package's constants.
@pytest.mark.parametrize(
    ("length_mm", "weight_g", "standard", "relative"),
    [
        pytest.param(201, 106, 102.4143, 103.5011, id="WR-1 201 mm"),
        pytest.param(199, 75, 99.1165, 75.6685, id="WR-2 199 mm"),
        pytest.param(164, 69, 52.6240, 131.1189, id="WR-3 164 mm"),
        pytest.param(300, 400, 379.8550, 105.3033, id="WR-4 300 mm, computed on the package's constants"),
    ],
)
def test_largemouth_relative_weight(
    length_mm: float, weight_g: float, standard: float, relative: float
) -> None:
    assert standard_weight("largemouth_bass", length_mm) == pytest.approx(standard, abs=1e-4)
    assert relative_weight("largemouth_bass", length_mm, weight_g) == pytest.approx(relative, abs=1e-4)


def test_relative_weight_of_every_fish_of_the_test_data() -> None:
    # WR-5: measured_bass.py; the package's authors worked each out in a spreadsheet, to ten digits
    found = [relative_weight("largemouth_bass", mm, g) for mm, g, _, _ in TEST_DATA]
    for (mm, _, standard, relative), ours in zip(TEST_DATA, found, strict=True):
        assert ours == (None if relative is None else pytest.approx(relative, abs=1e-7)), mm
        ws = standard_weight("largemouth_bass", mm)
        assert ws == (None if standard is None else pytest.approx(standard, rel=1e-9)), mm
    known = [wr for wr in found if wr is not None]
    assert (len(found), len(known)) == (54, 52)  # two are below the equation's 150 mm
    assert np.mean(known) == pytest.approx(100.7455, abs=1e-4)


# WS-1. Computed with another program on the constants tabled in FSA 0.10.0; to half a unit of the last digit.
@pytest.mark.parametrize(
    ("species", "length", "unit", "standard"),
    [
        ("largemouth_bass", 150, "mm", "39.30"),
        ("largemouth_bass", 200, "mm", "100.76"),
        ("largemouth_bass", 300, "mm", "379.86"),
        ("largemouth_bass", 630, "mm", "4307.66"),
        ("largemouth_bass", 8, "in", "0.2338"),
        ("largemouth_bass", 12, "in", "0.8814"),
        ("largemouth_bass", 15, "in", "1.8296"),
        ("largemouth_bass", 20, "in", "4.6911"),
        ("largemouth_bass", 25, "in", "9.7377"),
        ("smallmouth_bass", 300, "mm", "396.08"),
        ("spotted_bass", 300, "mm", "373.20"),
        ("bluegill", 200, "mm", "180.39"),
        ("black_crappie", 200, "mm", "119.93"),
        ("white_crappie", 200, "mm", "105.93"),
    ],
)
def test_standard_weight_as_printed(species: str, length: float, unit: str, standard: str) -> None:
    found = standard_weight(species, length, unit)
    assert found is not None
    half = 0.5 * 10 ** -len(standard.split(".")[1])
    assert found == pytest.approx(float(standard), abs=half)


def test_the_two_forms_of_the_equation_differ_by_under_a_thousandth_at_20_in() -> None:
    # WS-2
    by_inches = standard_weight("largemouth_bass", 20, "in")
    by_mm = standard_weight("largemouth_bass", 508, "mm")
    assert by_inches is not None
    assert by_mm is not None
    assert by_inches * 453.59237 == pytest.approx(2127.83, abs=0.005)
    assert by_mm == pytest.approx(2129.57, abs=0.005)
    assert by_inches * 453.59237 == pytest.approx(by_mm, rel=1e-3)


# Least total length of each equation, as tabled in FSA 0.10.0 (Alabama bass: assumed there).
@pytest.mark.parametrize(
    ("species", "least_mm"),
    [
        ("largemouth_bass", 150),
        ("smallmouth_bass", 150),
        ("spotted_bass", 100),
        ("alabama_bass", 100),
        ("bluegill", 80),
        ("black_crappie", 100),
        ("white_crappie", 100),
    ],
)
def test_below_the_least_length_there_is_no_relative_weight(species: str, least_mm: int) -> None:
    assert relative_weight(species, least_mm - 1, 20) is None
    assert relative_weight(species, least_mm, 20) is not None
