"""Reconcile a shipment: what was sent against what came back, and every finding that is open or decided."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.drafts.return_counts import Counts
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Finding, ReturnFile, Shipment
from geneticlog.work.events import find_shipment
from geneticlog.work.finding.answered import CAME_BACK, close_itself, closed_itself, open_again
from geneticlog.work.finding.list_findings import FindingLine, finding_lines
from geneticlog.work.finding.open_findings import Found, open_findings
from geneticlog.work.shipment.count_return import Returned, returned_of


@dataclass(frozen=True)
class Reconciled:
    """The counts of a shipment, which add up, and its findings; nothing is missing before a return was read.

    Findings of a reading that was withdrawn are left out; `list_findings` has them.
    """

    shipment: str
    counts: Counts
    findings: tuple[FindingLine, ...]
    n_rows: int
    n_files: int
    n_new: int
    n_answered: int


def reconcile(session: Session, code: str, *, stamp: Stamp) -> Reconciled:
    """Return the counts and findings of a shipment, after opening a finding for each vial that is missing.

    A vial is missing once a return has been read and none of its rows is about it. When a later row is, its
    finding is closed with that reason; when a decision takes the row away again, the finding is opened again.
    """
    shipment = find_shipment(session, code)
    returned = returned_of(session, shipment)
    n_new, n_answered = _missing(session, shipment, returned, stamp=stamp)
    return Reconciled(
        shipment=shipment.code,
        counts=returned.counts,
        findings=tuple(
            one for one in finding_lines(session, Finding.shipment_id == shipment.id) if not one.withdrawn
        ),
        n_rows=len(returned.rows),
        n_files=returned.n_files,
        n_new=n_new,
        n_answered=n_answered,
    )


def _missing(session: Session, shipment: Shipment, returned: Returned, *, stamp: Stamp) -> tuple[int, int]:
    if not returned.n_files:
        return 0, 0
    back = {row.vial_id for row in returned.rows}
    missing = {vial_id: code for code, vial_id in returned.sent.items() if vial_id not in back}
    opened = {
        finding.vial_id: finding
        for finding in session.scalars(
            select(Finding).where(Finding.shipment_id == shipment.id, Finding.kind == FindingKind.MISSING)
        )
    }
    n_answered = 0
    for vial_id, finding in opened.items():
        if vial_id not in missing and finding.decision is None:
            close_itself(session, finding, CAME_BACK, stamp=stamp)
            n_answered += 1
        elif vial_id in missing and closed_itself(finding):
            open_again(session, finding, stamp=stamp)
    file = session.scalars(
        select(ReturnFile)
        .where(ReturnFile.shipment_id == shipment.id, ReturnFile.withdrawn_at.is_(None))
        .order_by(ReturnFile.read_at.desc(), ReturnFile.id.desc())
        .limit(1)
    ).one()
    findings = [
        Found(FindingKind.MISSING, {"vial": code}, vial_id=vial_id)
        for vial_id, code in missing.items()
        if vial_id not in opened
    ]
    open_findings(
        session, findings, shipment_id=shipment.id, return_file_id=file.id, digest=file.sha256, stamp=stamp
    )
    session.flush()
    return len(findings), n_answered
