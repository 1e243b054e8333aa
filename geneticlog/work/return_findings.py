"""The findings of a return: gathered from its rows, numbered, and opened once each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from geneticlog.rules.result_checks import (
    DUPLICATE_TOLERANCE,
    FINDINGS,
    identical_runs,
    rows_in_words,
    third_lineage,
)
from geneticlog.rules.returned_rows import Draft
from geneticlog.rules.same_genotypes import LEAST_SHARED_LOCI
from geneticlog.rules.vialcode import nearest
from geneticlog.store.sheets import Sheet
from geneticlog.store.tables import Event, Finding, Result, ReturnRow, Shipment, Vial
from geneticlog.work.record import as_json, new_uid
from geneticlog.work.returned_vials import Sent

if TYPE_CHECKING:
    from geneticlog.work.place_rows import Placed

MOST_COMPARED = 300_000  # codes compared with unreadable ones to offer the nearest; more would take minutes


@dataclass
class Found:
    """A finding before it has its number."""

    kind: str
    facts: dict[str, object]
    rows: list[int] = field(default_factory=list)
    vial_id: int | None = None
    survey_id: int | None = None

    @property
    def text(self) -> str:
        """The plain sentence."""
        shown = {
            "rows": rows_in_words(self.rows),
            "row": self.rows[0] if self.rows else "",
            "n": len(self.rows),
        }
        kind = FINDINGS[self.kind]
        sentence = kind.single if kind.single and len(self.rows) == 1 else kind.sentence
        return sentence.format(**{**shown, **self.facts})


def findings_of(
    placed: Sequence[Placed], sheet: Sheet, shipment: Shipment, sent: Mapping[str, Sent]
) -> list[Found]:
    """Return what is doubtful in the rows, one finding a row or, for the lesser kinds, one a file."""
    found: list[Found] = []
    gathered: dict[str, Found] = {}
    unreadable = sum(noted.kind == "unreadable_code" for each in placed for noted in each.draft.noted)
    compare = 0 < unreadable * len(sent) <= MOST_COMPARED
    for each in placed:
        draft, vial = each.draft, each.vial
        if each.outcome == "duplicate":
            _gather(gathered, "duplicate_row", draft.row, {})
            continue
        if each.standing == "current" and draft.q is not None and draft.n_loci is None:
            _gather(gathered, "loci_unknown", draft.row, {})
        for kind, facts in draft.noted:
            if kind == "failed" and vial is not None and vial.role == "blank":
                continue  # a blank is meant to give nothing
            if vial is None and kind not in _ABOUT_THE_CODE:
                continue  # what a stranger's row says is not looked at before a person says whose it is
            if FINDINGS[kind].per_file:
                _gather(gathered, kind, draft.row, dict(facts))
                continue
            told: dict[str, object] = {**facts, "vial": vial.code if vial else draft.code or draft.written}
            if kind == "unreadable_code":
                near = nearest(draft.written, sent) if compare else []
                told["candidates"] = f"; nearest in this shipment: {', '.join(near)}" if near else ""
                told["nearest"] = near
            if vial is None:
                told["values"] = result_values(draft)
            found.append(Found(kind, told, [draft.row], vial.id if vial else None))
        if vial is None:
            if draft.code is not None:
                told = {"vial": draft.code, "where": each.where, "values": result_values(draft)}
                found.append(Found("unexpected", told, [draft.row], each.stranger_id))
        elif vial.role == "blank" and draft.outcome == "typed" and draft.q is not None:
            told = {"vial": vial.code, "q": f"{draft.q:.4g}"}
            found.append(Found("blank_typed", told, [draft.row], vial.id))
    hidden = [each.draft.row for each in placed if each.draft.row in sheet.hidden_rows]
    if hidden:
        found.append(Found("hidden_rows", {}, hidden))
    if shipment.standing == "packed":
        found.append(Found("shipment_not_sent", {}))
    return [*found, *gathered.values(), *_runs(placed), *_lineages(placed)]


def result_values(draft: Draft) -> dict[str, object]:
    """Return what a row says in the columns of a result, for the day a person says whose it is."""
    return {
        "outcome": draft.outcome,
        "q": draft.q,
        "other_q": draft.other_q,
        "third_q": draft.third_q,
        "heterozygosity": draft.heterozygosity,
        "n_loci": draft.n_loci,
        "call_rate": draft.call_rate,
        "lab_class": draft.lab_class,
        "failure": draft.failure,
    }


_ABOUT_THE_CODE = {"no_code", "mangled_code", "unreadable_code", "code_respelled"}


def _gather(gathered: dict[str, Found], kind: str, row: int, facts: dict[str, object]) -> None:
    if kind in gathered:
        gathered[kind].rows.append(row)
    else:
        gathered[kind] = Found(kind, facts, [row])


def _runs(placed: Sequence[Placed]) -> list[Found]:
    """Neighbours, three or more, that share q and H (and what genotypes there are) where those could well differ.

    Of q and H alone two fish of a lake may well be alike by chance, so only neighbours tell. Where a row has
    genotypes enough, its vial is compared with every other one of its survey (work/find_same_fish.py).
    """
    signatures: list[tuple[object, ...] | None] = []
    for each in placed:
        draft = each.draft
        signature: tuple[object, ...] | None = None
        h = draft.heterozygosity
        # Nearly pure fish share their few alleles by chance, first crosses are all alike.
        telling = draft.q is not None and h is not None and 0.05 < draft.q < 0.95 and h < 1.0
        n_called = sum(count is not None for count in (draft.genotypes or {}).values())
        if each.standing and telling and n_called < LEAST_SHARED_LOCI:
            signature = (draft.q, h, *sorted((draft.genotypes or {}).items()))
        signatures.append(signature)
    return [
        Found("identical_run", {}, [each.draft.row for each in placed[first : last + 1]])
        for first, last in identical_runs(signatures, 3)
    ]


def _lineages(placed: Sequence[Placed]) -> list[Found]:
    """Surveys whose fish have far fewer heterozygous loci than their mean q calls for."""
    lots: dict[int, list[Placed]] = defaultdict(list)
    for each in placed:
        vial, draft = each.vial, each.draft
        if vial is None or vial.survey_id is None or vial.role == "blank" or each.standing != "current":
            continue
        if draft.q is not None and draft.heterozygosity is not None:
            lots[vial.survey_id].append(each)
    out = []
    for survey_id, lot in lots.items():
        shares = [each.draft.q or 0.0 for each in lot]
        p = sum(shares) / len(lot)
        h = sum(each.draft.heterozygosity or 0.0 for each in lot) / len(lot)
        deficit = third_lineage(len(lot), p, h)
        if deficit is None:
            continue
        pure = sum(q <= 0.05 or q >= 0.95 for q in shares)
        shape = (
            "; most fish are of either pure kind, so this may be a fresh mixture of the two"
            if 2 * pure > len(lot)
            else f"; q runs from {min(shares):.3f} to {max(shares):.3f}"
        )
        facts: dict[str, object] = {"survey": lot[0].vial.survey if lot[0].vial else "", "n": len(lot)}
        facts.update({"p": p, "h": h, "f": deficit, "shape": shape})
        rows = [each.draft.row for each in lot]
        out.append(Found("possible_third_lineage", facts, rows, survey_id=survey_id))
    return out


def disagreeing_pairs(session: Session, return_file_id: int) -> list[Found]:
    """Return the fish of a file's vials whose two vials have proportions too far apart."""
    pairs: dict[int, list[tuple[int, str, float, int | None]]] = defaultdict(list)
    here = (
        select(Vial.fish_id)
        .join(ReturnRow, ReturnRow.vial_id == Vial.id)
        .where(ReturnRow.return_file_id == return_file_id, Vial.fish_id.is_not(None))
    )
    doubled = select(Vial.fish_id).where(Vial.role == "blind_duplicate", Vial.fish_id.in_(here))
    rows = session.execute(
        select(Vial.fish_id, Vial.id, Vial.code, Result.q, Result.n_loci)
        .join(Result, Result.vial_id == Vial.id)
        .where(Vial.fish_id.in_(doubled), Result.standing == "current", Result.q.is_not(None))
        .order_by(Vial.role.desc(), Vial.id)
    )
    for fish_id, vial_id, code, q, n_loci in rows:
        if fish_id is not None and q is not None and all(vial_id != there[0] for there in pairs[fish_id]):
            pairs[fish_id].append((vial_id, code, q, n_loci))
    out = []
    for vials in pairs.values():
        (first, code, q, n_loci), *others = vials
        for _, other_code, other_q, _ in others:
            if abs(q - other_q) > DUPLICATE_TOLERANCE:
                alleles = f", {abs(q - other_q) * 2 * n_loci:.0f} alleles of {2 * n_loci}" if n_loci else ""
                facts: dict[str, object] = {
                    "vial": code, "other_vial": other_code, "q": f"{q:.4g}", "other_q": f"{other_q:.4g}",
                    "difference": abs(q - other_q), "alleles": alleles,
                }  # fmt: skip
                out.append(Found("duplicates_disagree", facts, vial_id=first))
    return out


