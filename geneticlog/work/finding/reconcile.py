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
from geneticlog.work.finding.answered import (
    CAME_BACK,
    GONE_ON_ARRIVAL,
    close_itself,
    closed_itself,
    open_again,
)
from geneticlog.work.finding.disagreeing_pairs import settle_pairs
from geneticlog.work.finding.list_findings import FindingLine, finding_lines
from geneticlog.work.finding.open_findings import Found, open_findings
from geneticlog.work.result.in_the_numbers import n_vials_of_other_pairs
from geneticlog.work.shipment.count_return import Returned, returned_of


@dataclass(frozen=True)
class Reconciled:
    """The counts of a shipment, which add up, and its findings; nothing is missing before a return was read.

    Findings of a reading that was withdrawn are left out; `list_findings` has them.
    """

    shipment: str
    counts: Counts
    findings: tuple[FindingLine, ...]
    n_gone: int  # of the missing: arrived missing or broken
    n_rows: int
    n_files: int
    n_new: int
    n_answered: int
    n_other_pair: (
        int  # of the matched: typed for another pair of taxa than the numbers of their lake are about
    )


def reconcile(session: Session, code: str, *, stamp: Stamp) -> Reconciled:
    """Return the counts and findings of a shipment, after opening a finding for each vial that is missing.

    A vial is missing once a return has been read and none of its rows is about it, unless it is recorded that it
    arrived missing or broken: there is nothing to ask the lab then. When a later row is about it, its finding is closed
    with that reason; when a decision takes the row away again, the finding is opened again. What is asked of two vials
    of a fish is asked in the values in force.
    """
    shipment = find_shipment(session, code)
    returned = returned_of(session, shipment)
    n_answered = close_answered(session, shipment, returned, stamp=stamp)
    n_new = _missing(session, shipment, returned, stamp=stamp)
    settle_pairs(session, list(returned.sent.values()), stamp=stamp)
    return Reconciled(
        shipment=shipment.code,
        counts=returned.counts,
        findings=tuple(
            one for one in finding_lines(session, Finding.shipment_id == shipment.id) if not one.withdrawn
        ),
        n_gone=returned.n_gone,
        n_rows=len(returned.rows),
        n_files=returned.n_files,
        n_new=n_new,
        n_answered=n_answered,
        n_other_pair=n_vials_of_other_pairs(session, shipment.id),
    )


def close_answered(session: Session, shipment: Shipment, returned: Returned, *, stamp: Stamp) -> int:
    """Close the open findings about vials that are missing no longer, or gone on arrival; return how many."""
    n_answered = 0
    awaited, back = set(returned.awaited.values()), {row.vial_id for row in returned.rows}
    for vial_id, finding in _opened(session, shipment).items():
        if finding.decision is None and vial_id not in awaited:
            why = CAME_BACK if vial_id in back else GONE_ON_ARRIVAL
            close_itself(session, finding, why, stamp=stamp)
            n_answered += 1
    return n_answered


def _opened(session: Session, shipment: Shipment) -> dict[int | None, Finding]:
    missing = select(Finding).where(Finding.shipment_id == shipment.id, Finding.kind == FindingKind.MISSING)
    return {finding.vial_id: finding for finding in session.scalars(missing)}


def _missing(session: Session, shipment: Shipment, returned: Returned, *, stamp: Stamp) -> int:
    if not returned.n_files:
        return 0
    opened = _opened(session, shipment)
    for vial_id in returned.awaited.values():
        if vial_id in opened and closed_itself(opened[vial_id]):
            open_again(session, opened[vial_id], stamp=stamp)
    file = session.scalars(
        select(ReturnFile)
        .where(ReturnFile.shipment_id == shipment.id, ReturnFile.withdrawn_at.is_(None))
        .order_by(ReturnFile.read_at.desc(), ReturnFile.id.desc())
        .limit(1)
    ).one()
    findings = [
        Found(FindingKind.MISSING, {"vial": code}, vial_id=vial_id)
        for code, vial_id in returned.awaited.items()
        if vial_id not in opened
    ]
    open_findings(
        session, findings, shipment_id=shipment.id, return_file_id=file.id, digest=file.sha256, stamp=stamp
    )
    session.flush()
    return len(findings)
