"""Whose alleles q counts: taken from what the file says, or asked, and with which answers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from return_tables import read

from geneticlog.rules.lab_return.columns.whose_share import (
    EACH_ROW,
    ask_whose_share,
    names_other_shares,
    tells_the_taxon,
    turned_round,
    what_the_other_leaves,
)
from geneticlog.rules.lab_return.sheet.reading import Column
from geneticlog.rules.lab_return.words.headings import BARE_Q, OF_THE_OTHER
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

SHARES = ["0.02", "0.03", "0.98", "0.97", "0.45", "0.20"]
RIGHT = ["northern", "northern", "Florida", "Florida", "F2", ""]


def asked(
    headings: list[str], columns: list[list[str]], lines: tuple[str, ...] = (), why: str = "", **kept: Any
) -> list[tuple[str, list[str]]]:
    """The questions of whose share it is, where q is the column Share, with the values of their answers."""
    layout = Layout(columns={"q": headings[0]}, answered=frozenset({"q"}), **kept)
    reading, rows = read(headings, columns, layout)
    of = tuple(replace(one, why=why or one.why) if one.role == "q" else one for one in reading.columns)
    other_rows = [(40 + i, line) for i, line in enumerate(lines)]
    questions = ask_whose_share(of, rows, reading.data_rows, other_rows, ".", reading.layout)
    return [(question.text, [value for _, _, value in question.choices]) for question in questions]


BOTH = ["Florida", "northern"]
BARE = f"column Share: {BARE_Q}"


@pytest.mark.parametrize(
    ("headings", "columns", "lines", "kept", "text", "answers"),
    [
        (["Share"], [SHARES], (), {}, BARE, BOTH),
        (["Share"], [SHARES], (), {"taxon_of_q": "Florida"}, "", []),
        (["Share"], [SHARES], ("shares of Florida alleles",), {}, "", []),
        (["Share"], [SHARES], ("Florida bass of Elm Lake",), {}, BARE, BOTH),
        (["Share"], [SHARES], ("1 - share of Florida alleles",), {}, BARE, BOTH),
        (["Share"], [SHARES], ("shares of northern alleles",), {}, "a line names northern: 'shares of northern", BOTH),
        (["Share"], [SHARES], ("shares of Florida alleles", "northern"), {}, "a line names northern: 'northern'", BOTH),
        (["Share"], [SHARES], ("shares of salmoides alleles",), {}, "salmoides was the northern fish", BOTH),
        (["Share"], [SHARES], ("share of Micropterus salmoides (2022 nomenclature)",), {}, "", []),
        (["Share"], [SHARES], ("share of M. salmoides (names before 2022 nomenclature)",), {}, "a line says", BOTH),
        (["Share"], [SHARES], ("1 - share of M. salmoides (2022 names)",), {}, BARE, BOTH),
        (["Share"], [SHARES], ("shares of salmoides, not floridanus",), {}, "a line names northern", BOTH),
        # the lab's classes
        (["Share", "Class"], [SHARES, RIGHT], (), {}, "", []),
        (["Share", "Class"], [SHARES, ["northern", *[""] * 5]], (), {}, BARE, BOTH),  # one fish
        (["Share", "Class"], [SHARES, ["northern", "northern", *[""] * 4]], (), {}, "", []),
        (["Share", "Class"], [SHARES, ["Florida", *[""] * 5]], (), {}, BARE, BOTH),
        (["Share", "Class"], [SHARES, ["Florida", "Florida", *[""] * 4]], (), {},
         "class of 2 of 2 fish says otherwise", BOTH),
        (["Share", "Class"], [["0.5", "0.5", "0.51", "0.4"], ["northern", "northern", "Florida", "Florida"]], (), {},
         "", []),
        # the other taxon's column settles it
        (["Share", "Northern"], [SHARES, [f"{1 - float(q):.2f}" for q in SHARES]], (), {}, "", []),
        # a column that names the taxon of each row
        (["Share", "Taxon"], [SHARES, ["Florida", "northern"] * 3], (), {}, "names in each row?", [EACH_ROW, *BOTH]),
        (["Share", "Taxon"], [SHARES, ["Florida", "northern"] * 3], (), {"taxon_of_q": EACH_ROW}, "", []),
        (["Share", "Taxon"], [SHARES, ["Florida"] * 6], (), {"taxon_of_q": EACH_ROW},
         "no column names one of the two taxa in every row", BOTH),
        (["Share", "Taxon"], [SHARES, ["Florida", "northern", "both"] * 2], (), {"taxon_of_q": EACH_ROW},
         "no column names one", BOTH),
    ],
)  # fmt: skip
def test_whose_alleles_an_unnamed_share_counts(
    headings: list[str], columns: list[list[str]], lines: tuple[str, ...], kept: dict[str, Any], text: str,
    answers: list[str],
) -> None:  # fmt: skip
    questions = asked(headings, columns, lines, **kept)
    assert [of for _, of in questions] == ([answers] if answers else [])
    assert all(text in words for words, _ in questions)


@pytest.mark.parametrize(
    ("against", "of", "asks"), [(1, 6, False), (2, 20, False), (2, 19, True), (2, 6, True), (3, 31, False)]
)
def test_a_named_share_is_asked_about_where_classes_say_otherwise(against: int, of: int, asks: bool) -> None:
    classes = ["Florida"] * against + ["northern"] * (of - against)
    questions = asked(["Florida", "Class"], [["0.1"] * of, classes])
    assert [text for text, _ in questions] == (
        [
            "column Florida is taken for the share of Florida alleles, but the lab's class of"
            f" {against} of {of} fish says otherwise"
        ]
        if asks
        else []
    )


def test_a_share_named_for_the_other_taxon() -> None:
    ((text, answers),) = asked(["Share"], [SHARES], why=OF_THE_OTHER)
    assert answers == BOTH[::-1]
    assert text.endswith(f"{OF_THE_OTHER}: whose does it count?")
    assert not asked(["Share"], [SHARES], why="its heading says so")


def column(number: int, heading: str, role: ColumnRole, why: str = "") -> Column:
    return Column(number, heading, role, why)


OTHER = column(2, "Northern", ColumnRole.OTHER_Q)


@pytest.mark.parametrize(
    ("columns", "kept", "role", "asks"),
    [
        ([OTHER], {}, "other_q", "no column that of Florida"),
        ([OTHER], {"taxon_of_q": "northern"}, "q", ""),
        ([OTHER], {"taxon_of_q": "Florida"}, "other_q", "no column that of Florida"),
        ([OTHER], {"answered": frozenset({ColumnRole.OTHER_Q})}, "q", ""),
        ([column(2, "Florida", ColumnRole.OTHER_Q)], {}, "other_q", "but its heading may mean Florida ones"),
        ([column(2, "Florida", ColumnRole.OTHER_Q)], {"answered": frozenset({ColumnRole.OTHER_Q})}, "other_q",
         "may mean Florida ones"),
        ([column(2, "", ColumnRole.OTHER_Q)], {}, "other_q", "column B has the share of northern"),
        ([OTHER, column(3, "Florida", ColumnRole.Q)], {"taxon_of_q": "northern"}, "other_q", ""),
        ([OTHER, column(3, "Third", ColumnRole.THIRD_Q)], {"taxon_of_q": "northern"}, "other_q", ""),
        ([OTHER, column(3, "L1", ColumnRole.MARKER)], {"taxon_of_q": "northern"}, "other_q", ""),
        ([OTHER, column(3, "nlmb", ColumnRole.OTHER_Q)], {"taxon_of_q": "northern"}, "other_q", ""),
        ([column(2, "Note", ColumnRole.NOT_USED)], {"taxon_of_q": "northern"}, "", ""),
    ],
)  # fmt: skip
def test_what_the_other_taxons_share_leaves(
    columns: list[Column], kept: dict[str, Any], role: str, asks: str
) -> None:
    questions: list[Any] = []
    after, layout = what_the_other_leaves(columns, Layout(**kept), questions)
    assert after[0].role == role
    assert (layout.taxon_of_q == "northern") == (role == "q" or kept.get("taxon_of_q") == "northern")
    assert len(questions) == bool(asks)
    assert all(asks in question.text for question in questions)
    assert not what_the_other_leaves(columns, Layout(), [*questions, "another"])[1].taxon_of_q  # type: ignore[list-item]


def test_the_unit_of_what_is_left_is_that_of_the_column() -> None:
    units = {ColumnRole.OTHER_Q: "percent"}
    _, layout = what_the_other_leaves([OTHER], Layout(taxon_of_q="northern", units=units), [])
    assert layout.units == {**units, ColumnRole.Q: "percent"}


@pytest.mark.parametrize(("taxon", "turned"), [("", False), ("Florida", False), ("northern", True)])
def test_a_share_of_the_other_taxon_says_so(taxon: str, turned: bool) -> None:
    columns = [column(2, "Share", ColumnRole.Q, "why"), column(3, "Note", ColumnRole.NOT_USED, "why")]
    q, note = turned_round(columns, Layout(taxon_of_q=taxon))
    assert (q.why != "why", note.why) == (turned, "why")


@pytest.mark.parametrize(
    ("text", "taxon", "other"),
    [
        ("Northern", "", True),
        ("Table 2: share of northern alleles (%)", "", True),
        ("Northern", "northern", False),
        ("Florida", "northern", True),
        ("Florida", "", False),
        ("Florida and northern", "", False),
        ("northern end of the lake", "", False),
        ("42 fish", "", False),
    ],
)
def test_titles_of_other_shares(text: str, taxon: str, other: bool) -> None:
    assert names_other_shares(text, Layout(taxon_of_q=taxon)) is other


@pytest.mark.parametrize(
    ("why", "text", "tells"),
    [
        (BARE_Q, "shares of Florida alleles", True),
        (BARE_Q, "shares of northern alleles", False),
        (BARE_Q, "Florida bass", False),
        ("its heading says so", "shares of Florida alleles", False),
    ],
)
def test_a_line_that_tells_the_taxon(why: str, text: str, tells: bool) -> None:
    assert tells_the_taxon(text, [column(2, "Share", ColumnRole.Q, why)], Layout()) is tells
    assert not tells_the_taxon(text, [column(2, "Share", ColumnRole.NOT_USED, why)], Layout())
