"""What a database holds and what waits in it: the facts behind ``geneticlog status``."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.shipment.custody import AWAY, ShipmentStanding
from geneticlog.store.tables import Finding, Fish, Lake, Office, Survey, Vial
from geneticlog.work.lakes.progress import progress_of_surveys
from geneticlog.work.shipment.follow import follow_all


@dataclass(frozen=True)
class OfficeHere:
    """An office whose codes this database mints, and its station."""

    office: str
    name: str | None
    station: int


@dataclass(frozen=True)
class Waiting:
    """One thing that waits for somebody: how many, what, and the command that shows it."""

    n: int
    what: str
    see: str


@dataclass(frozen=True)
class Status:
    """Rows of a database and what waits in it."""

    offices: tuple[OfficeHere, ...]
    n_lakes: int
    n_surveys: int
    n_fish: int
    n_vials_filled: int
    waiting: tuple[Waiting, ...]


def status_of(session: Session, *, now: datetime) -> Status:
    """Return what a database holds and what waits."""

    def count(*of: object) -> int:
        return session.scalar(select(func.count()).select_from(*of)) or 0  # type: ignore[arg-type]

    offices = tuple(
        OfficeHere(office.prefix, office.name, office.station)
        for office in session.scalars(select(Office).order_by(Office.prefix))
    )
    return Status(
        offices=offices,
        n_lakes=count(Lake),
        n_surveys=count(Survey),
        n_fish=int(session.scalar(select(func.coalesce(func.sum(Fish.n_fish), 0))) or 0),
        n_vials_filled=session.scalar(select(func.count()).where(Vial.fish_id.is_not(None))) or 0,
        waiting=_waiting(session, now),
    )


def _waiting(session: Session, now: datetime) -> tuple[Waiting, ...]:
    """Return what waits, in the order of the job: swabs to pack, shipments to send, returns to read, findings."""
    progress = progress_of_surveys(session).values()
    shipments = follow_all(session, now=now)
    n_open = session.scalar(select(func.count()).where(Finding.decision.is_(None))) or 0
    counts = (
        (
            sum(one.n_unpacked for one in progress),
            ("swabbed fish not packed",) * 2,
            "geneticlog shipment pack",
        ),
        (
            sum(one.n_gone for one in progress),
            ("fish whose vial arrived missing or broken",) * 2,
            "geneticlog inbox",
        ),
        (
            sum(one.standing == ShipmentStanding.PACKED for one in shipments),
            ("shipment packed, not sent", "shipments packed, not sent"),
            "geneticlog shipment list",
        ),
        (
            sum(one.standing in AWAY and not one.complete for one in shipments),
            (
                "shipment at the lab without a complete return",
                "shipments at the lab without a complete return",
            ),
            "geneticlog shipment list",
        ),
        (n_open, ("open finding", "open findings"), "geneticlog inbox"),
    )
    return tuple(Waiting(n, words[n != 1], see) for n, words, see in counts if n)
