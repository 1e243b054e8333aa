"""What a later file does to the findings of earlier ones: nothing is asked twice, and what no longer applies closes."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_data import vials_named
from geneticlog.rules.finding.finding_kinds import FINDINGS, MEANWHILE, FindingKind
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Finding, Result, ReturnFile, ReturnRow, Shipment
from geneticlog.work.finding.answered import CAME_BACK, close_itself, closed_itself
from geneticlog.work.finding.decide import decide
from geneticlog.work.finding.disagreeing_pairs import values_of_pair
from geneticlog.work.finding.finding_vials import OF_VIALS
from geneticlog.work.finding.may_decide import Asked
from geneticlog.work.finding.open_findings import Found

if TYPE_CHECKING:
    from geneticlog.work.lab_return.place_rows import PlacedRow

_NOT_FOUND = {
    "rows",
    "among",
    "where",
    MEANWHILE,
}  # of the file or of what counted then, and not what was found
_NEVER_CARRIED = frozenset(
    {
        FindingKind.REISSUE_CHANGED,
        FindingKind.REISSUE_OF_REJECTED,
        FindingKind.FAILED_AFTER_RESULT,
        FindingKind.CONFLICTING,
    }
)


def not_asked_twice(
    session: Session, findings: Sequence[Found], placed: Sequence[PlacedRow], shipment_id: int
) -> list[Found]:
    """Return the findings of a file without those that an earlier file of the shipment brought already.

    That is: of rows that are all unchanged, where a finding of the kind is known; of two vials, where the same was
    found of them before.
    """
    unchanged = {each.draft.row for each in placed if each.unchanged}
    earlier = _of_shipment(session, shipment_id)
    kinds = {finding.kind for finding in earlier}
    pairs = [
        (finding.kind, _facts_of_pair(finding.kind, finding.data.facts))
        for finding in earlier
        if finding.kind in OF_VIALS and not closed_itself(finding)
    ]
    kept = []
    for new in findings:
        kind = FINDINGS[new.kind]
        known = (kind.stored_as or new.kind) in kinds
        if kind.of_vials and (new.kind, _facts_of_pair(new.kind, new.facts)) in pairs:
            continue
        if not kind.of_vials and known and new.rows and set(new.rows) <= unchanged:
            continue
        kept.append(new)
    return kept


def settle_earlier_findings(
    session: Session,
    file: ReturnFile,
    placed: Sequence[PlacedRow],
    disagreeing: Collection[Found],
    *,
    stamp: Stamp,
) -> None:
    """Carry decisions over to findings that only repeat what was decided, and close those that no longer apply.

    disagreeing
        the pairs of vials of this file's fish that disagree now, told before or not.
    """
    session.flush()
    _placed_elsewhere(session, file, placed, stamp=stamp)
    earlier = [one for one in _of_shipment(session, file.shipment_id) if one.return_file_id != file.id]
    if not earlier:
        return
    _close_pairs(session, file, placed, earlier, disagreeing, stamp=stamp)
    _carry_over(session, file, earlier, stamp=stamp)
    waiting = [one for one in earlier if one.decision is None]
    for finding in [*_replaced(session, file, waiting), *_strangers_gone(session, file, placed, waiting)]:
        close_itself(
            session, finding, f"{file.name} replaces the rows it is about", stamp=stamp, file_id=file.id
        )
    back = {each.vial.id for each in placed if each.vial}
    for finding in waiting:
        if finding.kind in (FindingKind.MISSING, FindingKind.LEFT_OUT) and finding.vial_id in back:
            close_itself(session, finding, CAME_BACK, stamp=stamp, file_id=file.id)


def _close_pairs(
    session: Session,
    file: ReturnFile,
    placed: Sequence[PlacedRow],
    earlier: Sequence[Finding],
    disagreeing: Collection[Found],
    *,
    stamp: Stamp,
) -> None:
    """Close the open findings about two vials of a fish that agree by now, or disagree in other values."""
    now = [_facts_of_pair(one.kind, one.facts) for one in disagreeing]
    still = [vials_named(one.facts) for one in disagreeing]
    here = {each.vial.code for each in placed if each.vial}
    for finding in earlier:
        pair = finding.data.vials
        asked = finding.kind == FindingKind.DUPLICATES_DISAGREE and finding.decision is None
        if not asked or not pair & here:
            continue
        if _facts_of_pair(finding.kind, finding.data.facts) not in now:
            why = (
                f"{file.name} replaces the rows it is about"
                if pair in still
                else f"with {file.name} the two agree"
            )
            close_itself(session, finding, why, stamp=stamp, file_id=file.id)


def _placed_elsewhere(
    session: Session, file: ReturnFile, placed: Sequence[PlacedRow], *, stamp: Stamp
) -> None:
    """Close what a reading of the same file for another shipment asks about rows that have their place here."""
    here = {each.draft.row for each in placed if each.vial is not None}
    for finding in session.scalars(
        select(Finding)
        .join(ReturnFile, ReturnFile.id == Finding.return_file_id)
        .where(
            ReturnFile.sha256 == file.sha256,
            ReturnFile.shipment_id != file.shipment_id,
            ReturnFile.withdrawn_at.is_(None),
            Finding.kind == FindingKind.UNEXPECTED,
            Finding.decision.is_(None),
        )
        .order_by(Finding.number)
    ).all():
        if finding.rows and here.issuperset(finding.rows):
            shipment = session.get_one(Shipment, file.shipment_id).code
            close_itself(session, finding, f"the row was read for {shipment}", stamp=stamp, file_id=file.id)


def _of_shipment(session: Session, shipment_id: int) -> list[Finding]:
    """Return the findings of the readings of a shipment that are in force."""
    return list(
        session.scalars(
            select(Finding)
            .join(ReturnFile, ReturnFile.id == Finding.return_file_id)
            .where(ReturnFile.shipment_id == shipment_id, ReturnFile.withdrawn_at.is_(None))
            .order_by(Finding.number)
        )
    )


def _facts(facts: Mapping[str, Any]) -> str:
    return json.dumps({k: v for k, v in facts.items() if k not in _NOT_FOUND}, sort_keys=True, default=str)


def _facts_of_pair(kind: FindingKind | str, facts: Mapping[str, Any]) -> str:
    """Return what a finding about two vials asks: of two that disagree their values, whatever was scored besides."""
    return repr(values_of_pair(facts)) if kind == FindingKind.DUPLICATES_DISAGREE else _facts(facts)


def _carry_over(session: Session, file: ReturnFile, earlier: Sequence[Finding], *, stamp: Stamp) -> None:
    """Decide on findings of this file as a person decided on the same finding of the same vial before."""
    decided: dict[tuple[str, int | None, str], Finding] = {
        (finding.kind, finding.vial_id, _facts(finding.data.facts)): finding
        for finding in earlier
        if finding.decision in (Decision.ACCEPT, Decision.REJECT, Decision.RESAMPLE, Decision.CLOSE)
        and finding.vial_id
        and not closed_itself(finding)
    }
    for finding in session.scalars(
        select(Finding)
        .where(Finding.return_file_id == file.id, Finding.decision.is_(None), Finding.vial_id.is_not(None))
        .order_by(Finding.number)
    ).all():
        if finding.kind in _NEVER_CARRIED or finding.kind in OF_VIALS:
            continue
        before = decided.get((finding.kind, finding.vial_id, _facts(finding.data.facts)))
        if before is not None and before.decision is not None:
            why = f"as decided on F{before.number} by {before.decided_by}: {before.why}"
            decide(session, f"F{finding.number}", Asked(before.decision, why), stamp=stamp)


def _replaced(session: Session, file: ReturnFile, waiting: Sequence[Finding]) -> list[Finding]:
    """Return the open findings whose rows' results have all been replaced, the last of them by this file."""
    rows: dict[tuple[int, int], list[Result]] = defaultdict(list)
    ids = {one.return_file_id for one in waiting if one.rows}
    for result, file_id, row_number in session.execute(
        select(Result, ReturnRow.return_file_id, ReturnRow.row_number)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .where(ReturnRow.return_file_id.in_(ids))
        .execution_options(populate_existing=True)
    ):
        rows[file_id, row_number].append(result)
    out = []
    for finding in waiting:
        numbers = finding.rows
        its = [result for row in numbers for result in rows.get((finding.return_file_id or 0, row), [])]
        gone = bool(its) and all(result.standing == ResultStanding.SUPERSEDED for result in its)
        if gone and finding.kind not in OF_VIALS and any(r.replaced_by_id == file.id for r in its):
            out.append(finding)
    return out