def open_findings(
    session: Session,
    found: Sequence[Found],
    *,
    shipment_id: int,
    return_file_id: int,
    digest: str,
    now: datetime,
    by: str,
) -> list[tuple[int, str, str]]:
    """Number and store the findings with their events; return number, kind and sentence of each."""
    if not found:
        return []
    last = session.scalar(select(func.max(Finding.number))) or 0
    rows: list[dict[str, Any]] = []
    for number, each in enumerate(found, start=last + 1):
        subject = each.rows[0] if each.rows else each.survey_id or each.vial_id or ""
        rows.append(
            {
                "number": number,
                "key": f"{each.kind}:{shipment_id}:{digest[:16]}:{subject}:{number}",
                "kind": FINDINGS[each.kind].stored_as or each.kind,
                "shipment_id": shipment_id,
                "survey_id": each.survey_id,
                "vial_id": each.vial_id,
                "return_file_id": return_file_id,
                "rows": str(each.rows),
                "text": each.text,
                "data": as_json({"reason": each.kind, **each.facts}) or "{}",
                "opened_at": now,
            }
        )
    events = [
        {
            "uid": new_uid(),
            "at": now,
            "by": by,
            "verb": "opened",
            "subject_kind": "finding",
            "subject": f"F{row['number']}",
            "new": as_json({"kind": row["kind"], "text": row["text"]}),
        }
        for row in rows
    ]
    for start in range(0, len(rows), 5_000):
        session.execute(insert(Finding), rows[start : start + 5_000])
        session.execute(insert(Event), events[start : start + 5_000])
    return [(row["number"], row["kind"], row["text"]) for row in rows]
