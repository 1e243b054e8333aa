"""Lengths and weights as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geneticlog.rules.lengths import LengthError, WeightError, parse_length, parse_weight

LENGTHS = [
    ("16 1/2 in", 16.5, "in", 419.1),
    ("16-1/2 in", 16.5, "in", 419.1),
    ('16½"', 16.5, "in", 419.1),
    ("16 ½ inches", 16.5, "in", 419.1),
    ("16.5in", 16.5, "in", 419.1),
    ("16.5 IN.", 16.5, "in", 419.1),
    ("419 mm", 419, "mm", 419),
    ("419MM", 419, "mm", 419),
    ("41,9 cm", 41.9, "cm", 419),
    (" 41.9\N{NO-BREAK SPACE}cm ", 41.9, "cm", 419),
    ("0,453 in", 0.453, "in", 11.5062),
]


@pytest.mark.parametrize(("text", "value", "unit", "mm"), LENGTHS)
def test_a_length_is_kept_as_measured_with_millimetres_beside_it(
    text: str, value: float, unit: str, mm: float
) -> None:
    found = parse_length(text)
    assert (found.value, found.unit, found.metric) == (value, unit, mm)


WEIGHTS = [
    ("2 lb 5 oz", 2.3125, "lb"),
    ("2lb5oz", 2.3125, "lb"),
    ("2 lbs 5.5 oz", 2.34375, "lb"),
    ("2.3 lb", 2.3, "lb"),
    ("2 1/4 lb", 2.25, "lb"),
    ("37 oz", 37, "oz"),
    ("1050 g", 1050, "g"),
    ("1.05 kg", 1.05, "kg"),
]


@pytest.mark.parametrize(("text", "value", "unit"), WEIGHTS)
def test_a_weight_is_kept_as_measured(text: str, value: float, unit: str) -> None:
    found = parse_weight(text)
    assert (found.value, found.unit) == (value, unit)


def test_a_bare_number_takes_the_unit_of_the_survey() -> None:
    assert parse_length("16 1/2", "in").unit == "in"
    assert parse_length("419", "mm").value == 419
    assert parse_weight("2.3", "lb").unit == "lb"
    with pytest.raises(LengthError, match="no unit"):
        parse_length("16.5")
    with pytest.raises(WeightError, match="no unit"):
        parse_weight("2.3")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "long",
        "0 mm",
        "-5 mm",
        "1,250 mm",
        "16 3/2 in",
        "16 1/0 in",
        "12 lb",
        "16 in 4 in",
        "nan",
        "inf",
        "1e3 mm",
        "16..5 in",
        "16.5.1 in",
        "١٦ in",
        "99999999 mm",
        "16 17 in",
    ],
)
def test_what_is_no_length_is_refused_by_name(text: str) -> None:
    with pytest.raises(LengthError) as fault:
        parse_length(text, "in")
    assert text.strip() in str(fault.value)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "heavy",
        "0 g",
        "2 lb 16 oz",
        "2.5 lb 3 oz",
        "5 oz 2 lb",
        "2 lb 5",
        "12 mm",
        "-1 g",
        "2 lb 5 oz 3 g",
    ],
)
def test_what_is_no_weight_is_refused(text: str) -> None:
    with pytest.raises(WeightError):
        parse_weight(text, "g")


@given(st.text(max_size=12))
def test_any_text_is_a_length_or_a_plain_refusal(text: str) -> None:
    try:
        found = parse_length(text, "in")
    except LengthError:
        return
    assert found.metric > 0


@given(st.integers(1, 99_999), st.sampled_from(["mm", "cm", "in"]))
def test_tenths_come_back_as_typed(tenths: int, unit: str) -> None:
    text = f"{tenths // 10}.{tenths % 10}"
    assert parse_length(f"{text} {unit}").value == float(text)
