"""Limits, intervals and errors beside a share, or behind it, each at its boundary and one step beyond."""

from __future__ import annotations

from typing import Any

import pytest
from return_tables import SHARES, N, but, doubted, read

from geneticlog.rules.lab_return.doubts_of_rows.own_limits import (
    beyond_any_error,
    far_wider,
    outside_interval_behind,
    outside_its_interval,
    outside_its_limits,
    wide_error_behind,
)

LOWER = [f"{float(q) - 0.05:.2f}" for q in SHARES]
UPPER = [f"{float(q) + 0.05:.2f}" for q in SHARES]


@pytest.mark.parametrize(
    ("columns", "rows"),
    [
        ([LOWER, UPPER], []),
        # .44 +- .005 against a limit of .45 or .43 +- .005: just within, and just not
        ([but(LOWER, _3="0.45"), UPPER], []),
        ([but(LOWER, _3="0.46"), UPPER], [3]),
        ([LOWER, but(UPPER, _3="0.43")], []),
        ([LOWER, but(UPPER, _3="0.42")], [3]),
        ([but(LOWER, _3="0.9"), but(UPPER, _3="0.2")], [3]),
        ([but(LOWER, _3=""), but(UPPER, _3="0.2")], []),  # one of the two alone
        ([[f"{float(one) * 100:.0f}" for one in each] for each in (LOWER, UPPER)], []),  # in percent
        (
            [[f"{float(one) * 100:.0f}" for one in each] for each in (but(LOWER, _3="0.46"), UPPER)],
            [3],
        ),
    ],
)
def test_a_share_outside_its_two_limits(columns: list[list[str]], rows: list[int]) -> None:
    reading, table = read(["Florida", "Lower CI", "Upper CI"], [SHARES, *columns])
    assert doubted(outside_its_limits, reading, table) == rows
    for (words,) in outside_its_limits(reading, table).values():
        low, high = (each[3] for each in columns)
        assert words == f"the share is not between {low} and {high} (column Lower CI and column Upper CI)"


@pytest.mark.parametrize(
    ("headings", "named"),
    [
        (["Lower CI", "Upper CI"], True),
        (["q lo", "q hi"], True),
        (["2.5 %", "97.5 %"], True),
        (["Lower CI northern", "Upper CI northern"], False),  # of the other taxon
        (["Lower CI het", "Upper CI het"], False),  # of heterozygosity
        (["Lower CI", "Lower limit"], False),  # two of one kind
        (["First", "Second"], False),
    ],
)
def test_which_columns_are_limits_of_the_share(headings: list[str], named: bool) -> None:
    reading, table = read(["Florida", *headings], [SHARES, but(LOWER, _3="0.90"), but(UPPER, _3="0.99")])
    assert doubted(outside_its_limits, reading, table) == ([3] if named else [])


@pytest.mark.parametrize(
    ("share", "limits", "out"),
    [
        # exactly 0 or 1 may keep .05 from the limits of a posterior; .065 is .05 with both roundings
        ("0.00", ("0.06", "0.20"), False),
        ("0.00", ("0.07", "0.20"), True),
        ("1.00", ("0.80", "0.94"), False),
        ("1.00", ("0.80", "0.93"), True),
        ("0.01", ("0.02", "0.20"), False),
        ("0.01", ("0.03", "0.20"), True),
    ],
)
def test_a_share_of_exactly_none_or_all(share: str, limits: tuple[str, str], out: bool) -> None:
    low, high = but(LOWER, _4=limits[0]), but(UPPER, _4=limits[1])
    reading, table = read(["Florida", "Lower CI", "Upper CI"], [but(SHARES, _4=share), low, high])
    assert doubted(outside_its_limits, reading, table) == ([4] if out else [])


INTERVALS = [f"{low}-{high}" for low, high in zip(LOWER, UPPER, strict=True)]


