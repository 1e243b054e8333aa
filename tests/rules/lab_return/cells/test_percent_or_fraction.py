"""The unit of a column of shares: percent, a fraction or a count, and asked where its numbers can be two of them."""

from __future__ import annotations

from typing import Any

import pytest

from geneticlog.rules.lab_return.cells.percent_or_fraction import (
    COUNT,
    FRACTION,
    PERCENT,
    Written,
    could_be,
    fits,
    unit_of,
    values_against,
    whole_percents,
)


def written(text: str, n_loci: int | None = None) -> Written:
    return Written(float(text), 0.5 * 10.0 ** -len(text.partition(".")[2]), n_loci, "." not in text)


@pytest.mark.parametrize(
    ("numbers", "heading", "n_loci", "more", "unit", "evidence"),
    [
        ("", "", None, {}, FRACTION, "holds no number"),
        ("", "", None, {"n_signed": 3}, PERCENT, "every value names its unit"),
        (
            "25 50",
            "",
            None,
            {"n_signed": 1},
            "",
            "1 value names its unit (a percent sign, or out of how many) and 2",
        ),
        ("0 0 0", "", None, {}, FRACTION, "every value is 0"),
        ("0 0 0", "Florida %", None, {}, PERCENT, "every value is 0"),
        # by their size
        ("0.25 0.5 0", "", None, {}, FRACTION, "no value is above 1, the largest 0.5"),
        ("0.25 0.5 1.0004", "", None, {}, FRACTION, "no value is above 1"),
        ("0.25 0.5 1.0006 0.1 0.2", "", None, {}, FRACTION, "4 of 5 values would be less than one allele"),
        ("25 50 1.5", "", None, {}, PERCENT, "3 of 3 values are above 1, the largest 50"),
        ("25.5 50.1 0.66", "", None, {}, PERCENT, "2 of 3 values are above 1"),
        ("25.5 50.1 0.3", "", None, {}, "", "2 of 3 values are above 1"),  # 0.3 % is less than one allele
        ("100.5 50 40 30 20 10", "", None, {}, PERCENT, "6 of 6"),  # one in six may be a slip
        ("101 50 40", "", None, {}, COUNT, "3 of 3"),
        ("101 50 40 30", "", None, {}, "", "all 4 values are whole numbers"),
        ("12 30", "", None, {"counts": False}, PERCENT, "2 of 2"),
        ("3 10 40", "", None, {}, "", "all 3 values are whole numbers, the largest 40, and may be a count"),
        ("5 10 40", "", 10, {}, PERCENT, "3 of 3"),  # of 20 alleles none is the 40th
        # few fish of one allele each, beside as many of none, may be percents
        ("0.7 0.71 0 0", "", None, {}, "", "a percentage of few alleles (the largest is 0.71)"),
        ("0.7 0.71 0", "", None, {}, "", "a percentage of few alleles"),
        ("0.7 0.71 0.7 0", "", None, {}, FRACTION, "no value is above 1"),
        ("0.7 0.9 0 0 0", "", None, {}, FRACTION, "no value is above 1"),
        # 0 and 1 alone
        ("0 1 1", "", None, {}, "", "1 may be one percent or the whole"),
        ("0 1 1", "percent", None, {}, "", "1 may be one percent or the whole"),
        ("0 1 1", "fraction", None, {}, FRACTION, "the heading says so"),
        # the heading, and numbers against it
        ("25.0 50.0 1.5", "pct", None, {}, PERCENT, "the heading says so, and 3 of 3 values are above 1"),
        ("0.25 0.5", "Florida %", None, {}, "", "says percent, but no value is above 1 (the largest is 0.5)"),
        ("25 50", "proportion", None, {}, "", "says a fraction, but 2 of 2 values are above 1"),
        # by the loci scored
        (
            "2 6 10 15",
            "Florida alleles",
            38,
            {},
            COUNT,
            "4 of 4 of which are not the percentage of any number",
        ),
        ("4 7 9 12 13 30", "Florida alleles", 38, {}, "", "may be a count"),
        ("12 30", "heterozygous loci", 38, {"steps": 1}, COUNT, "2 of 2 of which"),
        # by the sums over all taxa
        (
            "0.25 0.5 0.75",
            "",
            None,
            {"sums": [(1, 38), (1.011, 38), (0.5, 38)]},
            FRACTION,
            "sum to 1 in 2 of 3 rows",
        ),
        (
            "25 50 75",
            "",
            None,
            {"sums": [(100, 38), (101.1, 38), (0.5, 38)]},
            PERCENT,
            "sum to 100 in 2 of 3",
        ),
        ("19 38 57", "", None, {"sums": [(76, 38)] * 3}, COUNT, "sum to all alleles in 3 of 3 rows"),
        ("19 38 57", "", None, {"sums": [(77, 38)] * 3}, "", "may be a count"),
        (
            "25 50",
            "",
            None,
            {"sums": [(1, 38), (3, 3), (3, 3)]},
            "",
            "may be a count",
        ),  # one of three says too little
    ],
)
def test_the_unit_of_a_column(
    numbers: str, heading: str, n_loci: int | None, more: dict[str, Any], unit: str, evidence: str
) -> None:
    judged = unit_of([written(text, n_loci) for text in numbers.split()], heading=heading, **more)
    assert judged.name == unit
    assert evidence in judged.evidence


