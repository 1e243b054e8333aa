"""Findings that close themselves, since what they are about is no longer so; the event keeps who, when and why."""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.stamp import Stamp
from geneticlog.store.columns import as_stored
from geneticlog.store.tables import Finding, ReturnFile
from geneticlog.work.events import record

CAME_BACK = "a later row of a return is about this vial"
GONE_ON_ARRIVAL = "the vial is recorded as missing or broken on arrival"


def close_itself(
    session: Session, finding: Finding, why: str, *, stamp: Stamp, file_id: int | None = None
) -> None:
    """Close a finding that no longer applies; a decision that was made on it stays in the event.

    file_id
        the return that answered it: the finding is opened again when that reading is withdrawn.
    """
    old = {"decision": finding.decision, "why": finding.why, "by": finding.decided_by}
    by = finding.data.answered_by if file_id is None else file_id
    finding.data = replace(finding.data, answered=True, answered_by=by)
    finding.decision, finding.why, finding.decided_at, finding.decided_by = (
        Decision.CLOSE,
        why,
        stamp.now,
        stamp.by,
    )
    new = {"decision": Decision.CLOSE, "answered": True}
    record(session, "decided", "finding", f"F{finding.number}", stamp=stamp, old=old, new=new, why=why)


def open_again(session: Session, finding: Finding, *, stamp: Stamp) -> None:
    """Open a finding that had closed itself: it applies again."""
    old = {"decision": finding.decision, "why": finding.why}
    finding.data = replace(finding.data, answered=False, answered_by=None)
    finding.decision = finding.why = finding.decided_at = finding.decided_by = None
    new = {"decision": None}
    record(session, "reopened", "finding", f"F{finding.number}", stamp=stamp, old=old, new=new)


def closed_itself(finding: Finding) -> bool:
    """Whether a finding is closed because it no longer applied, and nobody decided otherwise since."""
    return finding.decision == Decision.CLOSE and finding.data.answered


def answered_by(session: Session, file_id: int) -> list[Finding]:
    """Return the findings that a return answered and that are closed for that reason.

    One whose own reading was withdrawn since is left out: it is about nothing any more.
    """
    findings = session.scalars(
        select(Finding)
        .outerjoin(ReturnFile, ReturnFile.id == Finding.return_file_id)
        .where(
            Finding.decision == Decision.CLOSE,
            as_stored(Finding.data).contains(f'"answered_by": {file_id}'),
            or_(ReturnFile.withdrawn_at.is_(None), Finding.kind == FindingKind.MISSING),
        )
        .order_by(Finding.number)
    )
    return [one for one in findings if one.data.answered_by == file_id]
