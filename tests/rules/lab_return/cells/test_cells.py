"""What one cell of a lab's file says: a number, a word for no result, what a spreadsheet made of it, or neither."""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.cells.cell_values import NOTHING, value_in
from geneticlog.rules.lab_return.cells.cells import (
    decimal_mark,
    missing_meaning,
    number,
    number_of_other_mark,
)
from geneticlog.rules.lab_return.cells.mangled import mangled_code, mangled_value


@pytest.mark.parametrize(
    ("text", "decimal", "read"),
    [
        ("0.25", ".", (0.25, False, 0.005, None)),
        (" 25 % ", ".", (25.0, True, 0.5, None)),
        ("25.0%", ".", (25.0, True, 0.05, None)),
        ("−0.5", ".", (-0.5, False, 0.05, None)),
        (".5", ".", (0.5, False, 0.05, None)),
        ("0,25", ",", (0.25, False, 0.005, None)),
        ("0.25", ",", None),
        ("0,25", ".", None),
        ("2.5E-1", ".", (0.25, False, 0.005, None)),
        ("25e-2", ".", (0.25, False, 0.005, None)),
        ("19/76", ".", (0.25, False, 1e-9, 76)),
        ("19 of 76", ".", (0.25, False, 1e-9, 76)),
        ("76/76", ".", (1.0, False, 1e-9, 76)),
        ("77/76", ".", None),
        ("0/0", ".", None),
        ("0.21 ± 0.03", ".", (0.21, False, 0.005, None)),
        ("0.21 (0.18-0.25)", ".", (0.21, False, 0.005, None)),
        ("0.250000000000", ".", (0.25, False, 1e-9, None)),  # twelve digits are a binary fraction
        ("0.25000000000", ".", (0.25, False, 0.5e-11, None)),
        ("1e301", ".", None),
        ("nan", ".", None),
        ("1_000", ".", None),
        ("", ".", None),
    ],
)
def test_numbers(text: str, decimal: str, read: tuple[float, bool, float, int | None] | None) -> None:
    figure = number(text, decimal)
    if read is None:
        assert figure is None
        return
    assert figure is not None
    assert (figure.value, figure.signed, figure.of) == (read[0], read[1], read[3])
    assert figure.half_digit == pytest.approx(read[2], rel=1e-9)


@pytest.mark.parametrize(
    ("text", "percent", "share"),
    [("25.3", True, (0.253, 0.0005)), ("25.3%", False, (0.253, 0.0005)), ("0.253", False, (0.253, 0.0005)),
     ("2.53e1", True, (0.253, 0.0005)), ("19/76", True, (0.25, 1e-9))],
)  # fmt: skip
def test_a_number_as_a_share_of_one(text: str, percent: bool, share: tuple[float, float]) -> None:
    figure = number(text)
    assert figure is not None
    assert figure.as_fraction(percent) == pytest.approx(share, rel=1e-9)


def test_half_of_a_count() -> None:
    count, ratio = number("38"), number("38/76")
    assert count is not None
    assert ratio is not None
    assert (count.halved().value, ratio.halved().value, ratio.halved().of) == (19.0, 0.5, 38)


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [("0,25", ".", 0.25), ("0.25", ",", 0.25), ("15,79", ".", 15.79), ("1,234", ".", None), ("0,123", ".", 0.123),
     (",123", ".", 0.123), ("-1,234", ".", None), ("1,2345", ".", 1.2345), ("25", ".", None), ("a,b", ".", None)],
)  # fmt: skip
def test_a_number_with_the_other_decimal_mark(text: str, decimal: str, value: float | None) -> None:
    figure = number_of_other_mark(text, decimal)
    assert (figure and figure.value) == value


