"""Whether the day of a survey can be: its vials were not sent before its fish were caught."""

from __future__ import annotations

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.store.tables import Fish, Shipment, ShipmentPosition, Survey, Vial


def refuse_later_survey(session: Session, survey: Survey, surveyed_on: date) -> None:
    """Raise Refused where a survey is put after the day on which some of its vials were sent."""
    first = session.execute(
        select(Shipment.code, Shipment.sent_at)
        .join(ShipmentPosition, ShipmentPosition.shipment_id == Shipment.id)
        .join(Vial, Vial.id == ShipmentPosition.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .where(Fish.survey_id == survey.id, Shipment.sent_at.is_not(None))
        .order_by(Shipment.sent_at)
        .limit(1)
    ).first()
    if first is None or first.sent_at is None:
        return
    code, sent_at = first.code, first.sent_at
    if surveyed_on > sent_at.astimezone().date():
        raise Refused(
            f"survey {survey.code} cannot have been on {surveyed_on}: its vials were sent with shipment {code} on"
            f" {sent_at.astimezone():%Y-%m-%d}"
        )
