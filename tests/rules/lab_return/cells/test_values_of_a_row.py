"""What one cell holds, what its row makes of it, and measures beside it that are another fish's."""

from __future__ import annotations

from typing import Any

import pytest
from return_tables import CODES, SHARES, N, but, doubted, read

from geneticlog.rules.lab_return.cells.cell_values import value_in
from geneticlog.rules.lab_return.cells.percent_or_fraction import (
    COUNT,
    FRACTION,
    PERCENT,
    Written,
    fits,
    plainly,
    unit_of,
    values_against,
    whole_percents,
)
from geneticlog.rules.lab_return.doubts_of_rows.other_measures import measures_of_others, other_measures
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.drafts import Drafter
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole


@pytest.mark.parametrize(
    ("cell", "unit", "value", "half", "fault"),
    [
        (("0.25", "text"), FRACTION, 0.25, 0.005, None),
        (("0.25", "number"), FRACTION, 0.25, 0.005, None),
        (("25.0", "text"), PERCENT, 0.25, 0.0005, None),
        (("25%", "text"), FRACTION, 0.25, 0.005, None),
        (("19/76", "text"), COUNT, 0.25, 1e-9, None),
        (("1", "text"), FRACTION, 1.0, 0.5, None),
        (("1.01", "text"), FRACTION, None, 0.0, "impossible_value: 0 to 1"),
        (("101", "text"), PERCENT, None, 0.0, "impossible_value: 0 to 100"),
        (("101%", "text"), FRACTION, None, 0.0, "impossible_value: 0 to 100"),
        (("100", "text"), PERCENT, 1.0, 0.005, None),
        (("-0.01", "text"), FRACTION, None, 0.0, "impossible_value: 0 to 1"),
        (("-0.00", "text"), FRACTION, 0.0, 0.005, "negative_zero: "),
        (("0.00", "text"), FRACTION, 0.0, 0.005, None),
        (("0,25", "text"), FRACTION, 0.25, 0.005, "other_decimal_mark: "),
        (("19", "text"), COUNT, 19.0, 0.0, None),
        (("0", "text"), COUNT, 0.0, 0.0, None),
        (("-1", "text"), COUNT, None, 0.0, "impossible_value: a whole number of alleles or loci"),
        (("1.5", "text"), COUNT, None, 0.0, "impossible_value: a whole number of alleles or loci"),
        (("19%", "text"), COUNT, None, 0.0, "impossible_value: a whole number of alleles or loci"),
        (("", "empty"), FRACTION, None, 0.0, None),
        (("failed", "text"), FRACTION, None, 0.0, None),
        (("99", "text"), FRACTION, None, 0.0, None),  # a number that the lab writes for no result
        (("words", "text"), FRACTION, None, 0.0, "unreadable_value: "),
        (("=A1", "formula"), FRACTION, None, 0.0, "formula_without_value: "),
        (("#N/A", "error"), FRACTION, None, 0.0, "cell_error: "),
    ],
)
def test_what_a_cell_holds(
    cell: tuple[str, str], unit: str, value: float | None, half: float, fault: str | None
) -> None:
    held = value_in(cell, unit, ".", frozenset({"99"}))
    assert held.value == value
    assert held.half_digit == pytest.approx(half)
    assert (f"{held.fault}: {held.how}" if held.fault else None) == fault


def first_of(headings: list[str], *cells: str, panel: int | None = None, **kept: Any) -> Draft:
    """The draft of a row of these cells, among nine others that are plain."""
    plain = {
        "Florida alleles": "19",
        "Loci scored": "38",
        "Alleles scored": "76",
        "Class": "",
        "Florida": "0.2500",
    }
    columns = [[cell, *[plain.get(head, "0.5000")] * 9] for head, cell in zip(headings, cells, strict=True)]
    layout = Layout(columns={"q": headings[0]}, answered=frozenset({"q"}), **kept)
    reading, rows = read(headings, columns, layout)
    return next(iter(Drafter(reading, (), panel).drafts(rows)))


ALLELES = {"units": {ColumnRole.Q: COUNT}}


