"""Decide on a finding: who, when and why, kept for ever; another decision takes its place and nothing is lost.

What a result counts for follows from the decisions that stand, whatever their order: a result with a finding
that holds it is in no number until every such finding is accepted, and one that any finding rejects is out.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FINDINGS, FindingKind
from geneticlog.rules.result.result_states import ResultStanding
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Finding, Result
from geneticlog.work.events import record
from geneticlog.work.finding.disagreeing_pairs import settle_pairs
from geneticlog.work.finding.match_row import match_row
from geneticlog.work.finding.may_decide import Asked, checked
from geneticlog.work.finding.results_of_findings import Known, refuse_unreadable, results_of, stand
from geneticlog.work.result.counted_result import settle
from geneticlog.work.result.earlier_results import bring_back, reading_withdrawn, replace_earlier, send_away
from geneticlog.work.result.genotype_decisions import (
    Value,
    Values,
    changed_values,
    give_back,
    recount,
    take_stated,
    values_of,
)


@dataclass(frozen=True)
class Decided:
    """One decision: the finding, what was decided, what it was before, and each result it moved."""

    finding: str
    kind: str
    vial: str | None
    text: str
    decision: Decision
    before: Decision | None
    moved: tuple[tuple[str, str, str], ...]  # vial code, standing before, standing after
    values: tuple[Value, ...] = ()  # that it changed


def find_finding(session: Session, name: str) -> Finding:
    """Return a finding by its number, as F12 or 12. Raises NotFound."""
    number = re.fullmatch(r"[Ff]?([0-9]{1,9})", name.strip())
    finding = session.scalar(select(Finding).where(Finding.number == int(number[1]))) if number else None
    if finding is None:
        raise NotFound(f"no finding {name!r}; see: geneticlog reconcile SHIPMENT")
    return finding


def decide(
    session: Session,
    name: str,
    asked: Asked,
    *,
    stamp: Stamp,
    all_of_kind: bool = False,
) -> list[Decided]:
    """Decide on a finding, or with ``all_of_kind`` on every open one of its kind in its shipment; return each.

    accept
        what the lab says stands; of rows that contradict each other ``row`` says which.
    recount
        where the lab's stated value and its genotypes differ: q, H and loci counted from the genotypes stand.
    reject
        the results are in no number, and a value that one of them had replaced stands again; of a finding about two
        vials ``vials`` names the wrong one, or both.
    match
        the row is about the one vial in ``vials``, a vial of this shipment without a result.
    resample
        the result is excluded and the fish must be sampled again; a failed sample stays failed; ``vials`` as for
        reject.
    close
        seen; nothing changes.

    raises
        NotFound for the finding; Refused for a decision that its kind does not take, no reason, no row or vial
        where one is needed, a vial that has a result or was not sent.
    """
    if not asked.why.strip():
        raise Refused("give the reason for the decision with --why TEXT")
    first = find_finding(session, name)
    chosen = [first]
    if all_of_kind:
        if asked.action == Decision.MATCH or asked.row is not None or asked.vials:
            raise Refused("a vial or a row belongs to one finding; decide these one by one")
        chosen += session.scalars(
            select(Finding)
            .where(
                Finding.kind == first.kind,
                Finding.shipment_id == first.shipment_id,
                Finding.survey_id == first.survey_id if first.shipment_id is None else Finding.id != first.id,
                Finding.decision.is_(None),
                Finding.id != first.id,
            )
            .order_by(Finding.number)
        )
    asked = replace(asked, why=asked.why.strip())
    known = Known(session)
    moved: set[int] = set()
    made = []
    for finding in chosen:
        one, touched = _decide_one(known, finding, asked, stamp)
        made.append(one)
        moved |= touched
    settle(session, moved)
    settle_pairs(session, moved, stamp=stamp)
    return made


def _decide_one(known: Known, finding: Finding, asked: Asked, stamp: Stamp) -> tuple[Decided, set[int]]:
    """Decide on one finding; return what became of it, and the vials whose results it is about."""
    session, name = known.session, f"F{finding.number}"
    action = checked(session, finding, asked)
    before = finding.decision
    old = {"decision": before, "why": finding.why, "by": finding.decided_by}
    was, values_before = _before(session, finding)
    sent_away = [session.get_one(Result, result_id) for result_id in finding.data.brought_back]
    _take_back(session, finding)
    about = tuple(sorted(vial.code for vial in asked.vials))
    # a person has decided, whatever closed it before
    finding.data = replace(finding.data, row=asked.row, about=about, answered=False, answered_by=None)
    finding.decision, finding.why = action, asked.why
    finding.decided_at, finding.decided_by = stamp.now, stamp.by
    if action is Decision.MATCH:
        match_row(session, finding, asked.vials)
    session.flush()
    touched = results_of(session, finding)
    _take_values(session, finding, touched)
    for result in touched:
        stand(known, result)
    replaced = replace_earlier(session, touched)
    back = bring_back(session, finding, touched)
    was |= {result.id: ResultStanding.SUPERSEDED for result in back}
    for result in back:
        stand(known, result)
    brought_back = tuple(result.id for result in back)
    finding.data = replace(finding.data, replaced=tuple(replaced), brought_back=brought_back)
    session.flush()
    values = changed_values(values_before, values_of(touched))
    moved = [
        (result.vial.code, was.get(result.id, "new"), result.standing)
        for result in [*touched, *sent_away, *back]
        if was.get(result.id) != result.standing
    ]
    new = {
        "decision": action,
        "row": asked.row,
        "vials": list(about) or None,
        "moved": moved,
        "values": values,
    }
    record(session, "decided", "finding", name, stamp=stamp, old=old, new=new, why=asked.why)
    vial = finding.vial.code if finding.vial else None
    told = Decided(name, finding.kind, vial, finding.text, action, before, tuple(moved), tuple(values))
    return told, {result.vial_id for result in touched}


def _before(session: Session, finding: Finding) -> tuple[dict[int, ResultStanding], Values]:
    """Return the standings and the values of the results that a decision may change, as they are before it."""
    there = results_of(session, finding)
    sent_away = [session.get_one(Result, result_id) for result_id in finding.data.brought_back]
    return {result.id: result.standing for result in [*there, *sent_away]}, values_of(there)


def _take_values(session: Session, finding: Finding, touched: Sequence[Result]) -> None:
    """Take the values that a decision lets count, keeping those before; refuse to accept where none can be read."""
    kind = FINDINGS.get(finding.kind)
    if finding.decision is Decision.ACCEPT and kind is not None and kind.holds:
        for result in touched:  # also of a row that is replaced by now: it would count again after that
            if result.standing == ResultStanding.SUPERSEDED and finding.data.row is None:
                refuse_unreadable(result)
    if finding.decision is Decision.RECOUNT:
        finding.data = replace(finding.data, before=tuple(recount(session, touched)))
    elif finding.decision is Decision.ACCEPT and finding.kind == FindingKind.GENOTYPES_DISAGREE:
        finding.data = replace(finding.data, before=tuple(take_stated(touched, finding.data.facts)))


def take_back_decision(session: Session, finding: Finding) -> list[Result]:
    """Undo what the decision on a finding did and return the results it is about.

    The decision that stands instead is left to the caller, and so are `stand_again` and `settle`.
    """
    touched = results_of(session, finding)
    _take_back(session, finding)
    session.flush()
    return touched


def _take_back(session: Session, finding: Finding) -> None:
    """Undo what the last decision did beyond standings: a match, a count, a result replaced or brought back."""
    done = finding.data
    finding.data = replace(done, before=(), brought_back=(), replaced=(), matched=None)
    give_back(session, done.before)
    send_away(session, done.brought_back)
    for result_id in done.replaced:
        older = session.get_one(Result, result_id)
        if older.standing == ResultStanding.SUPERSEDED and not reading_withdrawn(older):
            older.replaced_by_id = None
            older.standing = ResultStanding.CURRENT
            for touched in results_of(session, finding):
                if touched.vial_id == older.vial_id and touched.standing == ResultStanding.CURRENT:
                    touched.standing, touched.fish_id = ResultStanding.HELD, None
    matched = done.matched
    if matched is None:
        return
    result = session.get_one(Result, matched.result)
    if result.standing != ResultStanding.SUPERSEDED:
        result.standing, result.fish_id = ResultStanding.REJECTED, None
    row = result.return_row
    if row is not None:
        row.vial_id, row.outcome = matched.row_vial, matched.row_outcome
    finding.vial_id = matched.finding_vial
    finding.data = replace(finding.data, unmatched=(*done.unmatched, result.id))
    session.flush()
    settle(session, {result.vial_id})
