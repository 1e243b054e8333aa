"""What the values of a column look like: each rule at its boundary, one below and one above, and without any value."""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.columns.column_values import (
    codes_in,
    common_value,
    filled_cells,
    is_interval,
    make_a_whole,
    most_with,
    mostly_numbers,
    only_words,
    parts_of_one_whole,
    same_numbers,
    values_in_words,
    words_again,
)
from geneticlog.rules.lab_return.sheet.reading import Row


def column(texts: str) -> list[Row]:
    """Rows of one column; "_" is an empty cell and "!" a row that ends before the column."""
    return [
        [] if text == "!" else [("", "empty")] if text == "_" else [(text, "text")] for text in texts.split()
    ]


def columns(*rows: str) -> list[Row]:
    return [[(text, "empty" if text == "_" else "text") for text in row.split()] for row in rows]


@pytest.mark.parametrize(
    ("texts", "words", "numbers", "again"),
    [
        ("", False, False, False),
        ("_ ! _", False, False, False),
        ("a b c", True, False, False),
        ("a b 1", False, False, False),
        ("a 1 2 b", False, False, False),  # half are numbers
        ("a 1 2", False, True, False),
        ("a 1,5 2", False, True, False),
        ("a _ _", True, False, True),  # in few rows
        ("a b _ _", True, False, True),
        ("a b c _ _", True, False, False),
        ("a a b", True, False, True),  # again, and without a digit
        ("a1 a1 b1", True, False, False),
        ("a1 a1 b c", True, False, False),  # half with a digit
        ("a1 a a b c", True, False, True),
    ],
)
def test_words_and_numbers(texts: str, words: bool, numbers: bool, again: bool) -> None:
    rows = column(texts)
    assert (only_words(rows, 0), mostly_numbers(rows, 0), words_again(rows, 0)) == (words, numbers, again)
    assert len(filled_cells(rows, 0)) == sum(text not in "_!" for text in texts.split())


@pytest.mark.parametrize(
    ("texts", "common", "words"),
    [
        ("a", "", "first value 'a'"),
        ("a a", "", "always 'a'"),
        ("a b", "", "values 'a', 'b'"),
        ("a a a b b", "a", "values 'a' in 3 rows, 'b' in 2 rows"),  # .6 of them
        ("a a a b b c", "", "values 'a' in 3 rows, 'b' in 2 rows, 'c'"),
        ("a b c d e", "", "values 'a', 'b', 'c', 'd', 'e'"),
        ("a b c d e f", "", "first value 'a'"),  # more than five
        ("a a a a a a a a a b c d e", "a", "values 'a' in 9 rows, 'b', 'c', 'd', 'e'"),
        ("a a a a a a a a a b c d e f", "a", "values 'a' in 9 rows, 'b', 'c', 'd', 'e', 1 more"),
        ("x" * 31 + " y", "", f"values '{'x' * 30}', 'y'"),
    ],
)
def test_what_a_column_says_in_a_question(texts: str, common: str, words: str) -> None:
    assert (common_value(column(texts), 0), values_in_words(column(texts), 0)) == (common, words)


def test_a_column_without_a_value_has_no_common_one() -> None:
    assert common_value(column("_ _"), 0) == ""


@pytest.mark.parametrize(
    ("texts", "most"),
    [
        ("", False),
        ("low", False),
        ("0.1-0.2 low low", True),  # words have no say
        ("0.1-0.2 0.3", False),  # half
        ("0.1-0.2 0.3-0.4 0.3", True),
        ("0,1-0,2", True),
        ("0.2-0.1", False),
    ],
)
def test_most_of_a_column_are_intervals(texts: str, most: bool) -> None:
    assert most_with(is_interval, column(texts), 0) is most


@pytest.mark.parametrize(
    ("rows", "whole"),
    [
        (["0.4 0.6", "0.25 0.75", "0.1 0.9"], True),
        (["0.4 0.6", "0.25 0.75"], False),  # two rows
        (["40 60", "25 75", "10 90"], True),
        (["0.4 0.610", "0.25 0.75", "0.1 0.9"], True),  # 1 % for the rounding
        (["0.4 0.612", "0.25 0.75", "0.1 0.9"], False),
        (["0.4 0.6"] * 9 + ["0.4 0.5"], True),  # nine of ten
        (["0.4 0.6"] * 8 + ["0.4 0.5"] * 2, False),
        (["10 66", "20 56", "30 46"], True),  # counts of 76 alleles
        (["10 66", "20 56", "30 47"], False),
        (["10.5 66", "20.5 56", "30.5 46"], False),
        (["0,4 0,6", "0,25 0,75", "0,1 0,9"], True),
        (["0.4 0.6", "0.25 0.75", "0.1 0.9", "0.1 _"], True),
        (["0.4 0.6", "0.25 0.75", "0.1 0.9", "0.1"], True),  # a row that ends early
        (["a b", "c d", "e f"], False),
        (["0 0", "0 0", "0 0"], False),
    ],
)
def test_columns_that_make_a_whole(rows: list[str], whole: bool) -> None:
    assert make_a_whole(columns(*rows), 0, 1) is whole


@pytest.mark.parametrize(
    ("rows", "same"),
    [
        ([], False),
        (["0.25 0.25", "0.5 0.50"], True),
        (["0.25 25", "0.5 50"], True),  # in percent
        (["25 0.25", "50 0.5"], True),
        (["0.25 25", "0.5 0.5"], False),  # in percent here, and not there
        (["0.25 0.26"], True),  # .25 +- .005 and .26 +- .005
        (["0.25 0.27"], False),
        (["0 0", "0.25 25"], True),
        (["low low", "0.5 50"], True),
        (["low high"], False),
        (["low 0.5"], False),
        (["0.5 _", "0.5 0.5"], False),
        (["_ 0.5", "0.5 0.5"], False),
        (["_ _", "0.5 0.5"], True),  # neither says anything
        (["_ _"], False),
        (["0.5", "0.5 0.5"], True),  # a row that ends early
        (["0,5 0.5"], True),
    ],
)
def test_two_columns_that_say_the_same(rows: list[str], same: bool) -> None:
    assert same_numbers(columns(*rows), 0, 1) is same


@pytest.mark.parametrize(
    ("texts", "first"),
    [
        ("40/60 24/76 10/90", "40/60"),
        ("40/60 24/76", ""),  # two are too few
        ("40/60 24/76 40/60", ""),
        ("x 40/60 24/76 10/90", "40/60"),
        ("40/76 24/76 10/76", ""),  # out of one number
        ("40/60 24/76 10/91.1", "40/60"),  # 101.1, within 1.1 %
        ("40/60 24/76 10/91.2", ""),
        ("0,4;0,6 0.24:0.76 0.1|0.9", "0,4;0,6"),
        ("4 5 6", ""),
    ],
)
def test_two_parts_of_one_whole(texts: str, first: str) -> None:
    assert parts_of_one_whole(texts.split()) == first


def test_codes_in_a_column() -> None:
    assert codes_in(column("BG000001J x ! BG000002H _"), 0) == ["BG000001J", "BG000002H"]
