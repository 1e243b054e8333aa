"""Where the heading of a lab's file is, how many rows it has, and where none is."""

from __future__ import annotations

import pytest

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.sheet.heading_rows import (
    begins_with_codes,
    find_heading,
    heading_above_codes,
    heading_score,
)
from geneticlog.rules.lab_return.sheet.reading import Row
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.vialcode import mint

CODES = [code for serial in range(1, 12) if (code := mint("BG", serial))]
PLAIN = "Vial ID|Florida|Loci scored"
SAMPLES = [f"{code}|0.25|38" for code in CODES[:4]]


def rows_of(*lines: str) -> list[Row]:
    return [
        [
            (cell, "empty" if not cell.strip() else "number" if number(cell) else "text")
            for cell in line.split("|")
        ]
        for line in lines
    ]


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ([PLAIN, *SAMPLES], (1, 1, PLAIN)),
        (["Invented laboratory", "", PLAIN, *SAMPLES], (3, 1, PLAIN)),
        ([PLAIN], (1, 1, PLAIN)),
        # a row of units below, and one that is none
        ([PLAIN, "|%|n"], (1, 2, "Vial ID|Florida %|Loci scored n")),
        ([PLAIN, "|%|n", *SAMPLES], (1, 2, "Vial ID|Florida %|Loci scored n")),
        ([PLAIN, "|%|thirty", *SAMPLES], (1, 1, PLAIN)),
        ([PLAIN, "", *SAMPLES], (1, 1, PLAIN)),
        # a heading of two rows: the upper one is merged, or goes over the rest only
        (["|Florida|Loci", "Vial ID|share|scored", *SAMPLES], (1, 2, "Vial ID|Florida share|Loci scored")),
        (["2024|Florida|Loci", PLAIN, *SAMPLES], (2, 1, PLAIN)),
        (["one", PLAIN, *SAMPLES], (2, 1, PLAIN)),
        (["a|b", "|", PLAIN, *SAMPLES], (3, 1, PLAIN)),
        # two rows of samples above are a slip, three are refused
        ([*SAMPLES[:2], PLAIN, SAMPLES[2]], (3, 1, PLAIN)),
        ([*SAMPLES[:3], PLAIN], "row 4: the heading is below the samples here"),
        # it is looked for in 100 rows
        ([*["-"] * 99, PLAIN, *SAMPLES], (100, 1, PLAIN)),
        ([*["-"] * 100, PLAIN, *SAMPLES], "no row looks like a heading"),
        # a second table further down has no say
        ([PLAIN, *SAMPLES, PLAIN + "|Class|Call rate", *SAMPLES], (1, 1, PLAIN)),
        (["x|y|z", "w", *SAMPLES], "no row looks like a heading with a column of vial codes"),
        (["nothing"], "no cell of it is a vial code"),
        ([f"{CODES[0]} 0.5 38", f"{CODES[1]} .5 36"], "its lines do not split into columns"),
    ],
)
def test_the_heading_of_a_sheet(lines: list[str], expected: tuple[int, int, str] | str) -> None:
    if isinstance(expected, str):
        with pytest.raises(SheetFault, match=expected):
            find_heading(rows_of(*lines), Layout(), "return.csv", "")
    else:
        top, n_rows, headings = find_heading(rows_of(*lines), Layout(), "return.csv", "")
        assert (top, n_rows, "|".join(headings)) == expected


@pytest.mark.parametrize(
    ("layout", "expected"),
    [
        (Layout(heading_row=0), (0, 0, "")),
        (Layout(heading_row=1), (1, 1, PLAIN)),
        (Layout(heading_row=2), (2, 1, "|%|n")),
        (Layout(heading_row=1, heading_rows=2), (1, 2, "Vial ID|Florida %|Loci scored n")),
        (Layout(heading_row=5), (5, 1, SAMPLES[2])),
        (Layout(heading_row=4, heading_rows=2), (4, 2, f"{CODES[1]} {CODES[2]}|0.25 0.25|38 38")),
        (Layout(heading_row=6), "there is no heading row 6"),
        (Layout(heading_row=5, heading_rows=2), "there is no heading row 5"),
    ],
)
def test_a_heading_row_that_a_layout_names(layout: Layout, expected: tuple[int, int, str] | str) -> None:
    rows = rows_of(PLAIN, "|%|n", *SAMPLES[:3])
    if isinstance(expected, str):
        with pytest.raises(SheetFault, match=expected):
            find_heading(rows, layout, "return.csv", "")
    else:
        top, n_rows, headings = find_heading(rows, layout, "return.csv", "")
        assert (top, n_rows, "|".join(headings)) == expected


@pytest.mark.parametrize(
    ("columns", "heading"),
    [
        ({ColumnRole.VIAL: "Alpha", ColumnRole.Q: "Beta"}, 1),
        ({ColumnRole.VIAL: "A", ColumnRole.Q: "B"}, 0),  # letters of columns, and no row looks like a heading
        ({ColumnRole.VIAL: "Alpha", ColumnRole.Q: "Other"}, None),  # one of the two names is not there
        ({ColumnRole.VIAL: "A", ColumnRole.Q: "Other"}, None),
        ({}, None),
    ],
)
def test_headings_that_a_layout_names(columns: dict[ColumnRole, str], heading: int | None) -> None:
    rows = rows_of("Alpha|Beta|Gamma", *SAMPLES)
    if heading is None:
        with pytest.raises(SheetFault, match="no row looks like a heading"):
            find_heading(rows, Layout(columns=columns), "return.csv", "")
    else:
        assert find_heading(rows, Layout(columns=columns), "return.csv", "")[0] == heading


@pytest.mark.parametrize(
    ("heading", "score"),
    [
        (PLAIN, 5),
        ("Vial ID|Florida", 4),
        ("Florida|Loci scored", 4),
        ("Vial ID|Florida|Comment", 5),
        ("Vial ID", 0),  # one column alone
        ("Florida", 0),
        ("Vial ID|Comment", 0),  # nothing of a result
        ("Loci scored|Class", 0),  # neither a vial nor a share
        ("Status|Date", 0),
        ("Vial ID|CI", 0),
        ("Vial ID|M. salmoides", 4),
        ("Sample|Date|Lake|Length|Weight", 0),
        ("Sample|Date|Lake|Length|Weight|Sex", 1),  # a list of samples, by its six columns
        ("Date|Lake|Length|Weight|Sex|Comment", 0),
        (f"Vial ID|Florida|{CODES[0]}", 0),  # a row that holds a code is a sample
        (f"Vial ID|Florida|see {CODES[0]}", 0),
    ],
)
def test_how_much_a_row_looks_like_a_heading(heading: str, score: int) -> None:
    assert heading_score(heading.split("|"), Taxa()) == score


@pytest.mark.parametrize(
    ("lines", "row", "begins"),
    [
        ([], 0, False),
        (["Alpha|Beta", *SAMPLES], 1, False),
        (["A title", "Alpha|Beta", *SAMPLES], 2, False),
        (["Alpha", *SAMPLES], 0, True),  # one text is a title
        (["Alpha|Beta|12", *SAMPLES], 1, False),
        (["Alpha|12 %", *SAMPLES], 0, False),
        (SAMPLES, 0, True),
        ([*["-"] * 99, SAMPLES[0]], 0, True),
        ([*["-"] * 100, SAMPLES[0]], 0, False),
    ],
)
def test_a_heading_of_unknown_words_is_right_above_the_first_code(
    lines: list[str], row: int, begins: bool
) -> None:
    rows = rows_of(*lines)
    assert (heading_above_codes(rows), begins_with_codes(rows)) == (row, begins)
