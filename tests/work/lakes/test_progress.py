"""How far the samples of surveys have come, on the way through store, lab and return."""

from __future__ import annotations

from office_support import NOW, a_lab, a_return, a_shipment, swabbed
from sqlalchemy.orm import Session
from survey_support import a_survey

from geneticlog.rules.lakes.state import Progress, State
from geneticlog.store.tables import Result, Survey
from geneticlog.work.lakes.progress import progress_of, progress_of_lakes, progress_of_surveys
from geneticlog.work.result.counted_result import settle


def now_of(session: Session, survey: Survey) -> Progress:
    session.flush()
    found = progress_of(session, survey)
    assert progress_of_surveys(session).get(survey.id, Progress()) == found
    return found


def test_a_survey_goes_through_the_states(session: Session) -> None:
    survey = a_survey(session)
    assert now_of(session, survey).state is State.NEVER_SWABBED
    assert progress_of_lakes(session) == {}
    vials = swabbed(session, survey, 7, seconds=1)  # 8 vials on 7 fish
    assert now_of(session, survey) == Progress(n_swabbed=7, n_in_hand=7, n_in_store=7, n_unpacked=7)
    shipment = a_shipment(session, vials[:7], lab=a_lab(session), sent=False)
    assert now_of(session, survey).state is State.NOT_SENT  # packed is not sent
    shipment.standing, shipment.sent_at = "sent", NOW
    assert now_of(session, survey) == Progress(
        n_swabbed=7, n_in_hand=7, n_in_store=1, n_sent=6, n_waiting=6, n_unpacked=1, waiting_since=NOW.date()
    )

    held, *rest = vials[2:7]
    a_return(session, shipment, [
        {"vial": held, "q": 0.4, "outcome": "doubtful"}, *({"vial": vial, "q": 0.2} for vial in rest),
    ])  # fmt: skip
    settle(session, {vial.id for vial in vials})
    # the first fish has two vials at the lab, and is one fish
    assert now_of(session, survey) == Progress(
        n_swabbed=7, n_in_hand=7, n_in_store=1, n_sent=6, n_returned=5, n_waiting=2, n_held=1, n_resulted=4,
        n_unpacked=1, waiting_since=NOW.date(),
    )  # fmt: skip

    shipment.standing, shipment.closed_at = "closed", NOW  # what is missing is expected no longer
    assert now_of(session, survey).n_waiting == 1
    session.query(Result).filter_by(vial_id=held.id).one().standing = "rejected"
    assert now_of(session, survey).state is State.TOO_FEW
    session.query(Result).filter_by(vial_id=held.id).one().standing = "current"
    settle(session, {held.id})
    assert now_of(session, survey).state is State.KNOWN
    assert progress_of_lakes(session)[survey.lake_id][0] == survey.id


def test_vials_that_are_gone_are_not_waited_for(session: Session) -> None:
    survey = a_survey(session)
    vials = swabbed(session, survey, 3)
    shipment = a_shipment(session, vials)
    shipment.positions[0].arrival, shipment.positions[1].arrival = "missing", "broken"
    vials[2].standing = "lost"
    assert now_of(session, survey).state is State.ALL_FAILED
    assert (now_of(session, survey).n_swabbed, now_of(session, survey).n_in_hand) == (3, 2)
    shipment.positions[0].arrival = "leaked"
    assert now_of(session, survey).state is State.AT_THE_LAB
