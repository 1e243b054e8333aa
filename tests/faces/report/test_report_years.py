"""The line through the years: figure, table, sentences and numbers are one, at the same sizes of fish."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest
from conftest import Runner
from lakes_support import add_fish, add_lake, add_panel, add_result, add_survey, add_vial
from report_support import page_without_figures
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.faces.report.draw import lake_drawings
from geneticlog.faces.report.year_words import years_sentence, years_sentences, years_table
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.statistics.through_years import yearly_change
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.tables import Lake
from geneticlog.work.report.facts import LakeFacts
from geneticlog.work.report.gather import Wanted, gather_lake

LENGTHS = {"stock": 9.0, "quality": 13.0, "preferred": 16.0}  # inches
YOUNG, OLD = [10, 14, 12, 9, 15, 11, 13, 12], [50, 54, 52, 49, 55, 51, 53, 52]  # alleles of 76


def put(run: Runner, year: int, typed: dict[str, list[int]], **unswabbed: int) -> None:
    """Add a survey with fish of some size classes with so many alleles of 76, and others that were only measured."""
    engine = open_engine(database_url(run.database))
    with Session(engine) as session:
        lake = session.scalar(select(Lake)) or add_lake(session)
        panel = add_panel(session)
        survey = add_survey(session, lake, f"HERON-{year}", date(year, 4, 9))
        for name, alleles in typed.items():
            for k in alleles:
                fish = add_fish(session, survey, LENGTHS[name])
                add_result(session, add_vial(session, fish), k / 76, min(k, 76 - k) / 38, 38, panel)
        for name, n in unswabbed.items():
            for _ in range(n):
                add_fish(session, survey, LENGTHS[name])
        session.commit()
    engine.dispose()


def facts(run: Runner, *, stocking_steps: bool = False) -> LakeFacts:
    engine = open_engine(database_url(run.database))
    with Session(engine) as session:
        lake = gather_lake(
            session,
            "HERON",
            stamp=Stamp("2026-11-01T00:00:00Z", "mb"),
            wanted=Wanted(stocking_steps=stocking_steps),
        )
    engine.dispose()
    return lake


def document(run: Runner, *more: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(run("report", "lake", "HERON", "--json", *more).stdout)[
        "through_years"
    ]
    return found


def test_other_sizes_caught_are_neither_a_trend_nor_scatter(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    # every year the same young and old fish, and more and more old ones in the catch
    for at, year in enumerate((2019, 2021, 2023, 2025)):
        put(run, year, {"stock": YOUNG, "quality": OLD}, stock=40 - 12 * at, quality=4 + 14 * at)
    put(run, 2026, {"stock": YOUNG, "quality": OLD, "preferred": OLD}, stock=2, quality=60)
    line = document(run)
    raw = [
        one["catch_weighted"]["mean"]
        for one in json.loads(run("report", "lake", "HERON", "--json").stdout)["surveys"]
    ]
    assert raw[-1] - raw[0] > 0.2
    assert line["change"]["slope"] == pytest.approx(0, abs=1e-9)
    assert line["change"]["between_sd"] == 0
    assert set(line["weights"]) == {"stock", "quality"}
    assert sum(line["weights"].values()) == pytest.approx(1)
    assert line["left_out"] == ["preferred"]
    assert "(stock, quality; left out: preferred)" in page_without_figures(run)
    # a spreadsheet finds the points again: each class at its mean share of the five catches
    caught = [(48 - 12 * at, 12 + 14 * at) for at in range(4)] + [(10, 68)]
    stock = sum(young / (young + old) for young, old in caught) / 5
    for one in line["points"]:
        assert one["mean"] == pytest.approx((stock * 12 + (1 - stock) * 52) / 76)
        assert (one["n"], one["line"]) == (16, pytest.approx(one["mean"]))


def test_figure_table_sentences_and_numbers_tell_one_line(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    for at, year in enumerate((2019, 2021, 2023, 2025)):
        shift = (0, 5, 9, 15)[at]
        put(
            run,
            year,
            {"stock": [k + shift for k in YOUNG], "quality": [k + shift for k in OLD]},
            stock=9 * at,
        )
    lake = facts(run)
    line = document(run)
    assert lake.through_years is not None
    change = lake.through_years.change
    assert change is not None
    assert (line["change"]["slope"], line["change"]["low"], line["change"]["p"]) == (
        change.slope,
        change.low,
        change.p,
    )
    # its own points give its slope again, with the variances that their intervals say
    points = line["points"]
    again = yearly_change(
        [date.fromisoformat(one["surveyed_on"]).toordinal() / 365.25 for one in points],
        [one["mean"] for one in points],
        [((one["high"] - one["low"]) / (2 * 1.959964)) ** 2 for one in points],
    )
    assert (again.slope, again.low, again.high) == pytest.approx(
        (change.slope, change.low, change.high), rel=1e-5
    )
    (block,) = years_table(lake)
    rows = [[row[0], row[2], row[3], row[5]] for row in block["rows"]]
    assert rows == [[o["survey"], str(o["n"]), f"{o['mean']:.3f}", f"{o['line']:.3f}"] for o in points]
    (figure,) = [one for one in lake_drawings(lake) if one.name == "history"]
    for one in points:
        assert f"{one['surveyed_on']}: {one['mean']:.3f}" in figure.alternative.split("same sizes:")[1]
        assert f"line {one['line']:.3f}" in figure.alternative.split("same sizes:")[1]
    assert f"by {100 * change.slope:.1f} points a year" in years_sentence(lake)
    assert "over 4 surveys" in years_sentence(lake).lower()
    rests = years_sentences(lake)[1]
    assert "the 4 surveys differ by" in rests
    assert "2 degrees of freedom" in rests


def test_three_surveys_leave_one_degree_of_freedom(run_on_sqlite: Runner) -> None:
    for at, year in enumerate((2019, 2021, 2024)):
        put(run_on_sqlite, year, {"stock": [k + 5 * at for k in YOUNG]})
    assert "with 1 degree of freedom" in years_sentences(facts(run_on_sqlite))[1]


def test_steps_that_too_few_surveys_cannot_bear_leave_the_line_without_them(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    for at, year in enumerate((2019, 2021, 2024)):
        put(run, year, {"stock": [k + 5 * at for k in YOUNG]})
    without = document(run, "--stocking-steps")
    assert without["without_steps"] == "no stocking is on record between these surveys"
    run("lake", "stocked", "HERON", "2020-06-01", "Florida", "-n", 500)
    line = document(run, "--stocking-steps")
    assert line["change"] == document(run)["change"] is not None
    assert document(run)["without_steps"] == ""
    assert line["why"] == ""
    page = page_without_figures(run, stocking_steps=True)
    assert f"The line has no steps at stockings: {line['without_steps']}." in page
    assert line["without_steps"] == "3 surveys leave too few degrees of freedom for a line with 1 step"


def test_surveys_without_a_size_in_common_have_no_line(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    for year, name in ((2019, "stock"), (2021, "stock"), (2024, "quality")):
        put(run, year, {name: YOUNG})
    line = document(run)
    assert line["change"] is None
    assert line["why"] == "fewer than 3 surveys have enough results in the same size classes"
