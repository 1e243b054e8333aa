"""Follow shipments: where each vial is, how long it has been out, what it cost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.drafts.return_counts import Counts
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.result.result_states import ResultStanding
from geneticlog.rules.shipment.custody import (
    Arrival,
    ShipmentStanding,
    ShipmentState,
    custody_of,
    shipment_state,
)
from geneticlog.rules.shipment.ethanol import EthanolNote, ethanol_note, is_ethanol
from geneticlog.store.tables import Finding, Result, Shipment
from geneticlog.work.events import find_shipment, fish_name
from geneticlog.work.result.in_the_numbers import in_force
from geneticlog.work.shipment.count_return import Returned, returned_of
from geneticlog.work.shipment.manifest import in_order


@dataclass(frozen=True)
class Cost:
    """What a shipment cost: samples billed against what came back. Amounts are in dollars.

    n_failed: without the blanks that gave nothing (n_clean_blanks); they did what they were sent for
    n_billed: as recorded from the lab's bill, None before that; amount: of the bill, else fee x n_billed
    """

    fee: float | None
    n_billed: int | None
    amount: float | None
    n_sent: int
    n_returned: int
    n_failed: int
    per_result: float | None
    n_clean_blanks: int = 0


@dataclass(frozen=True)
class Follow:
    """One shipment at a glance."""

    shipment: str
    lab: str
    standing: ShipmentStanding
    n_vials: int
    sent_at: datetime | None
    arrived_at: datetime | None
    days_out: int | None
    complete: bool
    counts: Counts | None
    n_open_findings: int
    state: ShipmentState
    since: datetime  # when it came into the state it is in


def state_of(shipment: Shipment, returned: Returned, *, n_open: int, n_missed: int) -> ShipmentState:
    """Return how far a shipment has come.

    n_open
        findings of it that wait for a decision.
    n_missed
        findings about its vials that did not come back.
    """
    return shipment_state(
        shipment.standing,
        returned=returned.n_files > 0,
        complete=returned.complete,
        reconciled=not n_open and len(returned.awaited) <= n_missed,
    )


def days_out(shipment: Shipment, returned: Returned, now: datetime) -> int | None:
    """Return the days since a shipment was sent, until its return was complete; None before it was sent."""
    if shipment.sent_at is None:
        return None
    end = shipment.closed_at or (returned.last_read_at if returned.complete else None) or now
    return max(0, (end - shipment.sent_at).days)


def follow(session: Session, shipment: Shipment, *, now: datetime) -> Follow:
    """Return where a shipment stands."""
    returned = returned_of(session, shipment)
    n_open, n_missed = session.execute(
        select(
            func.coalesce(func.sum(case((Finding.decision.is_(None), 1), else_=0)), 0),
            func.coalesce(func.sum(case((Finding.kind == FindingKind.MISSING, 1), else_=0)), 0),
        ).where(Finding.shipment_id == shipment.id)
    ).one()
    read_at = returned.last_read_at if returned.complete else returned.first_read_at
    return Follow(
        shipment=shipment.code,
        lab=shipment.lab.code,
        standing=shipment.standing,
        n_vials=len(returned.sent),
        sent_at=shipment.sent_at,
        arrived_at=shipment.arrived_at,
        days_out=days_out(shipment, returned, now),
        complete=returned.complete,
        counts=returned.counts if returned.n_files else None,
        n_open_findings=n_open,
        state=state_of(shipment, returned, n_open=n_open, n_missed=n_missed),
        since=next(
            at
            for at in (shipment.closed_at, read_at, shipment.arrived_at, shipment.sent_at, shipment.packed_at)
            if at is not None
        ),
    )


def follow_all(session: Session, *, now: datetime) -> list[Follow]:
    """Return where every shipment stands, the newest first."""
    there = session.scalars(select(Shipment).order_by(Shipment.packed_at.desc(), Shipment.id.desc()))
    return [follow(session, shipment, now=now) for shipment in there]


@dataclass(frozen=True)
class Seat:
    """One vial of a shipment, for the office: what it is and where it has got to."""

    container_number: int
    position: str
    vial: str
    role: VialRole
    fish: str | None
    size_class: str | None
    arrival: Arrival | None
    arrival_note: str | None
    custody: str


def seats(session: Session, shipment: Shipment) -> list[Seat]:
    """Return the vials of a shipment in filling order, each with where it has got to."""
    positions = in_order(session, shipment)
    # a result that waits or was rejected still says that the vial came back; a current one goes before it
    rows = session.execute(
        select(Result.vial_id, Result.outcome)
        .where(Result.vial_id.in_([at.vial_id for at in positions]), in_force())
        .order_by(case((Result.standing == ResultStanding.CURRENT, 1), else_=0), Result.id)
    )
    outcome = {row.vial_id: row.outcome for row in rows}
    return [
        Seat(
            at.container_number,
            at.position,
            at.vial.code,
            at.vial.role,
            fish_name(at.vial.fish.survey.code, at.vial.fish.number) if at.vial.fish else None,
            at.vial.fish.size_class if at.vial.fish else None,
            at.arrival,
            at.arrival_note,
            custody_of(
                at.vial.standing,
                shipment=shipment.standing,
                arrival=at.arrival,
                outcome=outcome.get(at.vial_id),
            ).value,
        )
        for at in positions
    ]


def ethanol_of(shipment: Shipment) -> EthanolNote | None:
    """Return what a shipment's ethanol comes to; None when none of its vials is said to hold any."""
    n_vials = sum(is_ethanol(at.vial.medium or shipment.medium) for at in shipment.positions)
    if not n_vials:
        return None
    return ethanol_note(
        n_vials, shipment.fill_ml, carrier=shipment.carrier, n_packages=shipment.n_packages or 1
    )


def cost_of(session: Session, shipment: Shipment) -> Cost:
    """Return what a shipment cost, by the lab's bill where one is recorded."""
    counts = returned_of(session, shipment).counts
    n_billed, amount = shipment.n_billed, shipment.billed_amount
    if amount is None and n_billed is not None and shipment.lab.fee is not None:
        amount = n_billed * shipment.lab.fee
    typed = counts.matched - counts.clean_blanks
    return Cost(
        fee=shipment.lab.fee,
        n_billed=n_billed,
        amount=amount,
        n_sent=counts.sent,
        n_returned=counts.returned,
        n_failed=counts.failed,
        per_result=amount / typed if amount is not None and typed else None,
        n_clean_blanks=counts.clean_blanks,
    )


def find_shipments(session: Session, codes: tuple[str, ...]) -> list[Shipment]:
    """Return the shipments named, or all of them."""
    if codes:
        return [find_shipment(session, code) for code in codes]
    return list(session.scalars(select(Shipment).order_by(Shipment.id)))