@pytest.mark.parametrize(
    ("headings", "columns", "rows"),
    [
        (["Lower limit"], [but(LOWER, _0="0.90", _1="0.90")], [0, 1]),  # two of ten
        (["Lower limit"], [but(LOWER, _0="0.90", _1="0.90", _2="0.90")], []),  # three are too many
        (["Lower limit"], [[*but(LOWER[:6], _0="0.90"), *[""] * 4]], [0]),  # six rows are enough
        (["Lower limit"], [[*but(LOWER[:5], _0="0.90"), *[""] * 5]], []),
        (["Upper limit"], [[*but(UPPER[:8], _0="0.01", _1="0.01"), "", ""]], [0, 1]),  # a quarter
        (["Upper limit"], [[*but(UPPER[:7], _0="0.01", _1="0.01"), "", "", ""]], []),
    ],
)
def test_one_limit_beside_the_share(headings: list[str], columns: list[list[str]], rows: list[int]) -> None:
    reading, table = read(["Florida", *headings], [SHARES, *columns])
    assert doubted(outside_its_limits, reading, table) == rows
    way = "below its lower" if headings == ["Lower limit"] else "above its upper"
    for row, words in outside_its_limits(reading, table).items():
        assert words == [f"the share is {way} limit {columns[0][row - 2]} (column {headings[0]})"]


@pytest.mark.parametrize(
    ("column", "rows"),
    [
        (INTERVALS, []),
        (but(INTERVALS, _3="0.00-0.81"), [3]),  # more than .8 of all
        (but(INTERVALS, _3="0.00-0.80"), []),
        (but(INTERVALS, _0="0.00-0.90", _1="0.00-0.90"), [0, 1]),  # at most a quarter
        (but(INTERVALS, _0="0.00-0.90", _1="0.00-0.90", _2="0.00-0.90"), []),
        ([*but(INTERVALS[:6], _3="0.00-0.90"), *[""] * 4], [3]),
        ([*but(INTERVALS[:5], _3="0.00-0.90"), *[""] * 5], []),
        (but([f"{0.1 * (i % 3):.1f}-{0.1 * (i % 3) + 0.3:.1f}" for i in range(N)], _3="0.00-0.89"), []),
        (but([f"{0.1 * (i % 3):.1f}-{0.1 * (i % 3) + 0.3:.1f}" for i in range(N)], _3="0.00-0.92"), [3]),
        (but([f"{100 * float(a):.0f}-{100 * float(a) + 10:.0f}" for a in LOWER], _3="2-81"), []),
        (but([f"{100 * float(a):.0f}-{100 * float(a) + 10:.0f}" for a in LOWER], _3="1-82"), [3]),
    ],
)
def test_an_interval_far_wider_than_the_others(column: list[str], rows: list[int]) -> None:
    reading, table = read(["Florida", "95% CI"], [SHARES, column])
    assert doubted(far_wider, reading, table) == rows
    for row, (words,) in far_wider(reading, table).items():
        low, high = (f"{float(end):g}" for end in column[row - 2].split("-"))
        assert words == (
            f"the interval of column 95% CI goes from {low} to {high}, so nearly any share is as likely"
        )


@pytest.mark.parametrize(
    ("heading", "column", "rows"),
    [
        ("95% CI", INTERVALS, []),
        ("95% CI", but(INTERVALS, _3="0.45-0.60"), []),
        ("95% CI", but(INTERVALS, _3="0.46-0.60"), [3]),
        ("95% CI", but(INTERVALS, _3="0.20-0.42", _5="0.9-1.0"), [3, 5]),
        ("95% CI", ["46-60" if i == 3 else f"{100 * float(a):.0f}-{100 * float(a) + 10:.0f}"
                    for i, a in enumerate(LOWER)], [3]),
        ("95% CI northern", but(INTERVALS, _3="0.46-0.60"), []),
        ("95% CI", ["wide"] * N, []),
    ],
)  # fmt: skip
def test_a_share_outside_the_interval_beside_it(heading: str, column: list[str], rows: list[int]) -> None:
    reading, table = read(["Florida", heading], [SHARES, column])
    assert doubted(outside_its_interval, reading, table) == rows
    for row, words in outside_its_interval(reading, table).items():
        assert words == [f"the share is not in the interval {column[row - 2]!r} of column {heading}"]


@pytest.mark.parametrize(
    ("share", "behind", "out"),
    [
        ("0.14", "(0.10-0.20)", False),
        ("0.14", "(0.15-0.20)", False),  # at the digits written
        ("0.14", "(0.16-0.20)", True),
        ("0.14", "[0.05; 0.12]", True),
        ("0.14", "[0.05 to 0.13]", False),
        ("0.14", "(0.70, 0.90)", True),
        ("0.14", "(0.70)", False),
    ],
)
def test_a_share_outside_the_interval_behind_it(share: str, behind: str, out: bool) -> None:
    reading, table = read(["Florida"], [but(SHARES, _4=f"{share} {behind}")])
    assert doubted(outside_interval_behind, reading, table) == ([4] if out else [])


