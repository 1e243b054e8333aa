"""Why a survey has no vial left to pack."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.store.tables import Fish, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.shipment.packable import vials_of_survey


def nothing_left(session: Session, surveys: Sequence[Survey]) -> str:
    """Return a sentence for surveys of which nothing was chosen to pack, with the way out: no vial is left, or the
    plan needs none of those that are.
    """
    codes = ", ".join(dict.fromkeys(survey.code for survey in surveys))
    whose = f"survey{'s' * (len({survey.code for survey in surveys}) > 1)} {codes}"
    counted = session.execute(
        select(Shipment.code, func.count(Vial.id.distinct()))
        .join(ShipmentPosition, ShipmentPosition.shipment_id == Shipment.id)
        .join(Vial, Vial.id == ShipmentPosition.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .where(Fish.survey_id.in_([survey.id for survey in surveys]))
        .group_by(Shipment.code)
        .order_by(Shipment.code)
    ).all()
    shipped = ", ".join(f"{n} in shipment {code}" for code, n in counted) or "none is shipped"
    more = [survey.code for survey in surveys if vials_of_survey(session, survey)]
    if more:
        return f"the plan of {whose} needs none of the vials left ({shipped}); pack them with: --survey {more[0]}"
    if not counted:
        return f"no fish of {whose} has a vial that can be packed; log them with: geneticlog fish log SURVEY"
    return f"no vial of {whose} is left to pack ({shipped}); see them with: geneticlog shipment show {counted[0][0]}"