@pytest.mark.parametrize(
    ("headings", "cells", "more", "q", "loci", "kinds"),
    [
        (["Florida alleles", "Loci scored"], ("19", "38"), ALLELES, 0.25, 38, []),
        (["Florida alleles", "Loci scored"], ("76", "38"), ALLELES, 1.0, 38, []),
        (["Florida alleles", "Loci scored"], ("77", "38"), ALLELES, None, 38, ["count_out_of"]),
        (["Florida alleles", "Loci scored"], ("19", ""), ALLELES, None, None, ["count_out_of"]),
        (["Florida alleles", "Loci scored"], ("19", ""), {**ALLELES, "panel": 38}, 0.25, 38, []),
        (["Florida alleles", "Alleles scored"], ("19", "76"), ALLELES, 0.25, 38, []),
        (["Florida alleles"], ("19/76",), ALLELES, 0.25, 38, []),
        (["Florida alleles"], ("19/75",), ALLELES, None, None, ["count_out_of"]),  # no whole number of loci
        (["Florida alleles", "Loci scored"], ("19/76", "38"), ALLELES, 0.25, 38, []),
        (["Florida alleles", "Loci scored"], ("19/74", "38"), ALLELES, None, 38, ["count_out_of"]),
        (["Florida"], ("19/76",), {}, 0.25, None, []),  # of alleles or of loci is not said
        (["Florida", "Loci scored"], ("0.2500", "36 of 38"), {}, 0.25, 36, []),
        (["Florida", "Loci scored"], ("0.2500", "0"), {}, 0.25, None, ["zero_for_missing"]),
        (["Florida", "Loci scored"], ("0.2500", "999999"), {}, 0.25, 999999, []),
        (["Florida", "Loci scored"], ("0.2500", "1000000"), {}, 0.25, None, ["impossible_value"]),
        (["Florida", "Loci scored"], ("0.2500", "many"), {}, 0.25, None, ["unreadable_value"]),
        (["Florida", "Loci scored"], ("0.2500", "nd"), {}, 0.25, None, []),
        # the other taxon's
        (["Florida", "Loci scored"], ("0.2500", "38"), {"taxon_of_q": "northern"}, 0.75, 38, []),
        # the lab's class
        (["Florida", "Class"], ("0.7500", "Pure Florida"), {}, 0.75, None, []),
        (["Florida", "Class"], ("0.7400", "Pure Florida"), {}, 0.74, None, ["class_contradicts"]),
        (["Florida", "Class"], ("0.5000", "Florida"), {}, 0.5, None, []),
        (["Florida", "Class"], ("0.4900", "Florida"), {}, 0.49, None, ["class_contradicts"]),
        (["Florida", "Class"], ("0.2500", "Pure northern"), {}, 0.25, None, []),
        (["Florida", "Class"], ("0.2600", "Pure northern"), {}, 0.26, None, ["class_contradicts"]),
        (["Florida", "Class"], ("0.2500", "failed"), {}, 0.25, None, ["lab_says_no"]),
    ],
)  # fmt: skip
def test_what_a_row_makes_of_its_cells(
    headings: list[str], cells: tuple[str, ...], more: dict[str, Any], q: float | None, loci: int | None,
    kinds: list[str],
) -> None:  # fmt: skip
    draft = first_of(headings, *cells, **more)
    assert (draft.q, draft.n_loci) == (q, loci)
    doubts = {"count_out_of", "zero_for_missing", "impossible_value", "unreadable_value", "class_contradicts",
              "lab_says_no"}  # fmt: skip
    assert [str(noted.kind) for noted in draft.noted if str(noted.kind) in doubts] == kinds


def test_a_row_without_a_code_is_named_by_what_is_beside_it() -> None:
    reading, rows = read(["Florida", "No", "Lane"], [SHARES, ["7"] * N, ["L" * 40] * N])
    rows[1] = [("", "empty"), *rows[1][1:]]
    first = next(iter(Drafter(reading).drafts(rows)))
    assert first.noted[0].facts["beside"] == f" (Lane: {'L' * 30})"
    assert first.code is None


