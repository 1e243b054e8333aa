"""The first answer about a column that is not known: held where it speaks against values, or has others."""

from __future__ import annotations

import pytest
from return_tables import SHARES, N, but, read

from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

FLORIDA = Layout(taxon_of_q="Florida")


def first_answer(heading: str, column: list[str]) -> str:
    reading, _ = read(["Florida", heading], [SHARES, column], FLORIDA)
    (question,) = reading.questions
    return question.options.split(" or ")[0]


@pytest.mark.parametrize(
    ("heading", "column", "answer"),
    [
        ("Duplicate q", but([""] * N, _3="0.99"), '--hold "Duplicate q"'),
        ("Duplicate q", but([""] * N, _3=SHARES[3]), '--harmless "Duplicate q"'),  # the same again
        ("Corrected value", but([""] * N, _3="0.99"), '--hold "Corrected value"'),
        ("Corrected value", but([""] * N, _3=SHARES[3]), '--harmless "Corrected value"'),
        ("Use this", [f"{float(q) / 2:.3f}" for q in SHARES], '--hold "Use this"'),
        ("Contamination (%)", but(["0.3"] * N, _3="42"), '--hold "Contamination (%) other than 0.3"'),
        ("Contamination (%)", ["0.3"] * N, '--harmless "Contamination (%)"'),
        ("Final", but(["1"] * N, _3="0"), '--hold "Final other than 1"'),
        ("Odd", but(["1"] * N, _3="0"), "--column failure=Odd"),
    ],
)
def test_the_first_answer_is_the_likelier_one(heading: str, column: list[str], answer: str) -> None:
    assert first_answer(heading, column) == answer


def test_columns_headed_alike_are_told_apart_by_the_years_below() -> None:
    _, rows = read(["Florida", "Florida"], [SHARES, [f"{float(q) / 2:.3f}" for q in SHARES]], FLORIDA)
    rows.insert(1, [("", "empty"), ("2023", "text"), ("2026", "text")])
    reading = read_columns(rows, FLORIDA, file="return.csv")
    (question,) = (one for one in reading.questions if "could all be" in one.text)
    assert question.text.endswith("below their headings are the years 2023 and 2026")
    assert [value for _, role, value in question.choices if role == ColumnRole.Q] == ["C", "B"]


@pytest.mark.parametrize(
    ("heading", "taxa", "first"),
    [
        ("Share", ["Florida", "Northern"] * 5, '--taxon "each row"'),
        ("Ancestry", ["Florida", "Northern"] * 5, '--taxon "each row"'),
        ("Share", ["Florida", ""] * 5, "--column q=Share"),  # a row without a taxon
    ],
)
def test_a_share_of_the_taxon_of_each_row_is_one_question(heading: str, taxa: list[str], first: str) -> None:
    reading, _ = read(["Taxon", heading], [taxa, SHARES], Layout(heading_row=1))
    assert reading.questions[0].options.split(" or ")[0] == first
    assert len(reading.questions) == 1 or not first.startswith("--taxon")


def test_the_laboratorys_own_controls_do_not_say_the_unit() -> None:
    percents = [f"{100 * float(q):.1f}" for q in SHARES]
    _, rows = read(["Florida (%)"], [percents], FLORIDA)
    own = [
        [(text, "text"), (value, "text")]
        for text, value in (("FLMB control", "99.8"), ("NLMB control", "0.4"))
    ]
    reading = read_columns([*rows, *own], FLORIDA, file="return.csv")
    assert (reading.questions, reading.column(ColumnRole.Q).unit) == ((), "percent")
    own = [[("Sample 12", "text"), ("0.4", "text")]]
    assert read_columns([*rows, *own], FLORIDA, file="return.csv").questions
