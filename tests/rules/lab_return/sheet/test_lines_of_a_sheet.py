"""What a line above, between or below the samples says, and which rows a line that is held speaks of."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from return_tables import CODES, PLAIN, SHARES, read

from geneticlog.rules.lab_return.account.account import account_of
from geneticlog.rules.lab_return.drafts.drafts import Drafter
from geneticlog.rules.lab_return.drafts.held_lines import note_held_lines, rows_named
from geneticlog.rules.lab_return.sheet.account_items import SheetMarks
from geneticlog.rules.lab_return.sheet.lines import judge_in_summary, judge_line, other_unit_said, says_total
from geneticlog.rules.lab_return.sheet.sheet_rows import SheetRows
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole


@pytest.mark.parametrize(
    ("text", "verdict", "why"),
    [
        ("", "harmless", "it is empty"),
        ("the heading again", "harmless", "the heading is repeated"),
        (f"see {CODES[0]}", "asked", "it names a vial"),
        (f"vials:{CODES[0]},{CODES[1]}", "asked", "it names a vial"),
        ("*** end of report ***", "harmless", "it ends the file"),
        ("*", "harmless", ""),
        ("* low DNA", "asked", "it may be a footnote"),
        ("Total | 10 | 0.52", "harmless", "a total or a mean"),
        ("Mean of all samples: 0.52", "harmless", "a total or a mean"),
        ("Mean | low", "asked", "it may take values back"),
        ("Florida bass", "asked", "it names a taxon"),
        ("M. salmoides", "asked", "it names a taxon"),
        ("Fla. office", "harmless", "a line of the letterhead"),
        ("12 North Street", "harmless", "a line of the letterhead"),
        ("two were swapped", "asked", "it says 'swapped'"),
        ("values in percent", "asked", "it says 'values'"),
        ("samples were rejected", "asked", "it may take values back"),
        ("Client: the office of fisheries", "harmless", "a line of the letterhead"),
        ("Page 1 of 2", "harmless", "a line of the letterhead"),
        ("Elm Lake", "harmless", "the name of a water"),
        ("Lake Elm", "harmless", "the name of a water"),
        ("Genomics Laboratory, Department of Fisheries", "harmless", "a line of the letterhead"),
        ("mail to lab@example.org", "asked", "'mail' is no word of a letterhead"),
        ("www.example.org", "harmless", "a line of the letterhead"),
        ("38 loci", "harmless", "a line of the letterhead"),
        ("a blue lid", "asked", "it says 'blue'"),
        ("a wooden lid", "asked", "'wooden' is no word of a letterhead"),
    ],
)
def test_what_a_line_says(text: str, verdict: str, why: str) -> None:
    judged, because = judge_line(text, Taxa(), below=False)
    assert (judged, because[: len(why)]) == (verdict, why)


@pytest.mark.parametrize(
    ("text", "below", "verdict"),
    [
        ("Wilhelmina", False, "harmless"),  # a proper name above the samples
        ("Wilhelmina", True, "asked"),
        ("wilhelmina", False, "asked"),
        ("WILHELMINA", False, "asked"),  # five capitals and more shout
        ("ABCD", False, "harmless"),
        ("ABCDE", False, "asked"),
    ],
)
def test_a_capital_makes_a_name_above_the_samples(text: str, below: bool, verdict: str) -> None:
    assert judge_line(text, Taxa(), below=below)[0] == verdict


@pytest.mark.parametrize(
    ("text", "unit", "other", "verdict"),
    [
        ("results in percent", "percent", "", "harmless"),
        ("results in percent", "fraction", "percent", "asked"),
        ("results in fractions", "fraction", "", "harmless"),
        ("results as fraction", "percent", "fraction", "asked"),
        ("results as fraction", "count", "", "asked"),
        ("all from 0 to 1", "percent", "fraction", "harmless"),
        ("percent and fraction of results", "percent", "", "asked"),  # both
        ("call rate of results in percent", "fraction", "", "asked"),  # of something else
        ("ninety percent", "fraction", "", "asked"),  # of nothing named
        ("results within 5 %", "fraction", "", "asked"),  # a margin
    ],
)
def test_a_line_that_names_a_unit(text: str, unit: str, other: str, verdict: str) -> None:
    assert other_unit_said(text, unit) == other
    assert judge_line(text, Taxa(), below=False, unit=unit)[0] == verdict


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("Lake | Mean Florida alleles | n", "harmless"),
        ("Lake | nlmb % | sd", "harmless"),
        ("mean Florida alleles", "asked"),  # no row of a table
        ("Lake | two were swapped", "asked"),
    ],
)
def test_a_line_of_a_summary(text: str, verdict: str) -> None:
    assert judge_in_summary(text, Taxa())[0] == verdict


@pytest.mark.parametrize(
    ("text", "total"),
    [("Total", True), ("grand total for the lake:", True), ("mean n", False), ("Totally", False)],
)
def test_what_stands_before_a_total(text: str, total: bool) -> None:
    assert says_total(text) is total


def with_lines(lines: dict[int, str], **kept: Any) -> Any:
    """A small return with lines at these rows, from 0 above its heading to 20 far below."""
    reading, rows = read(["Florida"], [SHARES], replace(PLAIN, **kept))
    rows += [[("", "empty")]] * 20
    data = tuple(n for n in reading.data_rows if n not in lines)
    return replace(reading, other_rows=tuple(lines.items()), data_rows=data), rows


@pytest.mark.parametrize(
    ("row", "text", "kept", "verdict", "answers"),
    [
        (20, "Page 1", {}, "harmless", None),
        (20, "two were swapped", {}, "asked", ["two were swapped"] * 2),
        (20, "two were swapped", {"harmless": frozenset({"two were swapped"})}, "harmless", None),
        (20, "two were swapped", {"against": frozenset({"two were swapped"})}, "held", None),
        (20, "northern alleles", {}, "asked", ["northern", "northern alleles", "northern alleles"]),
        (20, "northern alleles", {"taxon_of_q": "Florida"}, "asked", ["northern alleles"] * 2),
        (20, "northern alleles", {"taxon_of_q": "northern"}, "used", None),
        (20, "two were swapped", {"taxon_of_q": "northern"}, "asked", ["two were swapped"] * 2),
        (20, "results in percent", {}, "used", ["percent", "fraction"]),
        (
            20,
            "results in percent",
            {"units": {ColumnRole.Q: "fraction"}},
            "asked",
            ["results in percent"] * 2,
        ),
        # a title between the samples, of other shares than those above
        (5, "Northern alleles", {}, "asked", ["Northern alleles"]),
        (5, "Northern alleles", {"against": frozenset({"northern alleles"})}, "held", None),
        (5, "Northern alleles", {"harmless": frozenset({"northern alleles"})}, "asked", ["Northern alleles"]),
        (1, "Northern alleles", {"harmless": frozenset({"northern alleles"})}, "harmless", None),
        (20, "Northern alleles", {"harmless": frozenset({"northern alleles"})}, "harmless", None),
        (5, "Page 1", {}, "harmless", None),
    ],
)
def test_a_line_in_the_account(
    row: int, text: str, kept: dict[str, Any], verdict: str, answers: list[str] | None
) -> None:
    reading, rows = with_lines({row: text}, **kept)
    account, questions = account_of(reading, rows, SheetMarks())
    verdicts = [item.verdict for item in account.items if item.what == "line"]
    if "percent" in text and not kept:  # the unit is asked about, and so is the line
        assert verdicts == ["asked", "asked"]
    else:
        assert verdicts == [verdict]
    asked = [[value for _, _, value in question.choices] for question in questions]
    assert asked[: 1 if answers else None] == ([answers] if answers else [])


@pytest.mark.parametrize(
    ("above", "below", "kept", "asked"),
    [
        (["a wooden lid"], [], {}, 1),
        (["a wooden lid", "a wooden rack", "a wooden box"], [], {}, 3),
        (
            ["a wooden lid", "a wooden rack", "a wooden box", "a wooden cup"],
            [],
            {},
            1,
        ),  # more than three are one
        (["a wooden lid", "a wooden rack"], ["a wooden box", "a wooden cup"], {}, 4),
        ([f"a wooden lid {w}" for w in "abcd"], [f"a wooden box {w}" for w in "abcd"], {}, 2),
        (["a wooden lid", "a wooden rack"], [], {"harmless": frozenset({"a wooden lid"})}, 1),
    ],
)
def test_unknown_lines_are_asked_about_one_by_one_where_they_are_few(
    above: list[str], below: list[str], kept: dict[str, Any], asked: int
) -> None:
    lines = {-i: text for i, text in enumerate(above)} | {20 + i: text for i, text in enumerate(below)}
    reading, rows = with_lines(lines, **kept)
    assert len(account_of(reading, rows, SheetMarks())[1]) == asked


NO_MARKS = SheetMarks()


def held(text: str, row: int = 20, marks: SheetMarks = NO_MARKS, lines: dict[int, str] | None = None,
         cells: dict[int, str] | None = None) -> tuple[list[int], bool]:  # fmt: skip
    """The samples, from 0, that a line that is held speaks of; and whether it speaks of the whole file."""
    from geneticlog.rules.lab_return.words.headings import answer_key

    reading, rows = with_lines({**(lines or {}), row: text}, against=frozenset({answer_key(text)}))
    for n, cell in (cells or {}).items():
        rows[n] = [rows[n][0], (cell, "text")]
    drafts = list(Drafter(reading).drafts(rows))
    for draft in drafts:
        draft.noted.clear()
    note_held_lines(drafts, reading, rows, marks)
    kinds = [[str(noted.kind) for noted in draft.noted] for draft in drafts]
    whole = all("file_in_doubt" in of for of in kinds)
    return [draft.row - 2 for draft, of in zip(drafts, kinds, strict=True) if "marked" in of], whole


@pytest.mark.parametrize(
    ("text", "samples", "whole"),
    [
        ("values may change", [], True),
        (f"{CODES[2]} was low", [2], False),
        (f"{CODES[2]}, {CODES[5]} were low", [2, 5], False),
        (f"{CODES[2]} to {CODES[5]} were low", [2, 3, 4, 5], False),
        (f"{CODES[5]} - {CODES[2]} were low", [2, 3, 4, 5], False),
        (f"all low except {CODES[2]}", [0, 1, *range(3, 10)], False),
        (f"{CODES[2]} and below were low", [], True),  # which others is for a person to read
        (f"{CODES[40]} was low", [], False),  # a vial of another sheet
        ("row 4 was low", [2, 3], False),  # row 4 of the sheet, or the fourth sample
        ("rows 4 to 5 were low", [2, 3, 4], False),
        ("rows 4, 6 were low", [2, 3, 4, 5], False),
        ("line 12 was low", [], True),  # neither
        ("row 4 of the plate was low", [], True),
        ("rows from 4 on were low", [], True),
    ],
)
def test_the_samples_that_a_held_line_speaks_of(text: str, samples: list[int], whole: bool) -> None:
    assert held(text) == (samples, whole)


@pytest.mark.parametrize(
    ("text", "cells", "samples"),
    [
        ("* low DNA", {3: "0.31*", 5: "0.52*"}, [1, 3]),
        ("† low DNA", {3: "0.31*", 5: "0.52†"}, [3]),
        ("a low DNA", {3: "0.31a", 5: "0.52 (a)", 6: "0.63b"}, [1, 3]),
        ("(b) low DNA", {3: "0.31a", 6: "0.63b"}, [4]),
        ("f low DNA", {3: "0.31f"}, []),  # from a to e
    ],
)
def test_footnotes(text: str, cells: dict[int, str], samples: list[int]) -> None:
    assert held(text, cells={n - 1: cell for n, cell in cells.items()})[0] == samples


@pytest.mark.parametrize(
    ("text", "samples"),
    [
        ("yellow is low", [1]),
        ("struck through was low", [2]),
        ("hidden ones were low", [3]),
        ("low ones", []),
    ],
)
def test_a_line_that_explains_a_mark(text: str, samples: list[int]) -> None:
    marks = SheetMarks(colours={(3, 2): "FFFF00"}, struck=frozenset({(4, 2)}), hidden_rows=frozenset({5}))
    assert held(text, marks=marks) == (samples, not samples)


@pytest.mark.parametrize(
    ("row", "lines", "samples"),
    [
        (6, {}, [5, 6, 7, 8, 9]),  # those below it
        (6, {9: "a second plate"}, [5, 6]),  # up to the next line
        (6, {9: "the heading again"}, [5, 6, 8, 9]),
        (6, {4: "a first plate"}, [5, 6, 7, 8, 9]),
        (2, {}, []),  # above all
        (11, {}, []),  # below all
    ],
)
def test_a_line_between_the_samples_is_about_those_below_it(
    row: int, lines: dict[int, str], samples: list[int]
) -> None:
    assert held("values may change", row=row, lines=lines) == (samples, not samples)


def test_rows_of_several_tables_cannot_be_named_by_number() -> None:
    reading, rows = with_lines({})
    drafts = list(Drafter(reading).drafts(rows))
    assert rows_named("row 4 was low", drafts, reading)
    of_two = replace(reading, sheet_rows=SheetRows(("A", "B"), 1000))
    assert not rows_named("row 4 was low", drafts, of_two)


def test_a_layout_without_answers_holds_nothing() -> None:
    reading, rows = with_lines({20: "values may change"})
    drafts = list(Drafter(reading).drafts(rows))
    note_held_lines(drafts, reading, rows, SheetMarks(names=(("file", "return.csv"),)))
    assert not any(draft.noted for draft in drafts)
    assert reading.layout.against == Layout().against