@pytest.mark.parametrize(
    ("rows", "known", "said"),
    [(["0.25", "0.25"], True, 2), (["0.25", "0.25"], False, 2), (["0.25", "0.31"], True, 2)],
)
def test_rows_of_the_same_figures_have_their_own_code(rows: list[str], known: bool, said: int) -> None:
    reading, table = read(["Florida"], [rows])
    drafts = list(Drafter(reading, CODES if known else ()).drafts(table))
    assert [(draft.row, draft.code, draft.q) for draft in drafts] == [
        (i + 2, CODES[i], float(text)) for i, text in enumerate(rows)
    ]
    drafts[0].noted.append(drafts[0].noted)  # type: ignore[arg-type]
    assert not drafts[1].noted


LENGTHS = [312.0, 455.0, 287.0, 391.0, 520.0, 338.0, 266.0, 414.0, 301.0, 470.0]
MM = [f"{one:.0f}" for one in LENGTHS]


@pytest.mark.parametrize(
    ("heading", "column", "rows"),
    [
        ("TL mm", MM, []),
        ("TL mm", but(MM, _3="395"), []),  # 1 % and half a digit: 391 to 395.4
        ("TL mm", but(MM, _3="396"), [3]),
        ("TL mm", but(MM, _3="520", _4="391"), [3, 4]),
        ("TL mm", but(MM, _3="520", _4="391", _5="300"), []),  # more than two, and than a quarter
        ("TL mm", [*but(MM[:5], _3="520"), *[""] * 5], [3]),
        ("TL mm", [*but(MM[:4], _3="520"), *[""] * 6], []),  # three agree
        ("Length (cm)", but([f"{one / 10:.1f}" for one in LENGTHS], _3="52.0"), [3]),
        ("Length (in)", but([f"{one / 25.4:.1f}" for one in LENGTHS], _3="20.5"), [3]),
        ("Fork length", but(MM, _3="520"), []),
        ("Read length", but(MM, _3="520"), []),
        ("Note", but(MM, _3="520"), []),
        ("Weight g", but(MM, _3="520"), [3]),
        ("DNA weight", but(MM, _3="520"), []),
    ],
)
def test_the_measure_of_another_fish(heading: str, column: list[str], rows: list[int]) -> None:
    reading, table = read(["Florida", heading], [SHARES, column])
    own: dict[str, Any] = {
        what: {i + 2: one for i, one in enumerate(LENGTHS)} for what in ("length_mm", "weight_g")
    }
    assert doubted(other_measures, reading, table, own.__getitem__) == rows
    for row, (words,) in other_measures(reading, table, own.__getitem__).items():
        unit = "g" if heading == "Weight g" else "mm"
        assert (
            words
            == f"column {heading} says {column[row - 2]!r}, and its fish has {LENGTHS[row - 2]:.4g} {unit}"
        )
    two_kinds: dict[str, Any] = {what: dict.fromkeys(range(2, N + 2), 300.0) for what in own}
    assert not other_measures(reading, table, two_kinds.__getitem__)


@pytest.mark.parametrize(
    ("n", "kinds", "spread", "asks"),
    [(8, 3, 1.2, True), (7, 3, 1.2, False), (8, 2, 1.2, False), (8, 3, 1.19, False)],
)
def test_measures_are_compared_where_they_tell_fish_apart(
    n: int, kinds: int, spread: float, asks: bool
) -> None:
    column = [str(100 + i % kinds) if i < n else "" for i in range(N)]
    reading, table = read(["Florida", "TL mm"], [SHARES, column])
    mine = [300 * spread, 300.0, 300.0, 300.0, 300.0, 300.0, 300.0, 300.0, 300.0, 300.0]
    if kinds == 2:
        mine = [300 * spread, 300.0] * 5
    own: dict[str, Any] = {"length_mm": {i + 2: one for i, one in enumerate(mine)}, "weight_g": {}}
    assert bool(measures_of_others(reading, table, own.__getitem__)) is asks


def written(*texts: str, n_loci: int | None = None) -> list[Written]:
    return [
        Written(float(text), 0.5 * 10.0 ** -len(text.partition(".")[2]), n_loci, "." not in text)
        for text in texts
    ]


