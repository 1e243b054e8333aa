"""Lists that name in each row what was measured and in which unit, as laboratory systems write them."""

from __future__ import annotations

from typing import Any

import pytest

from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.vialcode import mint
from geneticlog.store.sheets import Cell, Sheet
from geneticlog.work.lab_return.sheets.named_results import with_named_results

CODES = [code for serial in range(1, 20) if (code := mint("BG", serial))]
VALUES = ["31.6", "14.9", "50.0", "23.7"]


def read(heading: str, *rows: str, layout: Layout | None = None) -> tuple[Any, list[str]]:
    """The reading of a list, each row behind a code of its own, and its questions with their answers."""
    lines = [heading, *(f"{code}|{row}" for code, row in zip(CODES, rows, strict=False))]
    cells = [[Cell(text, "text" if text else "empty") for text in line.split("|")] for line in lines]
    sheet = with_named_results(Sheet("", cells), layout or Layout())
    reading = read_columns(sheet.rows, layout or Layout(), file="r.csv")
    return reading, [f"{one.text}; {one.options}" for one in reading.questions]


@pytest.mark.parametrize(
    ("heading", "name", "unit", "says"),
    [
        ("Vial|Analyte|Result|Unit", "Florida alleles", "%", "percent"),
        ("Vial|Test|Result|Units", "Florida", "percent", "percent"),
        ("Vial|Parameter|Value|Unit", "q (Florida)", "proportion", "fraction"),
        ("Vial|Analyte|Result|UOM", "Florida share", "fraction", "fraction"),
    ],
)
def test_a_list_of_one_analyte_is_read_without_a_question(
    heading: str, name: str, unit: str, says: str
) -> None:
    values = VALUES if says == "percent" else [f"{float(one) / 100:.3f}" for one in VALUES]
    reading, questions = read(heading, *(f"{name}|{value}|{unit}" for value in values))
    q = reading.column(ColumnRole.Q)
    assert (q.heading, q.unit, questions) == (name, says, [])


def test_northern_alleles_in_each_row_are_one_question() -> None:
    _, questions = read("Vial|Analyte|Result|Unit", *(f"Northern alleles|{one}|%" for one in VALUES))
    assert [one.rsplit("; ", 1)[1] for one in questions] == ["--taxon northern"]


def test_another_analyte_is_no_share_and_its_unit_is_held_first() -> None:
    _, questions = read(
        "Vial|Analyte|Result|Unit", *(f"Mercury|{one}|mg/kg" for one in VALUES), layout=Layout(heading_row=1)
    )
    assert [one.rsplit("; ", 1)[1] for one in questions] == [
        "--column q=Result",
        "--column failure=Analyte or --harmless Analyte or --hold Analyte",
        "--hold Unit or --harmless Unit",
    ]


def test_answers_about_words_do_not_take_each_others_place() -> None:
    answered = Layout(columns={ColumnRole.FAILURE: "Kind"}, answered=frozenset({ColumnRole.FAILURE}))
    rows = [f"{one}|mercury kit|second bench" for one in VALUES]
    _, first = read("Vial|Florida (%)|Kind|Bench", *rows)
    _, then = read("Vial|Florida (%)|Kind|Bench", *rows, layout=answered)
    assert [("failure=Kind" in one, "failure=Bench" in one) for one in first] == [
        (True, False),
        (False, False),
    ]
    assert not any("failure=" in one for one in then)


@pytest.mark.parametrize(
    ("heading", "units", "unit", "asked"),
    [
        ("Florida", "%|%|%|%", "percent", 0),
        ("Florida", "%|fraction|%|%", "fraction in 1 rows and percent in 3 rows", 0),
        ("Florida (%)", "%|fraction|%|%", "percent", 1),  # the heading says another one
        ("Florida", "%||%|%", "percent", 1),  # a value without one
        ("Florida", "%|mg/kg|%|%", "percent", 1),
    ],
)
def test_a_column_of_units(heading: str, units: str, unit: str, asked: int) -> None:
    values = ["31.6", "0.149" if "fraction" in units else "14.9", "50.0", "23.7"]
    rows = [f"{value}|{one}" for value, one in zip(values, units.split("|"), strict=True)]
    reading, questions = read(f"Vial|{heading}|Unit", *rows)
    about_units = [one for one in questions if "; --hold Unit or --harmless Unit" in one]
    assert len(about_units) == asked
    if not asked:
        assert (reading.column(ColumnRole.Q).unit, questions) == (unit, [])
        assert [reading.column(ColumnRole.Q).unit_at(n) for n in reading.data_rows][1] == (
            "fraction" if "fraction" in units else "percent"
        )
