"""Look at the dates of a shipment beside the day its fish were caught."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.shipment.dates import LastCatch, refuse_impossible_dates
from geneticlog.store.tables import Fish, Shipment, ShipmentPosition, Survey, Vial


def check_dates(
    session: Session,
    shipment: Shipment,
    *,
    sent_at: datetime | None,
    arrived_at: datetime | None,
    now: datetime,
) -> None:
    """Raise Refused, with the reason, for moments of a shipment that cannot be."""
    last = session.execute(
        select(Survey.code, Survey.surveyed_on)
        .join(Fish, Fish.survey_id == Survey.id)
        .join(Vial, Vial.fish_id == Fish.id)
        .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .where(ShipmentPosition.shipment_id == shipment.id)
        .order_by(Survey.surveyed_on.desc())
        .limit(1)
    ).first()
    refuse_impossible_dates(
        shipment.code,
        sent_at=sent_at,
        arrived_at=arrived_at,
        last_catch=LastCatch(*last) if last is not None else None,
        now=now,
    )