@pytest.mark.parametrize(
    ("texts", "n_loci", "more", "unit"),
    [
        # four whole numbers, of which no percentage of ten loci makes alleles; three are too few to tell
        (("3", "7", "11", "13"), 10, {}, COUNT),
        (("3", "7", "11"), 10, {}, ""),
        # in one unit alone whole numbers of alleles; at least four in five, and in the other at most half
        (("0.66", "1.32", "1.97", "2.63", "3.29"), 76, {}, PERCENT),
        (("25.00", "50.00", "75.00"), 38, {}, PERCENT),
        # a value of 100.0001 and less may be a percentage
        (("100", "50", "40.5"), None, {}, PERCENT),
        # the sums of half the rows; two sums as often leave it open
        (("0.4", "0.6"), None, {"sums": [(1, 3), (2, 3)]}, FRACTION),
        (("40", "60"), None, {"sums": [(100, 3), (200, 3)]}, PERCENT),
        (("40", "60"), None, {"sums": [(100, 50), (101, 50)]}, PERCENT),
        (("40", "60"), None, {"sums": [(1, 50), (100, 50)]}, ""),
        (("40", "60"), None, {"sums": []}, ""),
        (("40", "60"), None, {"sums": [(98.9, 3)]}, PERCENT),
        (("40", "60"), None, {"sums": [(98.8, 3)]}, ""),
        (("0.4", "0.6"), None, {"sums": [(0.989, 3)]}, FRACTION),
    ],
)
def test_units_at_their_boundaries(
    texts: tuple[str, ...], n_loci: int | None, more: dict[str, Any], unit: str
) -> None:
    assert unit_of(written(*texts, n_loci=n_loci), **more).name == unit


@pytest.mark.parametrize(
    ("unit", "texts", "in_heading", "n_signed", "sure"),
    [
        ("", ("0.2",), "", 0, False),
        (FRACTION, ("0.2",), FRACTION, 0, True),
        (FRACTION, ("0.2", "0.7"), "", 0, True),  # .2 is no percentage of alleles
        (FRACTION, ("0.7", "0"), "", 0, False),
        (FRACTION, ("0.2", "1.2"), "", 0, False),
        (FRACTION, ("0.2", "1.0005"), "", 0, True),
        (PERCENT, ("0.7",), "", 0, False),
        (PERCENT, ("0.7", "1.2"), "", 0, True),
        (PERCENT, ("0.7",), "", 1, True),
        (PERCENT, ("0.7",), FRACTION, 0, False),
    ],
)
def test_a_part_of_a_file_that_is_plainly_in_its_unit(
    unit: str, texts: tuple[str, ...], in_heading: str, n_signed: int, sure: bool
) -> None:
    from geneticlog.rules.lab_return.cells.percent_or_fraction import Unit

    judged = plainly(Unit(unit, ""), written(*texts), in_heading=in_heading, n_signed=n_signed, steps=2)
    assert judged is sure


def test_values_that_can_be_judged_and_those_that_cannot() -> None:
    # of 50 loci, 100 alleles: .010 is one, .014 is none, .004 is less than one; a whole digit of .1 is ten alleles
    assert fits(FRACTION, written("0.010", n_loci=50), 2) == (1, 1)
    assert fits(FRACTION, written("0.014", n_loci=50), 2) == (0, 1)
    assert fits(FRACTION, written("0.004", n_loci=50), 2) == (0, 1)
    assert fits(FRACTION, written("0.1", n_loci=50), 2) == (0, 0)
    assert fits(FRACTION, written("0", n_loci=50), 2) == (0, 0)
    assert fits(PERCENT, written("1.0", n_loci=50), 2) == (1, 1)
    assert whole_percents(written("7", "9", n_loci=24), 2)[:2] == (2, 2)  # 3.36 and 4.32 of 48, +- .26
    assert whole_percents(written("6", n_loci=24), 2)[:2] == (0, 1)  # 2.88
    assert values_against(FRACTION, [-1.0, None]) == 0
