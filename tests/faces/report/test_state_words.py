"""The state of a lake's samples is said in the same words wherever it is said."""

from __future__ import annotations

import json
from typing import Any

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
from lakes_support import add_fish, add_lake, add_result, add_vial
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.lakes.state import State
from geneticlog.store.tables import Lake, Shipment, ShipmentPosition, Survey

SAID: dict[Situation, tuple[State, str]] = {
    never_swabbed: (State.NEVER_SWABBED, "never swabbed"),
    not_sent: (State.NOT_SENT, "swabbed, not sent (3 fish)"),
    at_the_lab: (State.AT_THE_LAB, "at the lab since 2026-05-02 (3 fish)"),
    partly_returned: (State.PARTLY, "partly returned or held (1 of 3 fish have a result, 2 at the lab)"),
    all_failed: (State.ALL_FAILED, "all samples failed (3 fish swabbed)"),
    four_fish: (State.TOO_FEW, "too few to read (4 of 4 fish have a result)"),
    two_surveys: (State.KNOWN, "known"),
}


def left_behind(session: Session, lake: Lake) -> None:
    """Six fish sent, of which one vial was missing on arrival and five are typed; two swabs lie in store."""
    for vial in at_the_lab(session, lake):
        add_result(session, vial, 0.25)
    survey = session.scalars(select(Survey)).one()
    vials = [add_vial(session, add_fish(session, survey, 13.0)) for _ in range(5)]
    shipment = session.scalars(select(Shipment)).one()
    for vial in vials[:2]:
        add_result(session, vial, 0.25)
    for place, vial in enumerate(vials[:3], start=4):
        arrival = "missing" if place == 6 else None
        session.add(
            ShipmentPosition(shipment_id=shipment.id, vial_id=vial.id, position=str(place), arrival=arrival)
        )


def test_swabs_that_were_left_behind_are_named_alike_everywhere(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    left_behind(sqlite_session, add_lake(sqlite_session))
    sqlite_session.commit()
    behind = ["2 swabbed fish not packed", "1 fish whose vial arrived missing or broken"]

    def of(*arguments: str) -> Any:
        return json.loads(run_on_sqlite(*arguments, "--json").stdout)

    (waits,) = of("inbox")["surveys"]
    assert waits["text"] == "; ".join(behind)
    assert waits["do"] == "geneticlog shipment pack CODE --survey HERON-2026"
    status = {f"{one['n']} {one['what']}" for one in of("status")["waiting"]}
    assert set(behind) <= status
    assert of("coverage", "HERON-2026")["left_behind"] == behind
    said = " ".join(run_on_sqlite("coverage", "HERON-2026").stdout.split())
    assert f"Samples: known; {'; '.join(behind)}." in said
    report = of("report", "lake", "HERON")
    assert report["left_behind"] == behind
    assert "What next? Send the swabs of 2 fish not packed yet." in " ".join(report["answer"])
    assert of("report", "lakes")["lakes"][0]["next_step"] == "send the 2 swabbed fish not packed"


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
