"""Dates of a shipment that cannot be: sent before its fish were caught, arrived before it was sent, still to come."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.settings import local_time
from geneticlog.store.tables import Fish, Shipment, ShipmentPosition, Survey, Vial


def refuse_impossible_dates(
    session: Session,
    shipment: Shipment,
    *,
    sent_at: datetime | None,
    arrived_at: datetime | None,
    now: datetime,
) -> None:
    """Raise Refused, with the reason, for moments of a shipment that cannot be."""
    for moment, done in ((sent_at, "was sent"), (arrived_at, "arrived")):
        if moment is not None and moment > now:
            raise Refused(
                f"{_local(moment)} is still to come; record that shipment {shipment.code} {done} when it has happened"
            )
    if sent_at is not None:
        last = session.execute(
            select(Survey.code, Survey.surveyed_on)
            .join(Fish, Fish.survey_id == Survey.id)
            .join(Vial, Vial.fish_id == Fish.id)
            .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
            .where(ShipmentPosition.shipment_id == shipment.id)
            .order_by(Survey.surveyed_on.desc())
            .limit(1)
        ).first()
        if last is not None and sent_at.astimezone().date() < last.surveyed_on:
            raise Refused(
                f"shipment {shipment.code} cannot have been sent on {sent_at.astimezone():%Y-%m-%d}: it holds fish of"
                f" survey {last.code}, caught on {last.surveyed_on}"
            )
    if sent_at is not None and arrived_at is not None and arrived_at < sent_at:
        raise Refused(
            f"shipment {shipment.code} cannot arrive before it was sent ({_local(sent_at)}); correct the other date"
            f" with: geneticlog correct shipment {shipment.code} --sent-at … --why TEXT"
        )


def _local(moment: datetime) -> str:
    return local_time(moment)
