"""Put the rows of a return in their place: which vial, which outcome, and what of it stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.return_counts import standing_of
from geneticlog.rules.result.result_states import Outcome, ResultStanding, ReturnedAs
from geneticlog.rules.shipment.custody import GONE
from geneticlog.work.finding.open_findings import Found
from geneticlog.work.lab_return.known_before.earlier_rows import (
    Earlier,
)
from geneticlog.work.lab_return.known_before.returned_vials import (
    Sent,
    result_in_words,
)


@dataclass(slots=True)
class PlacedRow:
    """A draft with its place in the shipment: the vial, the outcome of its row, the standing of its
    result."""

    draft: Draft
    vial: Sent | None
    outcome: Outcome
    standing: ResultStanding | None = None  # None: the row makes no result
    superseded: list[Earlier] = field(default_factory=list)
    stranger_id: int | None = None  # a vial of ours that is not in this shipment
    where: str = "its code is not one of ours"
    other_shipment: str | None = None  # that it is in
    unchanged: bool = False  # an earlier file said the same, and what stands of it still does


def n_placed(placed: Sequence[PlacedRow]) -> Counter[ReturnedAs]:
    """Return how many rows came to a value that counts, to a failure that counts, and to a value that is held.

    A row that makes no result, or says again what an earlier file said, is none of them.
    """
    results = ((each.standing, each.draft.outcome) for each in placed if each.standing is not None)
    return Counter(standing_of([result]) for result in results)


def place_rows(drafts: Sequence[Draft], sent: Mapping[str, Sent], findings: list[Found]) -> list[PlacedRow]:
    """Return each draft with its vial: rows that repeat one another count once, rows that differ are held."""
    placed = []
    first_of: dict[int, PlacedRow] = {}
    rows_of: dict[int, list[PlacedRow]] = {}
    for draft in drafts:
        vial = sent.get(draft.code) if draft.code else None
        each = PlacedRow(draft, vial, Outcome.UNEXPECTED if vial is None else draft.outcome)
        placed.append(each)
        if vial is None:
            continue
        if vial.arrival in GONE and draft.outcome == Outcome.TYPED:
            said = f" ({vial.arrival_note})" if vial.arrival_note else ""
            draft.note(FindingKind.RETURNED_THOUGH_GONE, arrival=vial.arrival, note=said)
        if vial.other_species and draft.outcome == Outcome.TYPED:
            draft.note(FindingKind.OTHER_SPECIES, species=vial.other_species.replace("_", " "))
        each.standing = ResultStanding.HELD if draft.held else ResultStanding.CURRENT
        if draft.held and draft.outcome == Outcome.TYPED:
            each.outcome = Outcome.DOUBTFUL
        before = first_of.setdefault(vial.id, each)
        if before is not each:
            rows_of.setdefault(vial.id, [before]).append(each)
    for rows in rows_of.values():
        kept = _without_repeats(rows)
        if len(kept) > 1:
            for each in kept:
                each.outcome, each.standing, each.draft.held = Outcome.CONFLICTING, ResultStanding.HELD, True
            findings.append(_conflict(kept))
    return placed


def _without_repeats(rows: list[PlacedRow]) -> list[PlacedRow]:
    kept: dict[tuple[object, ...], PlacedRow] = {}
    for each in rows:
        if kept.setdefault(each.draft.said, each) is not each:
            each.outcome, each.standing = Outcome.DUPLICATE, None
    return list(kept.values())


def _conflict(kept: list[PlacedRow]) -> Found:
    values = ", ".join(_what_differs([each.draft for each in kept]))
    vial = kept[0].vial
    assert vial is not None
    rows = [each.draft.row for each in kept]
    return Found(FindingKind.CONFLICTING, {"vial": vial.code, "values": values}, rows, vial.id)


def _what_differs(drafts: Sequence[Draft]) -> list[str]:
    """What each of several rows of a vial says; where q and H are the same, with the first thing that is not."""
    texts = [said_of(draft) for draft in drafts]
    if len(set(texts)) > 1:
        return texts
    for name, words in (("n_loci", "{} loci"), ("call_rate", "call rate {}"), ("lab_class", "class {}"),
                        ("other_q", "other share {}"), ("third_q", "third share {}")):  # fmt: skip
        values = [getattr(draft, name) for draft in drafts]
        if len(set(values)) > 1:
            beside = [words.format("no" if value is None else value) for value in values]
            return [f"{text} with {more}" for text, more in zip(texts, beside, strict=True)]
    return texts


def said_of(draft: Draft) -> str:
    """Return what a row says of its fish, in a few words."""
    return result_in_words(draft.outcome, draft.q, draft.heterozygosity)
