"""What waits for the office: shipments at each stop of their way, swabs that went nowhere, open findings."""

from __future__ import annotations

from datetime import timedelta

from office_support import NOW, a_lab, a_return, a_shipment, swabbed
from sqlalchemy.orm import Session
from survey_support import a_survey

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.stamp import Stamp
from geneticlog.work.finding.open_finding import About, open_finding
from geneticlog.work.inbox.inbox import DEBTS, LATE, Inbox, inbox
from geneticlog.work.result.counted_result import settle

DAY = timedelta(days=1)


def seen(session: Session, days: int) -> Inbox:
    session.flush()
    return inbox(session, now=NOW + days * DAY)


def test_a_shipment_waits_at_every_stop_and_is_silent_between(sqlite_session: Session) -> None:
    session = sqlite_session
    survey = a_survey(session)
    vials = swabbed(session, survey, 6)
    (swabs,) = seen(session, 3).surveys
    assert (swabs.survey, swabs.lake, swabs.do) == (
        "HERON-2026", "HERON", "geneticlog shipment pack CODE --survey HERON-2026",
    )  # fmt: skip
    box = a_shipment(session, vials[:5], lab=a_lab(session, usual_days=21), sent=False)
    waits = seen(session, 2)
    assert "1 swabbed fish not packed" in waits.surveys[0].text
    (packed,) = waits.shipments
    assert (packed.reason, packed.text, packed.age_days, packed.lakes, packed.do) == (
        "packed, not sent", "5 vials packed by Ada Test", 2, ("HERON",), "geneticlog shipment send SHIP-1",
    )  # fmt: skip
    box.standing, box.sent_at = "sent", NOW
    assert seen(session, 21).shipments == ()  # within the lab's usual days
    (late,) = seen(session, 22).shipments
    assert (late.reason, late.text) == (LATE, "out 22 days, usual are 21; 5 vials not back")

    a_return(session, box, [{"vial": vial, "q": 0.25} for vial in vials[:4]])
    settle(session, [vial.id for vial in vials])
    reasons = {one.reason: one.text for one in seen(session, 22).shipments}
    assert reasons[LATE].endswith("1 vial not back")
    assert reasons["partly returned, not reconciled"] == "0 findings to decide, 1 vial not looked for"

    box.standing, box.closed_at = "closed", NOW + 30 * DAY
    (debt,) = seen(session, 33).shipments
    assert (debt.reason, debt.text, debt.age_days, debt.do) == (
        DEBTS, "1 fish has no result that counts: HERON-2026", 3, "geneticlog shipment resample SHIP-1",
    )  # fmt: skip
    later = a_survey(session, "HERON-2027", n_vials=0)
    later.surveyed_on = survey.surveyed_on + 365 * DAY
    assert seen(session, 400).shipments == ()  # the fish could be caught again


def test_findings_wait_for_somebody_the_oldest_first(sqlite_session: Session) -> None:
    session = sqlite_session
    vials = swabbed(session, a_survey(session), 2)
    box = a_shipment(session, vials)
    for days, kind, about in (
        (4, FindingKind.UNEXPECTED, About(shipment_id=box.id)),  # of no fish of ours: the shipment's lakes
        (1, FindingKind.MISSING, About(shipment_id=box.id, vial_id=vials[0].id, fish_id=vials[0].fish_id)),
        (2, FindingKind.MISSING, About(shipment_id=box.id, vial_id=vials[1].id, fish_id=vials[1].fish_id)),
    ):
        stamp = Stamp(NOW + days * DAY, "Ada Test")
        found = open_finding(session, key=f"k{days}", kind=kind, text="It is so.", stamp=stamp, about=about)
        assert open_finding(session, key=f"k{days}", kind=kind, text="Again.", stamp=stamp) is found
    everything = seen(session, 5)
    assert [(one.age_days, one.lakes) for one in everything.findings] == [
        (4, ("HERON",)), (3, ("HERON",)), (1, ("HERON",)),
    ]  # fmt: skip
    assert everything.n_waiting_for == {"the lab": 2, "the office": 1}
    of_lab = inbox(session, now=NOW + 5 * DAY, waits_for="the lab")
    assert [one.finding.kind for one in of_lab.findings] == [FindingKind.MISSING] * 2
    assert (of_lab.shipments, of_lab.surveys, of_lab.n_waiting_for) == ((), (), everything.n_waiting_for)
    found.decision, found.decided_at, found.decided_by, found.why = Decision.CLOSE, NOW, "Ada Test", "it came"
    assert [one.age_days for one in seen(session, 5).findings] == [4, 1]
