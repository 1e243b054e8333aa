"""Tests of size of one invented lake, through the command, against scipy.stats and statsmodels."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import scipy.stats
from conftest import Runner
from lakes_support import add_fish, add_lake, add_panel, add_result, add_survey, add_typed, add_vial
from report_support import reported_without_figures
from sqlalchemy.orm import Session
from statsmodels.stats.multitest import multipletests
from tests_support import database  # noqa: F401  (numbers: SQLite alone; both engines give the same document)

# invented: total length in inches and q
FISH = [
    (8.5, 0.05), (9.1, 0.0), (9.8, 0.12), (10.4, 0.08), (10.9, 0.2), (11.6, 0.16), (11.9, 0.1), (12.2, 0.24),
    (12.9, 0.12), (13.5, 0.3), (14.1, 0.18), (14.8, 0.26), (15.5, 0.22), (16.4, 0.4), (17.7, 0.2), (19.0, 0.34),
]  # fmt: skip
ALPHA = 0.05


def holm(p: list[float]) -> list[float]:
    return [float(one) for one in multipletests(p, alpha=ALPHA, method="holm")[1]]


def reported(run: Runner, tmp_path: Path) -> dict:
    return reported_without_figures(run, tmp_path)


def test_the_tests_of_size_are_those_of_scipy_adjusted_together_as_statsmodels_does(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    survey = add_survey(session, add_lake(session))
    add_typed(session, survey, FISH, panel=add_panel(session))
    session.commit()
    survey_told = reported(run, tmp_path)["surveys"][0]
    told = survey_told["rank_on_length"]
    length, q = zip(*FISH, strict=True)
    theirs = scipy.stats.spearmanr(length, q)
    assert told["n"] == len(FISH)
    assert told["correlation"] == pytest.approx(theirs.statistic, abs=1e-12)
    assert told["p"] == pytest.approx(theirs.pvalue, abs=1e-12)
    assert told["guard"] == ""
    # the formula of Bonett DG, Wright TA (2000) Psychometrika 65:23-28, written with scipy's normal quantile
    reach = scipy.stats.norm.ppf(0.975) * np.sqrt((1 + theirs.statistic**2 / 2) / (len(FISH) - 3))
    ends = np.tanh(np.arctanh(theirs.statistic) + np.array([-reach, reach]))
    assert (told["low"], told["high"]) == pytest.approx(tuple(ends), abs=1e-9)
    table = pd.read_csv(tmp_path / "heron_surveys.csv").iloc[0]
    assert table["rank_on_length"] == told["correlation"]
    assert (table["rank_on_length_low"], table["rank_on_length_high"]) == (told["low"], told["high"])
    tests = [survey_told["young_minus_adult"], survey_told["trend"], survey_told["rank_on_length"]]
    assert [one["p_holm"] for one in tests] == pytest.approx(holm([one["p"] for one in tests]), abs=1e-12)
    assert any(one["p_holm"] > one["p"] for one in tests)  # the largest p stays as it is
    assert [table[f"{name}_p_holm"] for name in ("young_minus_adult", "trend", "rank_on_length")] == [
        one["p_holm"] for one in tests
    ]


def test_changes_of_a_lake_are_adjusted_together(run: Runner, session: Session, tmp_path: Path) -> None:
    lake, panel = add_lake(session), add_panel(session)
    for year, shift in ((2020, 0.0), (2022, 0.1), (2024, 0.12), (2026, 0.3)):
        survey = add_survey(session, lake, f"HERON-{year}", date(year, 4, 9))
        add_typed(session, survey, [(length, q + shift) for length, q in FISH], panel=panel)
    session.commit()
    changes = reported(run, tmp_path)["changes"]
    assert len(changes) == 3
    assert [one["p_holm"] for one in changes] == pytest.approx(holm([one["p"] for one in changes]), abs=1e-12)
    assert list(pd.read_csv(tmp_path / "heron_changes.csv")["p_holm"]) == [one["p_holm"] for one in changes]


def test_condition_in_every_size_class_is_adjusted_together(run: Runner, session: Session) -> None:
    survey = add_survey(session, add_lake(session))
    for at, (length, q) in enumerate(FISH):
        fish = add_fish(session, survey, length, weight_g=100 + 40 * (length - 6) ** 1.5 + 7 * (at % 3))
        add_result(session, add_vial(session, fish), q)
    session.commit()
    told = json.loads(run("report", "lake", "HERON", "--json").stdout)
    rows = told["surveys"][0]["ancestry_length_condition"]
    for measure in ("relative_weight", "length_mm"):
        own = [row for row in rows if row["measure"] == measure and row["p"] is not None]
        ours = [row for row in own if row["n"] >= 5]  # fewer are too few to be read, and no test
        assert all(row["p_holm"] is None for row in own if row["n"] < 5)
        assert len(ours) > 2
        assert [row["p_holm"] for row in ours] == pytest.approx(holm([row["p"] for row in ours]), abs=1e-12)
