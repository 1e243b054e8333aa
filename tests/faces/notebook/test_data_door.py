"""The data door: tidy tables of a database, read only, with the report's own numbers."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pandas as pd
import pytest
from conftest import Runner
from lakes_support import (
    add_catch,
    add_fish,
    add_lake,
    add_panel,
    add_result,
    add_stocking,
    add_survey,
    add_vial,
)
from sqlalchemy import text
from sqlalchemy.orm import Session

import geneticlog
from geneticlog.errors import NotFound, StoreUnready
from geneticlog.faces.notebook.columns import TABLES
from geneticlog.faces.notebook.log import Log


@pytest.fixture
def filled(session: Session) -> Session:
    lake, panel = add_lake(session), add_panel(session)
    before = add_survey(session, lake, "HERON-2024", date(2024, 5, 14))
    after = add_survey(session, lake, "HERON-2026", date(2026, 4, 9))
    add_catch(
        session, before, {10.0: (30, [0, 2, 4, 6, 8, 0, 2, 4]), 13.5: (20, [4, 6, 8, 10, 12, 4])}, panel
    )
    add_catch(session, after, {10.0: (25, [8, 12, 16, 20, 4, 8]), 13.5: (22, [4, 6, 30, 10, 12])}, panel)
    held = add_vial(session, add_fish(session, after, 16.0))
    add_result(session, held, 0.9, panel=panel, standing="held")
    add_stocking(session, lake, date(2025, 6, 1), 2000)
    add_lake(session, "OTTER", "Otter Lake")
    session.commit()
    return session


@pytest.fixture
def log(filled: Session, database: str) -> Iterator[Log]:
    with geneticlog.open(database) as log:
        yield log


def test_every_table_has_exactly_the_documented_columns_and_dtypes(log: Log) -> None:
    for table in TABLES:
        frame = getattr(log, table)()
        assert list(frame.columns) == [column.name for column in TABLES[table]], table
        for column in TABLES[table]:
            dtype = frame[column.name].dtype.name
            assert dtype.partition("[")[0] == column.dtype.partition("[")[0], (table, column.name)
        described = log.describe(table)
        assert list(described["column"]) == list(frame.columns), table
        assert described["meaning"].str.len().gt(5).all(), table
        empty = frame.iloc[:0]
        assert list(empty.dtypes) == list(frame.dtypes), table


def test_an_empty_database_has_the_same_tables_without_rows(database: str) -> None:
    with geneticlog.open(database) as log:
        for table in TABLES:
            frame = getattr(log, table)()
            assert len(frame) == 0, table
            assert list(frame.columns) == [column.name for column in TABLES[table]], table


def test_fish_carry_the_results_that_count(log: Log) -> None:
    fish = log.fish()
    assert fish["n_fish"].sum() == 98
    assert fish["in_the_numbers"].sum() == fish["q"].notna().sum() == 25
    assert fish["swabbed"].sum() == 26  # the held one is swabbed and in no number
    assert fish["size_class"].cat.ordered
    order = list(fish["size_class"].cat.categories)
    assert order == ["substock", "stock", "quality", "preferred", "memorable", "trophy"]
    assert fish["surveyed_on"].min() == pd.Timestamp("2024-05-14")
    held = fish[fish["swabbed"] & ~fish["in_the_numbers"]]
    assert held["q"].isna().all()
    results = log.results()
    assert list(results.loc[results["standing"] == "held", "q"]) == [0.9]
    assert results["counts"].sum() == 25


def kinds_in(value: object) -> set[type]:
    """The types of a document and of everything in it."""
    inside = [*value.keys(), *value.values()] if isinstance(value, dict) else value
    return {type(value)}.union(*map(kinds_in, inside if isinstance(value, dict | list) else ()))


def test_classes_changes_and_lakes_are_the_reports_to_the_last_digit(log: Log, database: str) -> None:
    run = Runner(database)
    report = json.loads(run("report", "lake", "HERON", "--json").stdout)
    assert {**log.lake("HERON"), "report": None} == report  # the answer and the summary, too
    assert report["summary"]
    assert kinds_in(log.lake("HERON")) <= {dict, list, str, int, float, bool, type(None)}
    for table in ("vials", "results", "findings"):
        frame = getattr(log, table)()
        words = {type(value) for name in frame.select_dtypes(["object", "category"]) for value in frame[name]}
        assert words <= {str, int, float, bool, type(None)}, table
    classes = log.classes("HERON")
    for survey in report["surveys"]:
        for row in survey["classes"]:
            mine = classes[
                (classes["survey"] == survey["survey"]) & (classes["size_class"] == row["size_class"])
            ]
            for key in ("n_caught", "n_swabbed", "n_resulted", "mean", "low", "high"):
                value = mine[key].iloc[0]
                assert (None if pd.isna(value) else value) == row[key], key
    change = log.changes("HERON").set_index("group").loc["lake"]
    last = report["changes"][-1]
    for key in ("difference", "low", "high", "p"):
        assert change[key] == last[key], key
    line = next(
        one for one in json.loads(run("report", "lakes", "--json").stdout)["lakes"] if one["lake"] == "HERON"
    )
    mine = log.lakes().set_index("lake").loc["HERON"]
    assert mine["n"] == line["n_resulted"]
    for key in ("mean", "low", "high", "change", "change_low", "change_high", "change_p"):
        assert mine[key] == line[key], key
    surveys = log.surveys().set_index("survey")
    for survey in report["surveys"]:
        assert surveys.loc[survey["survey"], "n_resulted"] == survey["swabbed"]["n"]
        assert surveys.loc[survey["survey"], "n_caught"] == sum(row["n_caught"] for row in survey["classes"])


def test_nothing_can_be_written_through_the_door(log: Log, filled: Session) -> None:
    with log._reading() as session, pytest.raises(Exception, match=r"(?i)read.?only"):
        session.execute(text("DELETE FROM fish"))
    assert log.fish()["n_fish"].sum() == 98


def test_what_is_not_there_is_said(log: Log, tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="NOWHERE"):
        log.lake("NOWHERE")
    with pytest.raises(StoreUnready, match="there is no database"):
        geneticlog.open(tmp_path / "none.sqlite")


def test_importing_geneticlog_loads_nothing_heavy() -> None:
    import subprocess
    import sys

    look = "import sys, geneticlog; print(*sorted({name.split('.')[0] for name in sys.modules}))"
    done = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert {"pandas", "numpy", "sqlalchemy", "click"}.isdisjoint(loaded)
    assert (Path(geneticlog.__file__).parent / "py.typed").is_file()


def test_the_statistics_on_columns_are_those_of_the_report(log: Log) -> None:
    from geneticlog import statistics

    fish, classes = log.fish(), log.classes("HERON").set_index(["survey", "size_class"])
    report = {one["survey"]: one for one in log.lake("HERON")["surveys"]}
    for survey, of_survey in fish.groupby("survey", observed=True):
        counted = of_survey[of_survey["in_the_numbers"]]
        caught = of_survey.groupby("size_class", observed=True)["n_fish"].sum().to_dict()
        weighted = statistics.weighted_mean(
            counted["q"], counted["size_class"], caught, counted["n_loci"], miscall_high=0.02
        )
        told = report[survey]["catch_weighted"]
        assert (weighted.mean, weighted.low, weighted.high) == (told["mean"], told["low"], told["high"])
        for name, some in counted.groupby("size_class", observed=True):
            mine = statistics.mean(some["q"], some["n_loci"])
            row = classes.loc[(survey, name)]
            assert (mine.mean, mine.low, mine.high, mine.n) == (
                row["mean"],
                row["low"],
                row["high"],
                row["n_resulted"],
            )
        trend = statistics.trend_over_sizes(counted["q"], counted["size_class"])
        assert trend.p == report[survey]["trend"]["p"]


def test_absent_rows_leave_the_statistics_and_other_columns_are_refused() -> None:
    from geneticlog import statistics

    q = pd.Series([0.1, None, 0.3, 0.5], dtype="Float64")
    assert statistics.mean(q).n == 3
    assert statistics.correlation(q, [1, 2, None, 4]).n == 2
    with pytest.raises(ValueError, match="different lengths: 4, 2"):
        statistics.mean(q, [38, 38])
    with pytest.raises(ValueError, match="name the size classes"):
        statistics.trend_over_sizes(q, list("abcd"))


def test_the_examples_of_the_statistics_are_true() -> None:
    import doctest

    from geneticlog import statistics

    done = doctest.testmod(statistics)
    assert done.attempted > 20
    assert done.failed == 0
    assert set(statistics.__all__) == {
        name for name in statistics.__all__ if f"`{name}`" in (statistics.__doc__ or "")
    }
