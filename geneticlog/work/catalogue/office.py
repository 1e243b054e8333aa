"""The office: two letters on every vial code, and the block of serials that belongs to this database."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import check_office
from geneticlog.store.tables import Office
from geneticlog.work.events import record


def set_office(
    session: Session, prefix: str, *, name: str | None, station: int | None, stamp: Stamp
) -> Office:
    """Enter an office, or change its name; its station is set before the first code is minted or not at all.

    Raises VialCodeError for letters that cannot be a prefix, Refused for a station changed too late.
    """
    prefix = check_office(prefix)
    office = session.scalar(select(Office).where(Office.prefix == prefix))
    if office is None:
        office = Office(prefix=prefix, station=station or 0, name=name)
        session.add(office)
        session.flush()
        record(
            session,
            "entered",
            "office",
            prefix,
            stamp=stamp,
            new={"name": name, "station": office.station},
        )
        return office
    old = {"name": office.name, "station": office.station}
    if station is not None and station != office.station:
        if office.next_serial > 1:
            raise Refused(
                f"office {prefix} has minted codes at station {office.station} in this database already, "
                "so its station stays; a new database may have another"
            )
        office.station = station
    if name is not None:
        office.name = name
    new = {"name": office.name, "station": office.station}
    if new != old:
        record(session, "corrected", "office", prefix, stamp=stamp, old=old, new=new)
    return office


def find_office(session: Session, prefix: str | None = None) -> Office:
    """Return the office named, or the only one there is. Raises NotFound with the way out."""
    offices = list(session.scalars(select(Office).order_by(Office.prefix)))
    if not offices:
        raise NotFound(
            "no office is entered yet; enter its two letters first: geneticlog office add BG --name …"
        )
    if prefix is None:
        if len(offices) > 1:
            raise NotFound(
                f"there are several offices ({', '.join(o.prefix for o in offices)}); say which: --office"
            )
        return offices[0]
    fitting = [office for office in offices if office.prefix == prefix.strip().upper()]
    if not fitting:
        raise NotFound(f"no office {prefix!r}; there are: {', '.join(o.prefix for o in offices)}")
    return fitting[0]


def offices(session: Session) -> set[str]:
    """Return the two letters of every office in this database."""
    return set(session.scalars(select(Office.prefix)))
