"""Put the rows of a return in their place: which vial, which outcome, and what of it stands."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.drafts import Draft
from geneticlog.rules.shipment.custody import GONE
from geneticlog.store.tables import Shipment
from geneticlog.work.finding.open_findings import Found
from geneticlog.work.lab_return.returned_vials import (
    NO_RESULT,
    Earlier,
    Sent,
    earlier_results,
    result_in_words,
    strangers,
)


@dataclass(slots=True)
class Placed:
    """A draft with its place in the shipment: the vial, the outcome of its row, the standing of its
    result."""

    draft: Draft
    vial: Sent | None
    outcome: str
    standing: str | None = None  # None: the row makes no result
    superseded: list[Earlier] = field(default_factory=list)
    stranger_id: int | None = None  # a vial of ours that is not in this shipment
    where: str = "its code is not one of ours"
    other_shipment: str | None = None  # that it is in


def place(
    session: Session,
    drafts: Sequence[Draft],
    sent: Mapping[str, Sent],
    shipment: Shipment,
    found: list[Found],
) -> list[Placed]:
    """Return each draft with its vial, the outcome of its row and the standing of its result.

    A later file replaces what an earlier one said, row by row, but a held row replaces nothing that stands.
    """
    placed = place_rows(drafts, sent, found)
    unknown = [each for each in placed if each.vial is None and each.draft.code]
    if unknown:
        ours = strangers(session, [each.draft.code or "" for each in unknown])
        for each in unknown:
            if stranger := ours.get(each.draft.code or ""):
                each.stranger_id, each.where, each.other_shipment = stranger
    if earlier := earlier_results(session, shipment.id):
        kept_of: dict[int, list[Placed]] = defaultdict(list)
        for each in placed:
            if each.vial is not None and each.standing:
                kept_of[each.vial.id].append(each)
        for vial_id, kept in kept_of.items():
            if vial_id in earlier:
                _replace(kept, earlier[vial_id])
    return placed


def place_rows(drafts: Sequence[Draft], sent: Mapping[str, Sent], found: list[Found]) -> list[Placed]:
    """Return each draft with its vial: rows that repeat one another count once, rows that differ are held."""
    placed = []
    first_of: dict[int, Placed] = {}
    rows_of: dict[int, list[Placed]] = {}
    for draft in drafts:
        vial = sent.get(draft.code) if draft.code else None
        each = Placed(draft, vial, "unexpected" if vial is None else draft.outcome)
        placed.append(each)
        if vial is None:
            continue
        if vial.arrival in GONE and draft.outcome == "typed":
            said = f" ({vial.arrival_note})" if vial.arrival_note else ""
            draft.note("returned_though_gone", arrival=vial.arrival, note=said)
        each.standing = "held" if draft.held else "current"
        if draft.held and draft.outcome == "typed":
            each.outcome = "doubtful"
        before = first_of.setdefault(vial.id, each)
        if before is not each:
            rows_of.setdefault(vial.id, [before]).append(each)
    for rows in rows_of.values():
        kept = _without_repeats(rows)
        if len(kept) > 1:
            for each in kept:
                each.outcome, each.standing, each.draft.held = "conflicting", "held", True
            found.append(_conflict(kept))
    return placed


def _without_repeats(rows: list[Placed]) -> list[Placed]:
    kept: dict[tuple[object, ...], Placed] = {}
    for each in rows:
        if kept.setdefault(each.draft.said, each) is not each:
            each.outcome, each.standing = "duplicate", None
    return list(kept.values())


def _conflict(kept: list[Placed]) -> Found:
    values = ", ".join(said_of(each.draft) for each in kept)
    vial = kept[0].vial
    assert vial is not None
    rows = [each.draft.row for each in kept]
    return Found("conflicting", {"vial": vial.code, "values": values}, rows, vial.id)


def said_of(draft: Draft) -> str:
    """Return what a row says of its fish, in a few words."""
    return result_in_words(draft.outcome, draft.q, draft.heterozygosity)


def _replace(kept: list[Placed], earlier: list[Earlier]) -> None:
    """Let the rows of a later file replace what earlier files said of the same vial."""
    standing = [result for result in earlier if result.standing == "current"]
    held = [result for result in earlier if result.standing == "held"]
    rejected = [result for result in earlier if result.standing == "rejected"]
    first = kept[0]
    if len(kept) == 1 and not first.draft.held and rejected and not standing and not held:
        first.draft.note("reissue_of_rejected", new=said_of(first.draft))
        first.standing = "held"
        first.outcome = "doubtful" if first.outcome == "typed" else first.outcome
        return
    typed = next((old for old in standing if old.said != NO_RESULT), None)
    if first.draft.outcome == "failed" and first.standing == "current" and typed:
        # A failure says nothing new of the fish, and a column misread looks like one.
        first.draft.noted = [noted for noted in first.draft.noted if noted.kind != "failed"]
        said = f", {first.draft.failure!r}" if first.draft.failure else ""
        first.draft.note("failed_after_result", old=typed.said, said=said)
        first.standing = "held"
    first.superseded = held if first.standing == "held" else standing + held
    if first.standing == "current":
        for old in standing:
            if old.said != said_of(first.draft):
                first.draft.note("reissue_changed", old=old.said, new=said_of(first.draft), earlier=old.id)
