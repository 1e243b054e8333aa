"""Dates of a shipment that cannot be: sent before its fish were caught, arrived before it was sent, still to come."""

from __future__ import annotations

from datetime import date, datetime
from typing import NamedTuple

from geneticlog.errors import Refused
from geneticlog.settings import local_time


class LastCatch(NamedTuple):
    """The survey that caught the latest of a shipment's fish, and its day."""

    survey: str
    on: date


def refuse_impossible_dates(
    code: str,
    *,
    sent_at: datetime | None,
    arrived_at: datetime | None,
    last_catch: LastCatch | None,
    now: datetime,
) -> None:
    """Refuse moments of a shipment that cannot be.

    sent_at, arrived_at
        with their offsets; None where it has not happened.
    last_catch
        None where no fish is in the shipment. The day of sending is taken in local time, as the day of a survey is.
    raises
        Refused, with the reason.
    """
    for moment, done in ((sent_at, "was sent"), (arrived_at, "arrived")):
        if moment is not None and moment > now:
            raise Refused(
                f"{local_time(moment)} is still to come; record that shipment {code} {done} when it has happened"
            )
    if sent_at is not None and last_catch is not None and sent_at.astimezone().date() < last_catch.on:
        raise Refused(
            f"shipment {code} cannot have been sent on {sent_at.astimezone():%Y-%m-%d}: it holds fish of"
            f" survey {last_catch.survey}, caught on {last_catch.on}"
        )
    if sent_at is not None and arrived_at is not None and arrived_at < sent_at:
        raise Refused(
            f"shipment {code} cannot arrive before it was sent ({local_time(sent_at)}); correct the other date"
            f" with: geneticlog correct shipment {code} --sent-at … --why TEXT"
        )
