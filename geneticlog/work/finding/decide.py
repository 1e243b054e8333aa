"""Decide on a finding: who, when and why, kept for ever; another decision takes its place and nothing is lost.

What a result counts for follows from the decisions that stand, whatever their order: a result with a finding
that holds it is in no number until every such finding is accepted, and one that any finding rejects is out.
"""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.lab_return.decision import Decision
from geneticlog.rules.lab_return.finding_kinds import FINDINGS
from geneticlog.rules.lab_return.result_states import UNDER_WAY, Outcome, ResultStanding
from geneticlog.rules.lab_return.sheet_rows import ONE_TABLE
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Finding, Result, ReturnFile, ReturnRow, ShipmentPosition, Vial
from geneticlog.work.events import as_json, record
from geneticlog.work.finding.finding_vials import OF_VIALS, decided_about, vials_of
from geneticlog.work.result.counted_result import settle
from geneticlog.work.result.earlier_results import bring_back, reading_withdrawn, replace_earlier, send_away
from geneticlog.work.result.genotype_decisions import (
    Value,
    changed_values,
    give_back,
    recount,
    take_stated,
    values_of,
)
from geneticlog.work.result.kept_reading import sheet_rows_of

ACTIONS = tuple(Decision)
SAID = (  # columns of a result that a row fills
    *("outcome", "q", "other_q", "third_q", "heterozygosity"),
    *("n_loci", "call_rate", "lab_class", "failure"),
)
OF_THE_LOG = (
    Decision.ACCEPT,
    Decision.CLOSE,
)  # a doubt of the log: the value itself is changed with `correct`


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
    found = session.scalar(select(Finding).where(Finding.number == int(number[1]))) if number else None
    if found is None:
        raise NotFound(f"no finding {name!r}; see: geneticlog reconcile SHIPMENT")
    return found


