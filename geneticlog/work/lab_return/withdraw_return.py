"""Take a whole reading back: its results, its findings and the decisions on them. Nothing is deleted.

The same bytes can then be read again with other answers. Results that the reading had replaced count again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.rules.sentences import n_of
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Finding, Result, ReturnFile, ReturnRow
from geneticlog.work.events import record, require_reason
from geneticlog.work.finding.answered import answered_by, close_itself, closed_itself, open_again
from geneticlog.work.finding.decide import take_back_decision
from geneticlog.work.finding.disagreeing_pairs import settle_pairs
from geneticlog.work.finding.finding_vials import pairs_without_result
from geneticlog.work.finding.results_of_findings import stand_again
from geneticlog.work.lab_return.readings import find_reading
from geneticlog.work.result.counted_result import settle
from geneticlog.work.result.in_the_numbers import in_force


@dataclass(frozen=True)
class Withdrawn:
    """What taking one reading back came to.

    n_results: that no longer count; n_back: earlier ones that count (or are held) again; n_decisions: taken back;
    n_findings: closed with the reading; n_reopened: that the reading had answered.
    """

    shipment: str
    file: str
    sha256: str
    n_rows: int
    n_results: int
    n_back: int
    n_findings: int
    n_decisions: int
    n_reopened: int


def withdraw_return(
    session: Session, named: str, *, why: str, stamp: Stamp, shipment_code: str | None = None
) -> list[Withdrawn]:
    """Take a reading back, of every shipment it was read for or of the one named.

    named
        path, file name or first letters of the digest.
    raises
        NotFound where no reading in force is named so; Refused without a reason, where the name fits two files, and
        while a later file rests on it: its rows said the same and brought no result of their own.
    """
    require_reason(why, "withdrawing the file")
    return [
        _withdraw(session, file, why.strip(), stamp=stamp)
        for file in find_reading(session, named, shipment_code)
    ]


def _withdraw(session: Session, file: ReturnFile, why: str, *, stamp: Stamp) -> Withdrawn:
    _refuse_while_others_rest_on_it(session, file)
    reason = f"the reading of {file.name} was withdrawn: {why}"
    own = list(
        session.scalars(
            select(Finding)
            .where(Finding.return_file_id == file.id, Finding.kind != FindingKind.MISSING)
            .order_by(Finding.decided_at.desc(), Finding.number.desc())
        )
    )
    decided = [finding for finding in own if finding.decision is not None and not closed_itself(finding)]
    touched = {result.id: result for finding in decided for result in take_back_decision(session, finding)}
    file.withdrawn_at, file.withdrawn_by, file.withdrawn_why = stamp.now, stamp.by, why
    results = list(
        session.scalars(
            select(Result)
            .join(ReturnRow, ReturnRow.id == Result.return_row_id)
            .where(ReturnRow.return_file_id == file.id)
            .order_by(Result.id)
        )
    )
    back = _standing_again(session, file, results)
    for result in results:
        result.standing, result.fish_id, result.replaced_by_id = ResultStanding.SUPERSEDED, None, None
    session.flush()
    for finding in sorted(own, key=lambda one: one.number):
        if not closed_itself(finding):
            close_itself(session, finding, reason, stamp=stamp)
    reopened = answered_by(session, file.id)
    for finding in reopened:
        open_again(session, finding, stamp=stamp)
    _close_missing(session, file, reason, stamp=stamp)
    stand_again(session, [*back, *touched.values()])
    vials = {result.vial_id for result in [*results, *back, *touched.values()]}
    for finding in pairs_without_result(session, vials):
        close_itself(session, finding, reason, stamp=stamp)
    settle(session, vials)
    settle_pairs(session, vials, stamp=stamp)
    done = Withdrawn(
        shipment=file.shipment.code, file=file.name, sha256=file.sha256, n_rows=file.n_rows,
        n_results=len(results), n_back=len(back), n_findings=len(own), n_decisions=len(decided),
        n_reopened=len(reopened),
    )  # fmt: skip
    counts = {key: value for key, value in vars(done).items() if key.startswith("n_")}
    record(
        session, "return_withdrawn", "shipment", done.shipment, stamp=stamp, why=why,
        old={"file": file.name, "sha256": file.sha256}, new=counts,
    )  # fmt: skip
    session.flush()
    return done


def _refuse_while_others_rest_on_it(session: Session, file: ReturnFile) -> None:
    of_this = (
        select(Result.vial_id)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .where(ReturnRow.return_file_id == file.id, in_force())
    )
    rests = session.execute(
        select(ReturnFile.name, func.count(ReturnRow.vial_id.distinct()))
        .join(ReturnRow, ReturnRow.return_file_id == ReturnFile.id)
        .where(
            ReturnFile.shipment_id == file.shipment_id,
            ReturnFile.id > file.id,
            ReturnFile.withdrawn_at.is_(None),
            ReturnRow.vial_id.in_(of_this),
            ReturnRow.outcome != Outcome.UNEXPECTED,
            ~select(Result.id).where(Result.return_row_id == ReturnRow.id).exists(),
        )
        .group_by(ReturnFile.id, ReturnFile.name)
        .order_by(ReturnFile.id.desc())
    ).all()
    if rests:
        names = ", ".join(f"{name} ({n_of(n, 'vial')})" for name, n in rests)
        raise Refused(
            f"later files say the same as {file.name} and rest on it: {names}; withdraw first: {rests[0][0]},"
            " then read it again"
        )


def _standing_again(session: Session, file: ReturnFile, results: Sequence[Result]) -> list[Result]:
    """Return the results that this reading had replaced and that no later one would have.

    Where a later file has replaced this one's result of a vial, it has replaced the earlier one too, and is written
    down as the file that did.
    """
    later = {result.vial_id: result.replaced_by_id for result in results if result.replaced_by_id is not None}
    still = {result.vial_id for result in results if result.standing != ResultStanding.SUPERSEDED}
    back = []
    for old in session.scalars(
        select(Result)
        .where(Result.replaced_by_id == file.id, Result.standing == ResultStanding.SUPERSEDED)
        .order_by(Result.id)
    ):
        if old.vial_id in later and old.vial_id not in still:
            old.replaced_by_id = later[old.vial_id]
        else:
            old.standing, old.replaced_by_id = ResultStanding.HELD, None
            back.append(old)
    return back


def _close_missing(session: Session, file: ReturnFile, reason: str, *, stamp: Stamp) -> None:
    """Close what was missing in the return where no reading of the shipment is left: nothing is missing before one."""
    left = session.scalar(
        select(ReturnFile.id).where(
            ReturnFile.shipment_id == file.shipment_id,
            ReturnFile.withdrawn_at.is_(None),
            ReturnFile.id != file.id,
        )
    )
    if left is not None:
        return
    for finding in session.scalars(
        select(Finding).where(
            Finding.shipment_id == file.shipment_id,
            Finding.kind == FindingKind.MISSING,
            Finding.decision.is_(None),
        )
    ):
        close_itself(session, finding, reason, stamp=stamp)
