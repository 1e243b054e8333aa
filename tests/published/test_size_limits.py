"""Size-class limits and unit definitions against print."""

from __future__ import annotations

from fractions import Fraction

import pytest

from geneticlog.rules.lengths import measured_length, measured_weight, parse_length, parse_weight
from geneticlog.rules.schemes import five_length
from geneticlog.rules.species import size_class

NAMES = ("substock", "stock", "quality", "preferred", "memorable", "trophy")

# Gabelhouse DW (1984) North American Journal of Fisheries Management 4:273-285, as tabled in the R package
# FSA 0.10.0 (Ogle et al. 2025). Typed again here from the reference table, row by row.
PRINTED = [
    pytest.param("largemouth_bass", "mm", "200 300 380 510 630", id="largemouth, mm"),
    pytest.param("largemouth_bass", "in", "8 12 15 20 25", id="largemouth, in"),
    pytest.param("smallmouth_bass", "mm", "180 280 350 430 510", id="smallmouth, mm"),
    pytest.param("smallmouth_bass", "in", "7 11 14 17 20", id="smallmouth, in"),
    pytest.param("spotted_bass", "mm", "180 280 350 430 510", id="spotted, mm"),
    pytest.param("spotted_bass", "in", "7 11 14 17 20", id="spotted, in"),
    pytest.param("bluegill", "mm", "80 150 200 250 300", id="bluegill, mm"),
    pytest.param("bluegill", "in", "3 6 8 10 12", id="bluegill, in"),
    pytest.param("black_crappie", "mm", "130 200 250 300 380", id="black crappie, mm"),
    pytest.param("black_crappie", "in", "5 8 10 12 15", id="black crappie, in"),
    pytest.param("white_crappie", "mm", "130 200 250 300 380", id="white crappie, mm"),
    pytest.param("white_crappie", "in", "5 8 10 12 15", id="white crappie, in"),
]


@pytest.mark.parametrize(("species", "unit", "limits"), PRINTED)
def test_each_limit_is_the_least_length_of_its_class(species: str, unit: str, limits: str) -> None:
    step = 1 if unit == "mm" else 0.1
    for at, text in enumerate(limits.split()):
        limit = float(text)
        assert size_class(species, limit, unit) == NAMES[at + 1]
        assert size_class(species, round(limit - step, 1), unit) == NAMES[at]


# FSA documentation: limits are minimum lengths.
@pytest.mark.parametrize(
    ("length", "size"),
    [
        (199, "substock"),
        (200, "stock"),
        (299, "stock"),
        (300, "quality"),
        (380, "preferred"),
        (510, "memorable"),
        (630, "trophy"),
    ],
)
def test_largemouth_lengths_in_print(length: float, size: str) -> None:
    assert size_class("largemouth_bass", length, "mm") == size


def test_a_632_mm_fish_is_trophy_and_the_same_fish_in_inches_memorable() -> None:
    assert size_class("largemouth_bass", 632, "mm") == "trophy"
    assert size_class("largemouth_bass", 24.88, "in") == "memorable"


# The international yard and pound agreement of 1959: 1 in = 25.4 mm and 1 lb = 0.45359237 kg, exactly; 16 oz
# to the pound. The expected side is exact rational arithmetic.
@pytest.mark.parametrize("inches", ["1", "16.5", "7.9", "24.88", "0.1", "63"])
def test_the_inch_is_25_4_mm(inches: str) -> None:
    assert parse_length(inches, "in").metric == float(Fraction(inches) * Fraction("25.4"))


@pytest.mark.parametrize("pounds", ["1", "2.3", "22.25", "0.01"])
def test_the_pound_is_453_59237_g(pounds: str) -> None:
    assert parse_weight(pounds, "lb").metric == float(Fraction(pounds) * Fraction("453.59237"))


def test_known_conversions() -> None:
    assert (
        measured_weight(1, "oz").metric == 28.349523125
    )  # NIST SP 811, appendix B.8: 2.834 952 E-02 kg, exact form
    assert parse_weight("2 lb 5 oz").metric == float(Fraction("453.59237") * Fraction(37, 16))
    assert measured_length(41.9, "cm").metric == 419


def test_the_two_tables_do_not_convert() -> None:
    largemouth = five_length("largemouth_bass")
    assert [round(limit * 25.4, 1) for limit in largemouth.least["in"]] != list(largemouth.least["mm"])
    assert largemouth.least["in"][5] * 25.4 == 635
