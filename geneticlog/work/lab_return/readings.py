"""The files that were read as returns: listed, and found again by path, name or digest."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.store.tables import ReturnFile, Shipment
from geneticlog.work.events import find_shipment


@dataclass(frozen=True)
class ReadingListed:
    """One file that was read for one shipment; withdrawn_at is None while its reading is in force."""

    file: str
    shipment: str
    sha256: str
    n_rows: int
    read_at: datetime
    read_by: str
    withdrawn_at: datetime | None
    withdrawn_by: str | None
    withdrawn_why: str | None


def readings(session: Session, shipment_code: str | None = None) -> list[ReadingListed]:
    """Return the files that were read, the newest first; of one shipment where it is named."""
    query = select(ReturnFile, Shipment.code).join(Shipment, Shipment.id == ReturnFile.shipment_id)
    if shipment_code is not None:
        query = query.where(Shipment.id == find_shipment(session, shipment_code).id)
    return [
        ReadingListed(
            file.name,
            code,
            file.sha256,
            file.n_rows,
            file.read_at,
            file.read_by,
            file.withdrawn_at,
            file.withdrawn_by,
            file.withdrawn_why,
        )
        for file, code in session.execute(query.order_by(ReturnFile.read_at.desc(), ReturnFile.id.desc()))
    ]


def find_reading(
    session: Session, named: str, shipment_code: str | None = None, *, or_withdrawn: bool = False
) -> list[ReturnFile]:
    """Return the reading in force that is named by path, file name or the first letters of its digest.

    It is one file; where it was read for several shipments there is one entry for each.

    or_withdrawn
        where none in force is named so, those that were withdrawn, the latest first.
    raises
        NotFound where no reading is named so; Refused where the name fits different files.
    """
    fitting = _named(session, named, shipment_code, ReturnFile.withdrawn_at.is_(None))
    if not fitting and or_withdrawn:
        fitting = _named(session, named, shipment_code, ReturnFile.withdrawn_at.is_not(None))[::-1]
    if not fitting:
        raise NotFound(
            f"no reading of {named} is in force; see the files that were read with: geneticlog return list"
        )
    if len({file.sha256 for file in fitting}) > 1:
        ways = "; ".join(
            f"{file.sha256[:10]} for shipment {file.shipment.code}, read {file.read_at:%Y-%m-%d}"
            for file in fitting
        )
        raise Refused(
            f"{len(fitting)} files of the name {Path(named).name} were read ({ways}); say which one by its digest"
        )
    return fitting


def _named(
    session: Session, named: str, shipment_code: str | None, condition: ColumnElement[bool]
) -> list[ReturnFile]:
    """Return the readings that are named by path, file name or digest, the oldest first."""
    query = select(ReturnFile).where(condition)
    if shipment_code is not None:
        query = query.where(ReturnFile.shipment_id == find_shipment(session, shipment_code).id)
    files = list(session.scalars(query.order_by(ReturnFile.id)))
    path = Path(named)
    fitting: list[ReturnFile] = []
    if path.is_file():
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        fitting = [file for file in files if file.sha256 == digest]
    elif re.fullmatch(r"[0-9a-f]{6,64}", named):
        fitting = [file for file in files if file.sha256.startswith(named)]
    return fitting or [file for file in files if file.name == path.name]
