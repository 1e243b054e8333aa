"""Tables with a row for each taxon or locus of a fish: which become wide, which stay, and what is in the wide ones."""

from __future__ import annotations

import pytest
from return_tables import CODES

from geneticlog.rules.lab_return.sheet.reading import Row
from geneticlog.rules.lab_return.sheet.tall import told_apart_by, widen
from geneticlog.rules.lab_return.words.headings import Taxa

A, B, C = CODES[:3]


def rows_of(*lines: str) -> list[Row]:
    return [[(cell, "text" if cell else "empty") for cell in line.split("|")] for line in lines]


def wide(*lines: str) -> tuple[list[str], int, str] | None:
    made = widen(rows_of(*lines), Taxa())
    return made and (["|".join(text for text, _ in row) for row in made.rows], made.heading_row, made.said)


HEAD = "Vial|Taxon|Share"
PLAIN = [HEAD, f"{A}|Florida|.2", f"{A}|Northern|.8", f"{B}|Florida|.3", f"{B}|Northern|.7"]
LOCI = ["Vial|Locus|Call", f"{A}|L1|AA", f"{A}|L2|AB", f"{B}|L2|BB", f"{B}|L1|AA"]


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (PLAIN, (["Vial|Florida Share|northern Share", f"{A}|.2|.8", "", f"{B}|.3|.7", ""], 1, "a row for each taxon")),
        (["A title", *PLAIN],
         (["A title", "Vial|Florida Share|northern Share", f"{A}|.2|.8", "", f"{B}|.3|.7", ""], 2,
          "a row for each taxon")),
        (LOCI, (["Vial|L1|L2", f"{A}|AA|AB", "", f"{B}|AA|BB", ""], 1, "Call")),
        # the code once for each fish
        ([HEAD, PLAIN[1], "|Northern|.8", PLAIN[3], "|Northern|.7"],
         (["Vial|Florida Share|northern Share", f"{A}|.2|.8", "", f"{B}|.3|.7", ""], 1, "a row for each taxon")),
        # what is the same in all rows of a fish stays a column
        (["Vial|Taxon|Share|Lake", f"{A}|Florida|.2|Elm", f"{A}|Northern|.8|Elm"],
         (["Vial|Lake|Florida Share|northern Share", f"{A}|Elm|.2|.8", ""], 1, "a row for each taxon")),
        # a third lineage; a row that ends early is without a value; a line below stays
        ([*PLAIN, f"{A}|spotted|.0", f"{C}|Florida", f"{C}|Northern|.5", "the end"],
         (["Vial|Florida Share|northern Share|spotted Share", f"{A}|.2|.8|.0", "", f"{B}|.3|.7|", "", "", f"{C}||.5|",
           "", "the end"], 1, "a row for each taxon")),
        ([*PLAIN, f"{A}|spotted|.0", f"{B}|shoal|.0"], None),  # four
        ([HEAD, PLAIN[1]], None),  # one row alone
        ([HEAD, PLAIN[1], PLAIN[3]], None),  # one row each
        ([*PLAIN, f"{C}|Florida|.1"], None),
        ([*PLAIN, f"{A}|Florida|.2"], None),  # two rows of the same
        ([HEAD, f"{A}|Florida|.2", f"{A}|spotted|.8"], None),  # not both taxa
        ([HEAD, f"{A}|Florida|.2", f"{A}||.8"], None),
        ([*PLAIN, f"{C}"], None),  # a row that ends before the taxon
        (["Vial|Taxon|Share|Reads", f"{A}|Florida|.2|9", f"{A}|Northern|.8|7"], None),  # two columns vary
        ([HEAD, f"{A}|Florida|.2", f"{A}|Northern|.2"], None),  # none does
        (["Vial|Taxon|Locus|Share", f"{A}|Florida|L1|.2", f"{A}|Northern|L1|.8"], None),  # two keys
        (["Vial|Taxon", f"{A}|Florida", f"{A}|Northern"], None),
        ([f"{A}|Taxon|Share", *PLAIN[1:]], None),  # a row with a code is no heading
        (["Vial|Lane|Share", f"{A}|Florida|.2", f"{A}|Northern|.8"], None),
        (["Vial|Taxon|Share", "x|Florida|.2", "x|Northern|.8"], None),  # no code of ours
        (["Vial|Taxon|Share|Tube", f"{A}|Florida|.2|{A}", f"{A}|Northern|.8|{A}"], None),  # codes in two columns
        ([*["-"] * 99, *PLAIN], (["-"] * 99 + ["Vial|Florida Share|northern Share", f"{A}|.2|.8", "", f"{B}|.3|.7", ""],
                                 100, "a row for each taxon")),
        ([*["-"] * 100, *PLAIN], None),
    ],
)  # fmt: skip
def test_tall_tables_are_made_wide(lines: list[str], expected: tuple[list[str], int, str] | None) -> None:
    assert wide(*lines) == expected


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (["Vial|Trait|Value", f"{A}|q|.2", f"{A}|H|.5"], (1, "Trait")),
        (["A title", "Vial|Trait|Value", f"{A}|q|.2", f"{A}|H|.5"], (2, "Trait")),
        (["Vial|Trait|Value", f"{A}|q|.2", f"{A}|H|.5", f"{B}|q|.2"], None),  # three rows of two vials
        (["Vial|Trait|Value", f"{A}|q|.2", f"{A}|H|.5", f"{A}|x|.5", f"{B}|q|.2"], (1, "Trait")),
        (["Vial|Trait|Value"], None),
        (["Vial|Trait", f"{A}|q", f"{A}|H"], None),  # two columns
        (["Vial|Trait|Item", f"{A}|q|.2", f"{A}|H|.5"], None),  # two of them
        (["Vial|Lake|Value", f"{A}|q|.2", f"{A}|H|.5"], None),
        ([*["-"] * 100, "Vial|Trait|Value", f"{A}|q|.2", f"{A}|H|.5"], None),
    ],
)
def test_what_tells_the_rows_of_a_vial_apart(lines: list[str], expected: tuple[int, str] | None) -> None:
    assert told_apart_by(rows_of(*lines)) == expected