def _strangers_gone(
    session: Session, file: ReturnFile, placed: Sequence[PlacedRow], waiting: Sequence[Finding]
) -> list[Finding]:
    """Return the open findings about rows of nobody's that a re-issue of their whole file no longer has."""
    strange = [one for one in waiting if one.kind == FindingKind.UNEXPECTED]
    if not strange:
        return []
    here = {each.vial.id for each in placed if each.vial}
    written = {each.draft.written.strip() for each in placed}
    vials: dict[int, set[int]] = defaultdict(set)
    codes: dict[tuple[int, int], str] = {}
    for file_id, row_number, code, vial_id, outcome in session.execute(
        select(
            ReturnRow.return_file_id, ReturnRow.row_number, ReturnRow.code_as_written, ReturnRow.vial_id,
            ReturnRow.outcome,
        ).where(ReturnRow.return_file_id.in_({one.return_file_id for one in strange}))
    ):  # fmt: skip
        if outcome == Outcome.UNEXPECTED:
            codes[file_id, row_number] = (code or "").strip()
        elif vial_id is not None:
            vials[file_id].add(vial_id)
    out = []
    for finding in strange:
        file_id = finding.return_file_id or 0
        its = {codes.get((file_id, row), "") for row in finding.rows}
        if vials[file_id] and vials[file_id] <= here and not its & written:
            out.append(finding)
    return out