@pytest.mark.parametrize(
    ("texts", "mark", "evidence"),
    [
        ({"0.25": 3, "0,25": 1}, ".", "3 of 4 decimals are written with a point"),
        ({"0.25": 1, "0,25": 3}, ",", "3 of 4 decimals are written with a comma"),
        ({"0.25": 1, "0,25": 1}, ".", "1 of 2 decimals are written with a point"),
        ({"12 %": 4, "25": 1}, ".", "there are no decimals"),
        ({"12,5 %": 4, "-0,5": 1, "1234,5": 9}, ",", "5 of 5 decimals are written with a comma"),
    ],
)
def test_the_decimal_mark_of_a_column(texts: dict[str, int], mark: str, evidence: str) -> None:
    assert decimal_mark(texts) == (mark, evidence)


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("", "no result"), ("  FAILED ", "failed"), ("not run", "not run"), ("Low Call Rate", "below call rate"),
        ("n/a", "no result"), ("fail – low DNA", "failed"), ("no amp (2x)", "failed"), ("lost, in the post", "not run"),
        ("fail - low DNA", "failed"), ("low quality: 12", None), ("none: ask", None), ("failed at 0.4", None),
        ("failed (0.4)", None), ("0.25", None), ("weak", None), ("gone", "failed"),
    ],
)  # fmt: skip
def test_words_for_no_result(text: str, meaning: str | None) -> None:
    assert missing_meaning(text, frozenset({"gone"})) == meaning


@pytest.mark.parametrize(
    ("cell", "unit", "value", "fault", "how"),
    [
        (("0.25", "text"), "fraction", 0.25, None, ""),
        (("25", "number"), "percent", 0.25, None, ""),
        (("25 %", "text"), "fraction", 0.25, None, ""),
        (("19", "number"), "count", 19.0, None, ""),
        (("19/76", "text"), "count", 0.25, None, ""),
        (("1.0", "text"), "fraction", 1.0, None, ""),
        (("0", "number"), "fraction", 0.0, None, ""),
        (("1.001", "text"), "fraction", None, "impossible_value", "0 to 1"),
        (("100.1", "text"), "percent", None, "impossible_value", "0 to 100"),
        (("100.1 %", "text"), "fraction", None, "impossible_value", "0 to 100"),
        (("-0.01", "text"), "fraction", None, "impossible_value", "0 to 1"),
        (("-0.0", "text"), "fraction", 0.0, "negative_zero", ""),
        (("0,25", "text"), "fraction", 0.25, "other_decimal_mark", ""),
        (("19.5", "number"), "count", None, "impossible_value", "a whole number of alleles or loci"),
        (("-1", "number"), "count", None, "impossible_value", "a whole number of alleles or loci"),
        (("19 %", "text"), "count", None, "impossible_value", "a whole number of alleles or loci"),
        (("many", "text"), "fraction", None, "unreadable_value", ""),
        (("0.25", "formula"), "fraction", None, "formula_without_value", ""),
        (("#REF!", "error"), "fraction", None, "cell_error", ""),
        (("2026-05-12", "text"), "fraction", None, "mangled_value", "it is a date now"),
    ],
)
def test_the_share_or_count_in_a_cell(
    cell: tuple[str, str], unit: str, value: float | None, fault: str | None, how: str
) -> None:
    held = value_in(cell, unit, ".", frozenset())
    assert (held.value, held.fault, held.how, held.word) == (value, fault, how, None)
    assert held.of == (76 if "/" in cell[0] else None)


def test_an_empty_cell_and_a_word_hold_no_value_and_no_fault() -> None:
    assert value_in(("", "empty"), "fraction", ".", frozenset()) == NOTHING
    for word in (" failed ", "gone"):
        held = value_in((word, "text"), "fraction", ".", frozenset({"gone"}))
        assert (held.value, held.fault, held.word) == (None, None, word.strip())


@pytest.mark.parametrize(
    ("text", "kind", "code", "value"),
    [
        ("5-Jan", "text", "a date", "a date"),
        ("2026-05-12", "text", "a date", "a date"),
        ("46000", "date", "a date", "a date"),
        ("7:30", "text", "a time of day", ""),
        ("0.3", "time", "a time of day", "a time of day"),
        ("TRUE", "boolean", "TRUE or FALSE", "TRUE or FALSE"),
        ("1.2E+05", "text", "an exponent", ""),
        ("12.00", "text", "a decimal point", ""),
        ("12.50", "text", "", ""),
        ("12", "text", "a bare number", ""),
        ("12.5", "number", "a bare number", ""),
        ("BG000001J", "text", "", ""),
    ],
)
def test_what_a_spreadsheet_made_of_a_code_and_of_a_value(
    text: str, kind: str, code: str, value: str
) -> None:
    for how, words in ((mangled_code(text, kind), code), (mangled_value(text, kind), value)):
        assert words in how
        assert bool(how) is bool(words)
