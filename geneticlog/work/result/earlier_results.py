"""The earlier results of a vial: replaced when a decision lets a later one stand, brought back when it rejects it."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.result.result_states import UNDER_WAY, ResultStanding
from geneticlog.store.tables import Finding, Result


def replace_earlier(session: Session, touched: Sequence[Result]) -> list[int]:
    """Let the latest result of each vial that counts now replace the others; return the ids of those replaced.

    The one that a decision lets count may itself be the earlier one: what came later still stands.
    """
    vials = {result.vial_id for result in touched if result.standing == ResultStanding.CURRENT}
    replaced: list[int] = []
    if vials:
        session.flush()
        latest: dict[int, Result] = {}
        for candidate in session.scalars(
            select(Result)
            .where(Result.vial_id.in_(vials), Result.standing == ResultStanding.CURRENT)
            .order_by(Result.id.desc())
        ).all():
            newest = latest.setdefault(candidate.vial_id, candidate)
            if newest is not candidate:
                row = newest.return_row
                candidate.standing, candidate.fish_id = ResultStanding.SUPERSEDED, None
                candidate.replaced_by_id = row.return_file_id if row is not None else None
                replaced.append(candidate.id)
    return replaced


def bring_back(session: Session, finding: Finding, touched: Sequence[Result]) -> list[Result]:
    """Return the earlier result that stands again because the later one, which had replaced it, is rejected.

    It is held until its own findings are looked at again.
    """
    if finding.kind != FindingKind.REISSUE_CHANGED or finding.decision != Decision.REJECT:
        return []
    session.flush()
    back = []
    for later in touched:
        others = list(
            session.scalars(select(Result).where(Result.vial_id == later.vial_id).order_by(Result.id.desc()))
        )
        if later.standing != ResultStanding.REJECTED or any(one.standing in UNDER_WAY for one in others):
            continue
        earlier = [
            one
            for one in others
            if one.id < later.id and one.standing == ResultStanding.SUPERSEDED and not reading_withdrawn(one)
        ]
        # older findings do not say which one it was: the last one before
        known = [one for one in earlier if one.id == finding.data.facts.get("earlier")] or earlier[:1]
        for result in known:
            result.standing = ResultStanding.HELD
            back.append(result)
    return back


def reading_withdrawn(result: Result) -> bool:
    """Whether the reading that brought a result was withdrawn: it then counts for nothing whatever is decided."""
    row = result.return_row
    return row is not None and row.return_file.withdrawn_at is not None


def send_away(session: Session, ids: Sequence[int]) -> None:
    """Take back that earlier results were brought back: the later ones have replaced them again."""
    for result_id in ids:
        result = session.get_one(Result, result_id)
        result.standing, result.fish_id = ResultStanding.SUPERSEDED, None
