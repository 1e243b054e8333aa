"""The state of a lake's samples is said in the same words wherever it is said."""

from __future__ import annotations

import json

import pytest
from conftest import Runner
from lake_situations import (
    Situation,
    all_failed,
    at_the_lab,
    four_fish,
    never_swabbed,
    not_sent,
    partly_returned,
    two_surveys,
)
from lakes_support import add_lake
from sqlalchemy.orm import Session

from geneticlog.rules.lakes.state import State

SAID: dict[Situation, tuple[State, str]] = {
    never_swabbed: (State.NEVER_SWABBED, "never swabbed"),
    not_sent: (State.NOT_SENT, "swabbed, not sent (3 fish)"),
    at_the_lab: (State.AT_THE_LAB, "at the lab since 2026-05-02 (3 fish)"),
    partly_returned: (State.PARTLY, "partly returned or held (1 of 3 fish have a result, 2 at the lab)"),
    all_failed: (State.ALL_FAILED, "all samples failed (3 fish swabbed)"),
    four_fish: (State.TOO_FEW, "too few to read (4 of 4 fish have a result)"),
    two_surveys: (State.KNOWN, "known"),
}


@pytest.mark.parametrize("situation", SAID, ids=lambda one: one.__name__)
def test_report_list_coverage_life_and_inbox_agree(
    situation: Situation, run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    state, words = SAID[situation]
    situation(sqlite_session, add_lake(sqlite_session))
    sqlite_session.commit()
    listed = json.loads(run_on_sqlite("report", "lakes", "--json").stdout)["lakes"][0]
    assert (listed["state"], listed["state_words"]) == (str(state), words)
    assert f"Samples: {words}" in " ".join(run_on_sqlite("coverage", "HERON-2026").stdout.split())
    report = run_on_sqlite("report", "lake", "HERON", "--json").stdout
    assert (f"Unknown: {words}" in report) is (state is not State.KNOWN)
    without_any = (State.NEVER_SWABBED, State.NOT_SENT, State.AT_THE_LAB, State.ALL_FAILED)
    assert (f"State of the samples: {words}." in report) is (state in without_any)
    waits = {one["text"] for one in json.loads(run_on_sqlite("inbox", "--json").stdout)["surveys"]}
    assert waits == ({words} if state is State.NOT_SENT else set())
