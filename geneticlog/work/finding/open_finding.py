"""Open a finding: what does not reconcile, in one plain sentence, until a person decides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_data import FindingData
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.stamp import Stamp
from geneticlog.store.chunks import in_chunks
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
    return open_findings(session, [NewFinding(key, kind, text, about, data or {})], stamp=stamp)[0]


@dataclass(frozen=True)
class NewFinding:
    """A finding to be opened: as the arguments of open_finding."""

    key: str
    kind: FindingKind
    text: str
    about: About
    data: Mapping[str, Any]


def open_findings(session: Session, wanted: Sequence[NewFinding], *, stamp: Stamp) -> list[Finding]:
    """Open many findings at once, numbered in their order; one that is there under its key is returned as it is."""
    by_key: dict[str, Finding] = {}
    keys = [finding.key for finding in wanted]
    for some in in_chunks(keys):
        known = session.scalars(select(Finding).where(Finding.key.in_(some)))
        by_key |= {row.key: row for row in known}
    number = session.scalar(select(func.max(Finding.number))) or 0
    new = []
    for finding in wanted:
        if finding.key in by_key:
            continue
        number += 1
        row = Finding(
            number=number,
            key=finding.key,
            kind=finding.kind,
            text=finding.text,
            **asdict(finding.about),
            data=FindingData(finding.data),
            opened_at=stamp.now,
        )
        session.add(row)
        by_key[finding.key] = row
        new.append(row)
    session.flush()
    for row in new:
        record(
            session, "opened", "finding", f"F{row.number}", stamp=stamp, new={"kind": row.kind, "text": row.text},
        )  # fmt: skip
    return [by_key[key] for key in keys]
