"""Findings of a return: their sentences, their numbers, and the event that opens each of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_data import FindingData
from geneticlog.rules.finding.finding_kinds import FINDINGS, MEANWHILE, FindingKind
from geneticlog.rules.lab_return.sheet.sheet_rows import ONE_TABLE, SheetRows
from geneticlog.rules.stamp import Stamp
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Event, Finding
from geneticlog.work.events import as_json, new_uid


@dataclass
class Found:
    """A finding before it has its number."""

    kind: FindingKind
    facts: dict[str, object]
    rows: list[int] = field(default_factory=list)
    vial_id: int | None = None
    survey_id: int | None = None
    sheet_rows: SheetRows = ONE_TABLE  # how the rows are named where they are of several sheets

    @property
    def text(self) -> str:
        """The plain sentence."""
        shown = {
            "rows": self.sheet_rows.words(self.rows),
            "row": self.sheet_rows.words(self.rows[:1]),
            "n": len(self.rows),
        }
        kind = FINDINGS[self.kind]
        sentence = kind.single if kind.single and len(self.rows) == 1 else kind.sentence
        text = sentence.format(**{**shown, **self.facts})
        if MEANWHILE in self.facts:
            text += f" The earlier result ({self.facts[MEANWHILE]}) counts until this is decided, and after a reject."
        return text


def open_findings(
    session: Session,
    findings: Sequence[Found],
    *,
    shipment_id: int,
    return_file_id: int,
    digest: str,
    stamp: Stamp,
) -> list[tuple[int, str, str]]:
    """Number and store the findings with their events; return number, kind and sentence of each."""
    if not findings:
        return []
    last = session.scalar(select(func.max(Finding.number))) or 0
    rows: list[dict[str, Any]] = []
    for number, each in enumerate(findings, start=last + 1):
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
                "rows": each.rows,
                "text": each.text,
                "data": FindingData(each.facts, reason=each.kind),
                "opened_at": stamp.now,
            }
        )
    events = [
        {
            "uid": new_uid(),
            "at": stamp.now,
            "by": stamp.by,
            "verb": "opened",
            "subject_kind": "finding",
            "subject": f"F{row['number']}",
            "new": as_json({"kind": row["kind"], "text": row["text"]}),
        }
        for row in rows
    ]
    for some, opened in zip(in_chunks(rows), in_chunks(events), strict=True):
        session.execute(insert(Finding), some)
        session.execute(insert(Event), opened)
    return [(row["number"], row["kind"], row["text"]) for row in rows]