# sqrt(q (1 - q)) is .3, .433, .4625, .4964, … for the shares here
@pytest.mark.parametrize(
    ("heading", "column", "rows"),
    [
        ("SE", ["0.05"] * N, []),
        ("SE", but(["0.05"] * N, _0="0.31"), []),  # .3 at q .10; .3056 at .105 and half of .01 more
        ("SE", but(["0.05"] * N, _0="0.32"), [0]),
        ("SD", but(["0.05"] * N, _4="0.50"), []),
        ("SD", but(["0.05"] * N, _4="0.51"), [4]),
        ("Std error", but(["0.05"] * N, _4="0.51"), [4]),
        ("Het SE", but(["0.05"] * N, _4="0.90"), []),  # of another figure
        ("Note", but(["0.05"] * N, _4="0.90"), []),
        ("SE", but(["5"] * N, _0="40"), [0]),  # in percent
        ("SE", but(["5"] * N, _0="30"), []),
        ("SE", [*["0.60"] * 2, *["0.05"] * 8], [0, 1]),
        ("SE", [*["0.60"] * 3, *["0.05"] * 7], list(range(N))),  # more than a quarter: the columns are exchanged
        ("SE", [*["0.60"] * 2, *["0.05"] * 4, *[""] * 4], list(range(6))),
        ("SE", [*["0.60"] * 2, *["0.05"] * 3, *[""] * 5], [0, 1]),  # five say too little of all
    ],
)  # fmt: skip
def test_an_error_larger_than_that_of_any_share(heading: str, column: list[str], rows: list[int]) -> None:
    reading, table = read(["Florida", heading], [SHARES, column])
    assert doubted(beyond_any_error, reading, table) == rows
    if len(rows) > 2:
        doubts = [words for (words,) in beyond_any_error(reading, table).values()]
        n = column.count("0.60")
        assert sum(words.startswith("0.60 in column SE") for words in doubts) == n
        assert f"column SE is more than the error of such a share can be in {n} rows" in doubts


@pytest.mark.parametrize(
    ("share", "error", "beyond"),
    [("0.00", "0.055", False), ("0.00", "0.06", False), ("0.00", "0.09", True), ("1.00", "0.06", False)],
)
def test_the_error_of_none_and_all_is_that_of_a_posterior(share: str, error: str, beyond: bool) -> None:
    reading, table = read(["Florida", "SE"], [but(SHARES, _4=share), but(["0.05"] * N, _4=error)])
    assert doubted(beyond_any_error, reading, table) == ([4] if beyond else [])


@pytest.mark.parametrize(
    ("written", "rows"),
    [
        (["{} (0.03)"] * N, []),
        (but(["{} (0.03)"] * N, _4="{} (0.12)"), []),  # four times the others
        (but(["{} (0.03)"] * N, _4="{} (0.13)"), [4]),
        (but(["{} ± 0.03"] * N, _4="{} ± 0.13"), [4]),
        (but(["{} (0.01)"] * N, _4="{} (0.10)"), []),  # no wider than .1
        (but(["{} (0.01)"] * N, _4="{} (0.11)"), [4]),
        (["{}"] * N, []),
    ],
)
def test_a_margin_far_wider_than_the_others(written: list[Any], rows: list[int]) -> None:
    column = [form.format(q) for form, q in zip(written, SHARES, strict=True)]
    reading, table = read(["Florida"], [column])
    assert doubted(wide_error_behind, reading, table) == rows


@pytest.mark.parametrize(("last", "rows"), [("12", []), ("13", [4])])
def test_a_margin_in_percent(last: str, rows: list[int]) -> None:
    column = [f"{100 * float(q):.1f}% ± {last if i == 4 else 3}%" for i, q in enumerate(SHARES)]
    reading, table = read(["Florida"], [column])
    assert doubted(wide_error_behind, reading, table) == rows


def test_without_a_share_nothing_is_said_of_limits() -> None:
    from dataclasses import replace

    reading, table = read(["Florida", "Lower CI", "Upper CI"], [SHARES, but(LOWER, _3="0.90"), UPPER])
    without = replace(reading, columns=tuple(one for one in reading.columns if one.role != "q"))
    for rule in (
        outside_its_limits, outside_its_interval, beyond_any_error, outside_interval_behind, wide_error_behind,
    ):  # fmt: skip
        assert not rule(without, table)
