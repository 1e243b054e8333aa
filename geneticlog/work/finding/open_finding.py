"""Open a finding: what does not reconcile, in one plain sentence, until a person decides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_data import FindingData
from geneticlog.rules.lab_return.finding_kinds import FindingKind
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Finding
from geneticlog.work.events import record


@dataclass(frozen=True)
class About:
    """What a finding is about, by the ids of this database."""

    survey_id: int | None = None
    fish_id: int | None = None
    vial_id: int | None = None
    shipment_id: int | None = None
    return_file_id: int | None = None


NOTHING = About()


def open_finding(
    session: Session,
    *,
    key: str,
    kind: FindingKind,
    text: str,
    stamp: Stamp,
    about: About = NOTHING,
    data: Mapping[str, Any] | None = None,
) -> Finding:
    """Open a finding, or return the one that is there under the same key: a second look opens nothing twice.

    key: kind and subject; text: one plain sentence; data: the numbers behind it.
    """
    found = session.scalar(select(Finding).where(Finding.key == key))
    if found is not None:
        return found
    number = (session.scalar(select(func.max(Finding.number))) or 0) + 1
    finding = Finding(
        number=number,
        key=key,
        kind=kind,
        text=text,
        **asdict(about),
        data=FindingData(data or {}),
        opened_at=stamp.now,
    )
    session.add(finding)
    session.flush()
    record(session, "opened", "finding", f"F{number}", stamp=stamp, new={"kind": kind, "text": text})
    return finding
