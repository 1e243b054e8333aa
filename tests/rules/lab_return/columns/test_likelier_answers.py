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
