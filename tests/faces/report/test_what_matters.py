"""What is called small is small against what was asked: in the report, on its first page, and in the list of lakes."""

from __future__ import annotations

import json
from datetime import date

import numpy as np
from conftest import Runner
from lakes_support import add_lake, add_panel, add_survey, add_typed
from sqlalchemy.orm import Session


def two_lakes(session: Session) -> None:
    """One lake of which nothing changed, give or take four points; one that fell by three, and clearly."""
    random, panel = np.random.default_rng(5), add_panel(session)
    for code, fall, spread in (("SAME", 0.0, 0.06), ("FELL", 0.03, 0.015)):
        lake = add_lake(session, code, code.title())
        around = np.linspace(-1.6, 1.6, 24) * spread
        for year, mean in ((2024, 0.3 + fall), (2026, 0.3)):
            survey = add_survey(session, lake, f"{code}-{year}", date(year, 4, 9))
            for length in (9.5, 13.0):
                q = np.round((mean + random.permutation(around)) * 76) / 76
                add_typed(session, survey, [(length, float(one)) for one in q], panel=panel)
    session.commit()


def test_small_is_what_is_nearer_to_nothing_than_what_matters(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    two_lakes(sqlite_session)

    def report(code: str, *more: str) -> tuple[str, str]:
        document = json.loads(run_on_sqlite("report", "lake", code, *more, "--json").stdout)
        return " ".join(document["summary"]), " ".join(document["answer"])

    def listed(*more: str) -> dict[str, dict]:
        lakes = json.loads(run_on_sqlite("report", "lakes", *more, "--json").stdout)["lakes"]
        return {one["lake"]: one for one in lakes}

    # ten points matter by default, and that is said
    summary, answer = report("SAME")
    assert "Any change since 9 April 2024 is small, under the 10 points that matter" in summary
    assert "Any difference between young and adult fish is small, under the 10 points that matter" in summary
    assert "are alike, within" in answer
    told = listed()
    assert (told["SAME"]["change_is_small"], told["FELL"]["change_is_small"]) == (True, True)
    assert told["FELL"]["change_high"] < 0
    assert "the share fell since the survey before, by less than matters" in told["FELL"]["reasons"]
    # the same fish, of which a smaller difference matters
    summary, answer = report("SAME", "--matters", "1")
    assert "is small" not in summary
    assert "We cannot tell whether it changed since 9 April 2024" in summary
    assert "alike" not in answer
    assert "would show 1 point." in answer or "far more fish" in answer
    told = listed("--matters", "1")
    assert (told["SAME"]["change_is_small"], told["FELL"]["change_is_small"]) == (False, False)
    assert "the share fell since the survey before" in told["FELL"]["reasons"]
    for command in (("report", "lake", "SAME"), ("report", "lakes")):
        assert "matters" in run_on_sqlite(*command, "--matters", "0", "--json", fails=2).stderr


def test_the_fish_that_would_show_it_are_those_of_the_plan(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    two_lakes(sqlite_session)
    document = json.loads(run_on_sqlite("report", "lake", "SAME", "--matters", "2.5", "--json").stdout)
    told = document["to_see"]
    plan = json.loads(run_on_sqlite("plan", "SAME", "--young-adult", "0.025", "--look", "--json").stdout)
    assert told["young_adult"] == plan["sampling_plan"]["n_fish"]
    # 48 fish may miss a kind that makes up more of the lake, and it would take 119 each time to meet one; a change
    # that is smaller still no later survey can show beside so small a last one
    assert told["change"] is None
    assert "no change seen, but a kind making up 6.1 % of the" in document["answer"][2]
    assert "119 each time would show one of 2.5 %" in document["answer"][2]
    assert "asks for more than" in run_on_sqlite("plan", "SAME", "--change", "0.02", "--look", fails=4).stderr
    assert f"{told['young_adult']} fish would show 2.5 points." in document["answer"][1]
    # what is clear, or small, is not asked for
    clear = json.loads(run_on_sqlite("report", "lake", "FELL", "--json").stdout)["to_see"]
    assert clear == {"young_adult": None, "change": None}