def test_only_whole_numbers_can_be_chosen_as_counts() -> None:
    assert unit_of([written(text) for text in ("3", "10", "40")]).choices == (PERCENT, FRACTION, COUNT)
    assert unit_of([written(text) for text in ("0.7", "0.71", "0")]).choices == (FRACTION, PERCENT)
    assert (
        unit_of([written(text) for text in ("3", "10", "40")], heading="Florida (of 76)").choices[0] == COUNT
    )
    assert unit_of([written(text) for text in ("0", "1")], heading="number of alleles").choices == (
        PERCENT,
        FRACTION,
        COUNT,
    )


@pytest.mark.parametrize(
    ("unit", "text", "n_loci", "steps", "possible"),
    [
        (FRACTION, "1.0005", None, 2, True),
        (FRACTION, "1.001", None, 2, False),
        (COUNT, "76", 38, 2, True),
        (COUNT, "77", 38, 2, False),
        (COUNT, "39", 38, 1, False),
        (COUNT, "7", None, 2, True),
        (COUNT, "7.0", 38, 2, False),
        (PERCENT, "100", None, 2, True),
        (PERCENT, "100.1", None, 2, False),
        (PERCENT, "0.64", None, 2, False),
        (PERCENT, "0.66", None, 2, True),  # one of 76 loci' alleles: 100 / 152
        (PERCENT, "0.66", None, 1, False),  # loci are twice as far apart
        (PERCENT, "0.95", None, 2, False),  # 52.6 loci
        (PERCENT, "1", None, 2, True),
    ],
)
def test_what_a_number_could_be(unit: str, text: str, n_loci: int | None, steps: int, possible: bool) -> None:
    assert could_be(unit, written(text, n_loci), steps) is possible


def test_values_that_are_whole_numbers_of_alleles() -> None:
    # 19 and 38 of 76 alleles are .2500 and .5000; .2600 is 19.76; a value in whole percents tells nothing of 38 loci
    values = [written(text, 38) for text in ("0.2500", "0.5000", "0.2600", "0.0020", "0.0")] + [
        written("0.2500")
    ]
    assert fits(FRACTION, values, 2) == (2, 4)
    assert fits(PERCENT, [written(text, 38) for text in ("25.00", "26.00", "50")], 2) == (1, 2)


def test_whole_percents_that_no_number_of_alleles_gives() -> None:
    # of 38 loci 1, 3 and 4 % are some number of alleles, and 2 % is none
    n_none, n, chance = whole_percents(
        [written(text, 38) for text in ("1", "2", "3", "4")] + [written("9")], 2
    )
    assert (n_none, n) == (1, 4)
    assert chance == pytest.approx((2 * (0.38 + 0.02)) ** 4)
    assert whole_percents([written("7", 60)], 2)[:2] == (0, 0)  # half a percent is more than half an allele


def test_values_against_their_unit() -> None:
    values = [None, 0.0, 0.64, 0.65, 1.0, 1.0005, 1.001, 40.0]
    assert [values_against(unit, values) for unit in (PERCENT, FRACTION, COUNT)] == [1, 2, 0]
