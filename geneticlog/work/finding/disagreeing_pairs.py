"""Two vials of one fish with proportions too far apart: asked about once, in the values in force."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.shipment.duplicates import proportions_apart
from geneticlog.rules.stamp import Stamp
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Finding, Result, ReturnFile, ReturnRow, Vial
from geneticlog.work.finding.answered import close_itself, closed_itself, open_again
from geneticlog.work.finding.open_findings import Found, open_findings
from geneticlog.work.result.in_the_numbers import usable

NOT_IN_FORCE = "the values it is about are no longer in force"


def disagreeing_pairs(session: Session, fish: Select[int | None] | Collection[int]) -> list[Found]:
    """Return those of some fish whose two vials have proportions too far apart.

    fish
        their ids, or a query for them.
    """
    doubled = select(Vial.fish_id).where(Vial.role == VialRole.BLIND_DUPLICATE, Vial.fish_id.in_(fish))
    pairs: dict[int, list[tuple[int, str, float, int | None]]] = defaultdict(list)
    rows = session.execute(
        select(Vial.fish_id, Vial.id, Vial.code, Result.q, Result.n_loci)
        .join(Result, Result.vial_id == Vial.id)
        .where(Vial.fish_id.in_(doubled), usable())
        .order_by(Vial.role.desc(), Vial.id)
    )
    for fish_id, vial_id, code, q, n_loci in rows:
        if fish_id is not None and q is not None and all(vial_id != vial[0] for vial in pairs[fish_id]):
            pairs[fish_id].append((vial_id, code, q, n_loci))
    out = []
    for vials in pairs.values():
        (first, code, q, n_loci), *others = vials
        for _, other_code, other_q, other_loci in others:
            apart = proportions_apart(q, other_q, n_loci, other_loci)
            if apart.disagree:
                scored = min((n for n in (n_loci, other_loci) if n), default=0)
                alleles = f", {apart.n_alleles:.0f} alleles of {2 * scored}" if scored else ""
                facts: dict[str, object] = {
                    "vial": code, "other_vial": other_code, "q": f"{q:.4g}", "other_q": f"{other_q:.4g}",
                    "difference": apart.difference, "alleles": alleles,
                }  # fmt: skip
                out.append(Found(FindingKind.DUPLICATES_DISAGREE, facts, vial_id=first))
    return out


def values_of_pair(facts: Mapping[str, Any]) -> tuple[Any, ...]:
    """Return what a person is asked of two vials that disagree: which they are, and their values."""
    return tuple(facts.get(name) for name in ("vial", "other_vial", "q", "other_q"))


def settle_pairs(session: Session, vial_ids: Collection[int], *, stamp: Stamp) -> None:
    """Let the findings about the pairs of some vials, whose results a person moved, speak of the values in force.

    One whose values are not in force closes itself, one that had closed itself is opened again where they are, and a
    pair that disagrees now and was never asked about gets its finding. What a person decided is asked no more.
    """
    session.flush()
    doubled: dict[str, int] = {}  # code of the second vial -> fish
    for chunk in in_chunks(vial_ids):
        of_vials = select(Vial.fish_id).where(Vial.id.in_(chunk))
        for code, fish_id in session.execute(
            select(Vial.code, Vial.fish_id).where(
                Vial.fish_id.in_(of_vials), Vial.role == VialRole.BLIND_DUPLICATE
            )
        ):
            if fish_id is not None:
                doubled[code] = fish_id
    if not doubled:
        return
    now = {
        values_of_pair(pair.facts): pair
        for chunk in in_chunks({*doubled.values()})
        for pair in disagreeing_pairs(session, chunk)
    }
    earlier = [
        finding
        for finding in session.scalars(
            select(Finding)
            .outerjoin(ReturnFile, ReturnFile.id == Finding.return_file_id)
            .where(Finding.kind == FindingKind.DUPLICATES_DISAGREE, ReturnFile.withdrawn_at.is_(None))
            .order_by(Finding.number.desc())
        )
        if finding.data.vials & doubled.keys()
    ]
    by_values: dict[tuple[Any, ...], list[Finding]] = defaultdict(list)
    for finding in earlier:
        values = values_of_pair(finding.data.facts)
        by_values[values].append(finding)
        if finding.decision is None and values not in now:
            close_itself(session, finding, NOT_IN_FORCE, stamp=stamp)
    for values, pair in now.items():
        known = by_values[values]
        if not known:
            _open(session, pair, stamp=stamp)
        elif all(closed_itself(finding) for finding in known):
            open_again(session, known[0], stamp=stamp)


def _open(session: Session, pair: Found, *, stamp: Stamp) -> None:
    """Open the finding of a pair, as one of the latest file that gave one of the two values."""
    codes = [pair.facts["vial"], pair.facts["other_vial"]]
    latest = (
        select(func.max(ReturnRow.return_file_id))
        .join(Result, Result.return_row_id == ReturnRow.id)
        .join(Vial, Vial.id == Result.vial_id)
        .where(Vial.code.in_(codes), usable())
    )
    file = session.get(ReturnFile, session.scalar(latest))
    if file is not None:
        open_findings(
            session,
            [pair],
            shipment_id=file.shipment_id,
            return_file_id=file.id,
            digest=file.sha256,
            stamp=stamp,
        )