def decide(
    session: Session,
    name: str,
    action: str,
    *,
    why: str,
    stamp: Stamp,
    vials: Sequence[Vial] = (),
    row: int | None = None,
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
        the result is in no number and the fish is owed; a failed sample stays failed; ``vials`` as for reject.
    close
        seen; nothing changes.

    raises
        NotFound for the finding; Refused for a decision that its kind does not take, no reason, no row or vial
        where one is needed, a vial that has a result or was not sent.
    """
    if not why.strip():
        raise Refused("a decision needs its reason; write it with: --why TEXT")
    first = find_finding(session, name)
    chosen = [first]
    if all_of_kind:
        if action == Decision.MATCH or row is not None or vials:
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
    known = _Known(session)
    moved: set[int] = set()
    made = []
    for finding in chosen:
        one, touched = _decide_one(known, finding, action, why=why.strip(), stamp=stamp, vials=vials, row=row)
        made.append(one)
        moved |= touched
    settle(session, moved)
    return made


def _decide_one(
    known: _Known,
    finding: Finding,
    action: str,
    *,
    why: str,
    stamp: Stamp,
    vials: Sequence[Vial],
    row: int | None,
) -> tuple[Decided, set[int]]:
    session = known.session
    name = f"F{finding.number}"
    _refuse_withdrawn(session, finding)
    kind = FINDINGS.get(finding.kind)
    can = kind.decisions if kind else OF_THE_LOG
    if action not in can:
        raise Refused(f"{name} cannot be decided with {action}; it takes: {', '.join(can)}")
    rows = json.loads(finding.rows)
    _check_vials(finding, action, vials)
    if row is not None and row not in rows:
        raise Refused(f"{name} is about rows {', '.join(map(str, rows)) or 'of no file'}, not row {row}")
    before = finding.decision
    old = {"decision": before, "why": finding.why, "by": finding.decided_by}
    data = json.loads(finding.data)
    before_it = _touched(session, finding)
    was = {result.id: result.standing for result in before_it}
    held = values_of(before_it)
    sent_away = [session.get_one(Result, result_id) for result_id in data.get("brought_back", [])]
    was |= {result.id: result.standing for result in sent_away}
    _take_back(session, finding, data)
    about = sorted(vial.code for vial in vials) or None
    data |= {"row": row, "about": about}
    data.pop("answered", None)  # a person has decided, whatever closed it before
    data.pop("answered_by", None)
    finding.decision, finding.why = Decision(action), why
    finding.decided_at, finding.decided_by = stamp.now, stamp.by
    if action == Decision.MATCH:
        _match(session, finding, data, vials)
    elif action == Decision.ACCEPT and finding.kind == "conflicting" and row is None and len(rows) > 1:
        ways = " or ".join(f"--row {number}{_of_sheet(session, finding, number)}" for number in rows)
        raise Refused(f"{name}: say which row stands, with {ways}")
    finding.data = as_json(data) or "{}"
    session.flush()
    touched = _touched(session, finding)
    if action == Decision.ACCEPT and kind is not None and kind.holds:
        for (
            result
        ) in touched:  # also of a row that is replaced by now: it would count again if that were taken back
            if result.standing == ResultStanding.SUPERSEDED and data.get("row") is None:
                _refuse_unreadable(result)
    if action == Decision.RECOUNT:
        data["before"] = recount(session, touched)
    elif action == Decision.ACCEPT and finding.kind == "genotypes_disagree":
        data["before"] = take_stated(touched, data)
    for result in touched:
        _stand(known, result)
    data["replaced"] = replace_earlier(session, touched)
    back = bring_back(session, finding, data, touched)
    was |= {result.id: ResultStanding.SUPERSEDED for result in back}
    for result in back:
        _stand(known, result)
    data["brought_back"] = [result.id for result in back]
    finding.data = as_json(data) or "{}"
    session.flush()
    values = changed_values(held, values_of(touched))
    moved = [
        (result.vial.code, was.get(result.id, "new"), result.standing)
        for result in [*touched, *sent_away, *back]
        if was.get(result.id) != result.standing
    ]
    record(
        session,
        "decided",
        "finding",
        name,
        stamp=stamp,
        old=old,
        new={"decision": action, "row": row, "vials": about, "moved": moved, "values": values},
        why=why,
    )
    told = Decided(
        name,
        finding.kind,
        finding.vial.code if finding.vial else None,
        finding.text,
        Decision(action),
        before,
        tuple(moved),
        tuple(values),
    )
    return told, {result.vial_id for result in touched}


def take_back_decision(session: Session, finding: Finding) -> list[Result]:
    """Undo what the decision on a finding did and return the results it is about.

    The decision that stands instead is left to the caller, and so are `stand_again` and `settle`.
    """
    data = json.loads(finding.data)
    touched = _touched(session, finding)
    _take_back(session, finding, data)
    finding.data = as_json(data) or "{}"
    session.flush()
    return touched


def stand_again(session: Session, results: Sequence[Result]) -> None:
    """Give results the standing that the findings about them come to."""
    known = _Known(session)
    for result in results:
        _stand(known, result)
    replace_earlier(session, results)
    session.flush()


def _refuse_withdrawn(session: Session, finding: Finding) -> None:
    file = session.get(ReturnFile, finding.return_file_id) if finding.return_file_id else None
    if file is not None and file.withdrawn_at is not None and finding.kind != "missing":
        raise Refused(
            f"F{finding.number} is about a reading of {file.name} that was withdrawn on"
            f" {file.withdrawn_at.astimezone():%Y-%m-%d}, so there is nothing to decide"
        )


def _check_vials(finding: Finding, action: str, vials: Sequence[Vial]) -> None:
    """Refuse a vial where none is named, and a decision that must name one of several and does not."""
    name = f"F{finding.number}"
    if action == Decision.MATCH:
        if len(vials) > 1:
            raise Refused(f"a row is about one vial; say which one {name} is about")
        return
    either = sorted(vials_of(json.loads(finding.data))) if finding.kind in OF_VIALS else []
    shown = [printed(code) for code in either]
    strange = [vial.code for vial in vials if vial.code not in either]
    if strange and either:
        raise Refused(f"{name} is about {' or '.join(shown)}, not {printed(strange[0])}")
    if strange:
        raise Refused(
            f"{name} is not about two vials, so no vial is named; say: geneticlog finding decide {name} {action}"
        )
    if action in (Decision.REJECT, Decision.RESAMPLE) and either and not vials:
        ways = " or ".join(f'geneticlog finding decide {name} {action} "{code}" --why TEXT' for code in shown)
        raise Refused(f"{name} is about {' and '.join(shown)}; say which one to {action}, or both: {ways}")


def _of_sheet(session: Session, finding: Finding, number: int) -> str:
    """Say which row of which sheet a number means, where several sheets were read as one return."""
    file = session.get(ReturnFile, finding.return_file_id)
    numbering = sheet_rows_of(file) if file else ONE_TABLE
    return f" (row {numbering.words([number])})" if numbering.sheets else ""


def _touched(session: Session, finding: Finding) -> list[Result]:
    """The results a finding is about: those of its rows; of a pair that disagrees, both vials'."""
    data = json.loads(finding.data)
    rows = json.loads(finding.rows)
    if finding.kind in OF_VIALS:
        of_vials = select(Result).join(Vial, Vial.id == Result.vial_id).where(Vial.code.in_(vials_of(data)))
        return list(
            session.scalars(of_vials.where(Result.standing != ResultStanding.SUPERSEDED).order_by(Result.id))
        )
    if finding.return_file_id is None or not rows:
        return []
    return list(
        session.scalars(
            select(Result)
            .join(ReturnRow, ReturnRow.id == Result.return_row_id)
            .where(ReturnRow.return_file_id == finding.return_file_id, ReturnRow.row_number.in_(rows))
            .order_by(Result.id)
        )
    )


class _Known:
    """The findings about each result, looked up once for a whole round of decisions."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self._of_file: dict[int, dict[int, list[Finding]]] = {}
        self._of_pairs: dict[str, list[Finding]] | None = None

    def about(self, result: Result) -> list[tuple[Finding, dict[str, Any]]]:
        """Return the findings that touch a result, each with its data."""
        row = result.return_row
        found = [] if row is None else self._in(row.return_file_id).get(row.row_number, [])
        both = [*found, *self._pairs().get(result.vial.code, [])]
        return [(finding, json.loads(finding.data)) for finding in both]

    def _in(self, file_id: int) -> dict[int, list[Finding]]:
        if file_id not in self._of_file:
            by_row: dict[int, list[Finding]] = defaultdict(list)
            for finding in self.session.scalars(select(Finding).where(Finding.return_file_id == file_id)):
                for number in () if finding.kind in OF_VIALS else json.loads(finding.rows):
                    by_row[number].append(finding)
            self._of_file[file_id] = by_row
        return self._of_file[file_id]

    def _pairs(self) -> dict[str, list[Finding]]:
        if self._of_pairs is None:
            self._of_pairs = defaultdict(list)
            for finding in self.session.scalars(select(Finding).where(Finding.kind.in_(OF_VIALS))):
                for code in vials_of(json.loads(finding.data)):
                    self._of_pairs[code].append(finding)
        return self._of_pairs


def _stand(known: _Known, result: Result) -> None:
    """Give a result the standing that all decisions about it come to."""
    if result.standing == ResultStanding.SUPERSEDED:
        return
    row_number = result.return_row.row_number if result.return_row else None
    out = waits = False
    for finding, data in known.about(result):
        kind = FINDINGS.get(finding.kind)
        if kind is not None and kind.of_vials and _came_later(result, finding):
            continue
        about = decided_about(data)
        the_other_one = bool(about) and result.vial.code not in about
        another_row = finding.decision == Decision.ACCEPT and data.get("row") not in (None, row_number)
        unmatched = result.id in data.get("unmatched", [])
        rejected = finding.decision == Decision.REJECT and not the_other_one
        owed = finding.decision == Decision.RESAMPLE and result.outcome == Outcome.TYPED and not the_other_one
        out = out or another_row or unmatched or rejected or owed
        settled = finding.decision in (Decision.ACCEPT, Decision.RECOUNT)
        waits = waits or (kind is not None and kind.holds and not settled)
    after = ResultStanding.REJECTED if out else ResultStanding.HELD if waits else ResultStanding.CURRENT
    if after == ResultStanding.CURRENT:
        _refuse_unreadable(result)
    result.standing = after
    if after != ResultStanding.CURRENT:
        result.fish_id = None


def _refuse_unreadable(result: Result) -> None:
    if result.outcome == Outcome.TYPED and result.q is None:
        raise Refused(
            f"{printed(result.vial.code)} has no readable proportion in this row, so nothing can be accepted; "
            "reject it, or ask the lab for a corrected file"
        )


def _came_later(result: Result, finding: Finding) -> bool:
    """Whether a file brought the result after the decision on its vial, which knew nothing of it."""
    row, decided_at = result.return_row, finding.decided_at
    return row is not None and decided_at is not None and row.return_file.read_at > decided_at


def _take_back(session: Session, finding: Finding, data: dict[str, Any]) -> None:
    """Undo what the last decision did beyond standings: a match, a count, a result replaced or brought back."""
    give_back(session, data.pop("before", []))
    send_away(session, data.pop("brought_back", []))
    for result_id in data.pop("replaced", []):
        older = session.get_one(Result, result_id)
        if older.standing == ResultStanding.SUPERSEDED and not reading_withdrawn(older):
            older.replaced_by_id = None
            older.standing = ResultStanding.CURRENT
            for touched in _touched(session, finding):
                if touched.vial_id == older.vial_id and touched.standing == ResultStanding.CURRENT:
                    touched.standing, touched.fish_id = ResultStanding.HELD, None
    matched = data.pop("matched", None)
    if matched is None:
        return
    result = session.get_one(Result, matched["result"])
    if result.standing != ResultStanding.SUPERSEDED:
        result.standing, result.fish_id = ResultStanding.REJECTED, None
    row = result.return_row
    if row is not None:
        row.vial_id, row.outcome = matched["row_vial"], matched["row_outcome"]
    finding.vial_id = matched["finding_vial"]
    data.setdefault("unmatched", []).append(result.id)
    session.flush()
    settle(session, {result.vial_id})


def _match(session: Session, finding: Finding, data: dict[str, Any], vials: Sequence[Vial]) -> None:
    name = f"F{finding.number}"
    if not vials:
        raise Refused(
            f"say which vial {name} is about: geneticlog finding decide {name} match VIAL --why TEXT"
        )
    (vial,) = vials
    sent = session.scalar(
        select(ShipmentPosition.id).where(
            ShipmentPosition.shipment_id == finding.shipment_id, ShipmentPosition.vial_id == vial.id
        )
    )
    if sent is None:
        raise Refused(
            f"{printed(vial.code)} was not sent in this shipment, so no row of its return is about it"
        )
    there = session.scalars(
        select(Result).where(Result.vial_id == vial.id, Result.standing.in_(UNDER_WAY))
    ).first()
    if there is not None:
        raise Refused(f"{printed(vial.code)} has a result already; reject that one first")
    row = session.scalar(
        select(ReturnRow).where(
            ReturnRow.return_file_id == finding.return_file_id,
            ReturnRow.row_number.in_(json.loads(finding.rows)),
        )
    )
    if row is None:
        raise Refused(f"{name} is about no row of a return, so there is nothing to match")
    said = data.get("values")
    if not said or (said["outcome"] == Outcome.TYPED and said["q"] is None):
        raise Refused(f"row {row.row_number} has no readable proportion, so there is nothing to match")
    result = Result(
        vial_id=vial.id,
        return_row_id=row.id,
        panel_id=row.return_file.shipment.panel_id,
        standing=ResultStanding.HELD,
        **{name: said.get(name) for name in SAID},
    )
    session.add(result)
    session.flush()
    data["matched"] = {
        "result": result.id,
        "vial": vial.code,
        "row_vial": row.vial_id,
        "row_outcome": row.outcome,
        "finding_vial": finding.vial_id,
    }
    row.vial_id, row.outcome = vial.id, result.outcome
    finding.vial_id = vial.id
