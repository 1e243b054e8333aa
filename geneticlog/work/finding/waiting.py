"""The findings of surveys that wait for a decision, so that every face that shows a survey can say so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.store.tables import Finding
from geneticlog.work.finding.lake_findings import concerned


@dataclass(frozen=True)
class Waiting:
    """A finding that nobody has decided on: F12 and its sentence."""

    finding: str
    text: str


def waiting_of(session: Session, survey_ids: Iterable[int]) -> list[Waiting]:
    """Return the findings that concern these surveys and wait for a decision, oldest first."""
    pairs = concerned(only_open=True).subquery()
    rows = session.execute(
        select(Finding.number, Finding.text)
        .where(Finding.id.in_(select(pairs.c.finding_id).where(pairs.c.survey_id.in_(list(survey_ids)))))
        .order_by(Finding.number)
    )
    return [Waiting(f"F{number}", text) for number, text in rows]
