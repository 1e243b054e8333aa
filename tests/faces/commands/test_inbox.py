"""What waits for the office, with its age, its reason and whom it waits for."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

from conftest import Runner
from office_support import NOW, a_lab, a_return, a_shipment, swabbed
from reconcile_support import document, messy, reconciled
from sqlalchemy.orm import Session
from survey_support import a_survey

from geneticlog.rules.shipment.custody import ShipmentState
from geneticlog.work.inbox.inbox import DEBTS, LATE, inbox
from geneticlog.work.shipment.follow import follow

DAY = timedelta(days=1)


def reasons(session: Session, days: int) -> dict[str, tuple[str, int]]:
    session.flush()
    return {
        one.reason: (one.shipment, one.age_days) for one in inbox(session, now=NOW + days * DAY).shipments
    }


def test_a_shipment_waits_for_each_reason_until_it_goes_on(session: Session) -> None:
    vials = swabbed(session, a_survey(session), 4)
    (survey,) = inbox(session, now=NOW + 5 * DAY).surveys  # the swabs lie in store
    assert (survey.survey, survey.lake, survey.text) == ("HERON-2026", "HERON", "swabbed, not sent (4 fish)")
    lab = a_lab(session, usual_days=30)
    shipment = a_shipment(session, vials, lab=lab, sent=False)
    assert not inbox(session, now=NOW).surveys
    assert reasons(session, 3) == {ShipmentState.NOT_SENT: ("SHIP-1", 3)}
    shipment.standing, shipment.sent_at = "sent", NOW
    assert reasons(session, 30) == {}
    assert reasons(session, 31) == {LATE: ("SHIP-1", 31)}
    a_return(session, shipment, [{"vial": vials[0], "q": 0.5}], days=31)
    assert reasons(session, 33) == {
        LATE: ("SHIP-1", 33),
        ShipmentState.PARTLY_OPEN: ("SHIP-1", 2),
    }
    assert follow(session, shipment, now=NOW).state == "partly returned, not reconciled"
    shipment.standing, shipment.closed_at = "closed", NOW + 40 * DAY
    assert reasons(session, 45) == {DEBTS: ("SHIP-1", 5)}
    # what is owed can be caught when the lake is surveyed again
    again = a_survey(session, "HERON-2027", n_vials=0)
    again.surveyed_on = (NOW + 300 * DAY).date()
    assert reasons(session, 301) == {}


def test_the_inbox_shows_findings_over_all_shipments(run: Runner, tmp_path: Path) -> None:
    assert document(run, "inbox") == {
        "findings": [],
        "shipments": [],
        "surveys": [],
        "n_waiting_for": {},
        "reports": [],
    }
    assert run("inbox").stdout == "Nothing waits.\n"
    messy(run, tmp_path)
    reconciled(run)
    told: dict[str, Any] = document(run, "inbox")
    assert told["n_waiting_for"] == {"the lab": 2, "the office": 2, "the biologist": 1}
    (failed,) = [one for one in told["findings"] if one["kind"] == "failed"]
    assert (failed["lake"], failed["file"], failed["waits_for"]) == ("HERON", "return.csv", "the biologist")
    assert failed["age_days"] == 0
    (stranger,) = [one for one in told["findings"] if one["kind"] == "unexpected"]
    assert (stranger["lake"], stranger["lakes"]) == (
        None,
        ["HERON"],
    )  # of no fish of ours, in a shipment of this lake
    assert [one["reason"] for one in told["shipments"]] == ["partly returned, not reconciled"]
    (listed,) = document(run, "shipment", "list")["shipments"]  # one state, one word on every face
    assert listed["state"] == told["shipments"][0]["reason"]
    assert (
        f"Shipment SHIP-1 to Quill Lab (invented): {listed['state']}"
        in run("shipment", "show", "SHIP-1").stdout
    )
    shown = run("inbox").stdout
    assert "geneticlog reconcile SHIP-1" in shown
    assert "5 findings to decide" in shown
    only = json.loads(run("inbox", "--for", "lab", "--json").stdout)
    assert {one["kind"] for one in only["findings"]} == {"missing", "conflicting"}
    for name in [one["finding"] for one in told["findings"]]:
        run("finding", "decide", name, "close", "--why", "seen")
    assert document(run, "inbox")["shipments"] == []
    assert document(run, "shipment", "list")["shipments"][0]["state"] == "partly returned"
