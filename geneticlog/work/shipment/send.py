"""Send a shipment off, and note how it arrived."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.shipment.custody import Arrival, ShipmentStanding, move_shipment
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Shipment, Vial
from geneticlog.work.events import find_shipment, record, require_reason
from geneticlog.work.shipment.dates import check_dates
from geneticlog.work.shipment.refuse_packages import refuse_more_packages


@dataclass(frozen=True)
class Arrived:
    """How a shipment arrived: vials that are all right, and those that are not, one by one."""

    shipment: str
    n_ok: int
    noted: tuple[tuple[str, str, str | None], ...]  # vial code, how it arrived, note


@dataclass(frozen=True)
class Way:
    """How a shipment leaves; fill_ml: in each vial. What is None stays as it was entered before."""

    carrier: str | None = None
    tracking: str | None = None
    seal: str | None = None
    fill_ml: float | None = None
    n_packages: int | None = None


def send(
    session: Session,
    code: str,
    way: Way = Way(),
    *,
    stamp: Stamp,
    sent_at: datetime | None = None,
) -> Shipment:
    """Record that a shipment left. Raises CustodyError when it has left already, Refused when it is empty."""
    shipment = find_shipment(session, code)
    after = move_shipment(shipment.code, shipment.standing, ShipmentStanding.SENT)
    if not shipment.positions:
        raise Refused(f"shipment {shipment.code} holds no vial; pack some first")
    if way.fill_ml is not None and not way.fill_ml > 0:
        raise Refused(f"{way.fill_ml:g} mL is not a possible fill of a vial; it must be above 0")
    left = sent_at or stamp.now
    check_dates(session, shipment, sent_at=left, arrived_at=None, now=stamp.now)
    shipment.standing, shipment.sent_at, shipment.sent_by = after, left, stamp.by
    for name, value in asdict(way).items():
        setattr(shipment, name, value or getattr(shipment, name))
    if way.n_packages is not None:
        refuse_more_packages(shipment, way.n_packages)
    new = {
        "sent_at": left.isoformat(),
        "n_vials": len(shipment.positions),
        "carrier": shipment.carrier,
        "tracking": shipment.tracking,
        "seal": shipment.seal,
    }
    record(session, "sent", "shipment", shipment.code, stamp=stamp, new=new)
    session.flush()
    return shipment


def arrive(
    session: Session,
    code: str,
    *,
    stamp: Stamp,
    arrived_at: datetime | None = None,
    received_by: str | None = None,
    condition: str | None = None,
    noted: Mapping[Vial, tuple[Arrival, str | None]] | None = None,
) -> Arrived:
    """Record that a shipment arrived; vials in ``noted`` (missing, broken, leaked) one by one, the others as ok.

    May be repeated for further vials; what was said before is kept in the record.

    raises
        Refused for a vial that is not in the shipment, an arrival before the sending or still to come.
    """
    shipment = find_shipment(session, code)
    again = shipment.standing == ShipmentStanding.ARRIVED
    if not again:
        move_shipment(shipment.code, shipment.standing, ShipmentStanding.ARRIVED)
    arrived = arrived_at or (shipment.arrived_at if again and shipment.arrived_at else stamp.now)
    check_dates(session, shipment, sent_at=shipment.sent_at, arrived_at=arrived, now=stamp.now)
    arrivals = dict(noted or {})
    inside = {position.vial_id for position in shipment.positions}
    if strangers := [printed(vial.code) for vial in arrivals if vial.id not in inside]:
        raise Refused(f"not in shipment {shipment.code}: {', '.join(strangers[:10])}")
    old: dict[str, str | None] = {}
    new: dict[str, str] = {}
    for position in shipment.positions:
        how, note = arrivals.get(position.vial, (position.arrival or Arrival.OK, position.arrival_note))
        if how != position.arrival or note != position.arrival_note:
            if position.arrival is not None:
                old[position.vial.code] = position.arrival
            if how != Arrival.OK or position.arrival is not None:
                new[position.vial.code] = f"{how}: {note}" if note else how
        position.arrival, position.arrival_note = how, note
    shipment.standing, shipment.arrived_at = ShipmentStanding.ARRIVED, arrived
    shipment.received_by = received_by or shipment.received_by
    shipment.arrival_condition = condition or shipment.arrival_condition
    record(
        session,
        "arrived",
        "shipment",
        shipment.code,
        stamp=stamp,
        old={"vials": old} if old else None,
        new={
            "arrived_at": arrived.isoformat(),
            "received_by": shipment.received_by,
            "condition": shipment.arrival_condition,
            "vials": new,
        },
    )
    session.flush()
    bad = [p for p in shipment.positions if p.arrival != Arrival.OK]
    return Arrived(
        shipment.code,
        n_ok=len(shipment.positions) - len(bad),
        noted=tuple((p.vial.code, str(p.arrival), p.arrival_note) for p in bad),
    )


def close_shipment(session: Session, code: str, *, stamp: Stamp, why: str) -> Shipment:
    """Record that nothing more is expected of a shipment. Raises CustodyError before it was sent, or twice."""
    shipment = find_shipment(session, code)
    require_reason(why, "closing")
    before = shipment.standing
    shipment.standing = move_shipment(shipment.code, before, ShipmentStanding.CLOSED)
    shipment.closed_at = stamp.now
    old, new = {"standing": before}, {"standing": ShipmentStanding.CLOSED}
    record(session, "closed", "shipment", shipment.code, stamp=stamp, old=old, new=new, why=why.strip())
    session.flush()
    return shipment


def bill(session: Session, code: str, n_billed: int, *, stamp: Stamp, amount: float | None = None) -> None:
    """Record how many samples the lab billed for a shipment, and the amount. Raises Refused for less than 0."""
    shipment = find_shipment(session, code)
    if n_billed < 0 or (amount is not None and amount < 0):
        raise Refused("a lab cannot bill less than nothing; write the number of samples on the bill")
    shipment.n_billed, shipment.billed_amount = n_billed, amount
    record(
        session,
        "billed",
        "shipment",
        shipment.code,
        stamp=stamp,
        new={"n_billed": n_billed, "amount": amount},
    )
    session.flush()
