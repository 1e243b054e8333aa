"""Which findings concern which survey: by its name, its fish, its vials, or the shipment that its vials are in."""

from __future__ import annotations

from return_support import MOMENT, a_shipment
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Finding, Fish, Shipment, Survey, Vial
from geneticlog.work.finding.lake_findings import concerned, open_findings_of_lakes
from geneticlog.work.finding.open_finding import About, open_finding

STAMP = Stamp(MOMENT, "Ada")


def test_a_finding_concerns_the_surveys_of_what_it_is_about(session: Session) -> None:
    for code, first in (("SH-1", 1), ("SH-2", 40)):
        a_shipment(session, 2, code=code, first=first, blanks=1)
    surveys = session.scalars(select(Survey).order_by(Survey.code)).all()
    shipments = session.scalars(select(Shipment).order_by(Shipment.code)).all()
    fish = {one.survey_id: one for one in session.scalars(select(Fish).where(Fish.number == 1))}
    vials = {one.fish_id: one for one in session.scalars(select(Vial).where(Vial.fish_id.is_not(None)))}
    blank = session.scalars(select(Vial).where(Vial.fish_id.is_(None)).order_by(Vial.id)).first()
    assert blank is not None
    first, second = surveys
    about = {
        "survey": (About(survey_id=first.id), {first.id}),
        "fish": (About(fish_id=fish[second.id].id), {second.id}),
        "vial": (About(vial_id=vials[fish[first.id].id].id), {first.id}),
        "row": (About(shipment_id=shipments[1].id), {second.id}),
        "blank": (About(vial_id=blank.id, shipment_id=shipments[0].id), {first.id}),
        "fish of the other": (About(fish_id=fish[second.id].id, shipment_id=shipments[0].id), {second.id}),
        "vial in both ways": (
            About(
                survey_id=first.id, fish_id=fish[first.id].id, vial_id=vials[fish[first.id].id].id,
                shipment_id=shipments[0].id,
            ),
            {first.id},
        ),
        "nothing": (About(), set()),
    }  # fmt: skip
    opened = {
        name: open_finding(
            session,
            key=name,
            kind=FindingKind.FAILED,
            text=f"{name}.",
            stamp=STAMP,
            about=of,
            data={"vial": "V"},
        )
        for name, (of, _) in about.items()
    }
    session.flush()
    pairs = session.execute(concerned()).all()
    assert len(pairs) == len(set(pairs))
    for name, (_, ids) in about.items():
        assert {survey for survey, finding in pairs if finding == opened[name].id} == ids, name
    assert open_findings_of_lakes(session) == {first.lake_id: 4, second.lake_id: 3}
    assert open_findings_of_lakes(session, second.lake_id) == {second.lake_id: 3}
    decided: Finding = opened["row"]
    decided.decision, decided.decided_at, decided.decided_by, decided.why = (
        Decision.CLOSE,
        MOMENT,
        "Ada",
        "a test",
    )
    session.flush()
    assert open_findings_of_lakes(session) == {first.lake_id: 4, second.lake_id: 2}
    assert len(session.execute(concerned()).all()) == len(pairs)
    assert len(session.execute(concerned(only_open=True)).all()) == len(pairs) - 1
