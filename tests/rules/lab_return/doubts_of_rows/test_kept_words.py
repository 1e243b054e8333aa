"""A column that was kept as harmless is looked at for what it says now and did not say then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.doubts_of_rows.kept_words import account_of_kept, words_seen
from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.vialcode import mint
from geneticlog.store.layouts import layout_of, read_layout, write_layout

CODES = [code for serial in range(1, 40) if (code := mint("BG", serial))]
FIRST = Layout(harmless=frozenset({"flag"}))


def read(flags: Sequence[str], layout: Layout, heading: str = "Flag") -> tuple[Reading, list[Row]]:
    rows: list[Row] = [[("Vial", "text"), ("Florida", "text"), (heading, "text")]]
    rows += [
        [(code, "text"), (f"0.{i + 1}1", "text"), (flag, "text" if flag else "empty")]
        for i, (code, flag) in enumerate(zip(CODES, flags, strict=False))
    ]
    return read_columns(rows, layout, file="return.csv"), rows


@pytest.mark.parametrize(
    ("then", "now", "asked"),
    [
        (["0"] * 6, ["0"] * 6, []),
        (["0"] * 6, ["0", "1", "0", "1", "0", "0"], ["1"]),
        ([""] * 6, ["", "", "low", "", "", ""], ["low"]),  # it was empty
        (["a", "b", "c", "d", "e", "f"], ["g"] * 6, ["g"]),
        (["1", "2", "3", "4", "5", "6", "7"], ["8"] * 7, []),  # numbers, each of which may be new
    ],
)
def test_a_new_word_in_a_kept_column_is_asked_about(
    then: list[str], now: list[str], asked: list[str]
) -> None:
    reading, rows = read(then, FIRST)
    kept = layout_of(replace(reading, layout=replace(reading.layout, seen=words_seen(reading, rows))))
    again = read_layout(write_layout(kept), "layout of lab INVENTED")
    items, questions = account_of_kept(*read(now, again))
    assert [item.text for item in items] == asked
    assert [question.choices[1][2] for question in questions] == asked
    for word in asked:
        held = replace(again, against=frozenset({word}))
        assert not account_of_kept(*read(now, held))[1]
    assert not account_of_kept(*read(now, FIRST))[1]  # a person says it of this file


@pytest.mark.parametrize(
    ("heading", "layout", "asks"),
    [
        ("Florida", Layout(columns={"q": "Value"}), True),
        ("Florida", Layout(columns={"q": "Value"}, answered=frozenset({"q"})), False),
        ("Florida", Layout(columns={"q": "Value"}, harmless=frozenset({"florida"})), False),
        ("Florida 2024", Layout(columns={"q": "Value"}), False),  # no plain share
        ("Loci", Layout(columns={"q": "Value"}), False),
    ],
)
def test_a_column_that_fits_better_than_the_kept_one_is_asked_about(
    heading: str, layout: Layout, asks: bool
) -> None:
    rows: list[Row] = [[("Vial", "text"), ("Value", "text"), (heading, "text")]]
    rows += [[(code, "text"), (f"0.{i + 1}1", "text"), ("0.5", "text")] for i, code in enumerate(CODES[:6])]
    reading = read_columns(rows, replace(layout, taxon_of_q="Florida"), file="return.csv")
    assert any("was kept for the share" in question.text for question in reading.questions) is asks
