"""Every decision for the audit: on findings, and whatever else was changed for a reason, as it was recorded."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from geneticlog.store.tables import Event
from geneticlog.work.event_words import event_in_words
from geneticlog.work.finding.list_findings import FindingLine, finding_lines


@dataclass(frozen=True)
class Decision:
    """One entry of the record: who did what to which thing, when and why; of a finding also where it stands.

    in_force: of a decision on a finding, whether no later one took its place; None for everything else.
    """

    at: datetime
    by: str
    about_kind: str
    about: str
    did: str
    why: str | None
    in_force: bool | None
    kind: str | None
    text: str | None
    vial: str | None
    lake: str | None
    survey: str | None
    shipment: str | None
    file: str | None
    sheet: str | None
    rows: tuple[int, ...]


def decisions(session: Session) -> Iterator[Decision]:
    """Yield every decision and every change that was given a reason, the first one first; nothing is left out of it."""
    lines = {line.finding: line for line in finding_lines(session)}
    events = list(
        session.scalars(
            select(Event)
            .where(or_(Event.verb.in_(["decided", "reopened"]), Event.why.is_not(None)))
            .order_by(Event.at, Event.id)
        )
    )
    last = {event.subject: event.id for event in events if event.subject_kind == "finding"}
    for event in events:
        line = lines.get(event.subject) if event.subject_kind == "finding" else None
        yield _decision(event, line, last.get(event.subject) == event.id if line else None)


def _decision(event: Event, line: FindingLine | None, in_force: bool | None) -> Decision:
    return Decision(
        at=event.at,
        by=event.by,
        about_kind=event.subject_kind,
        about=event.subject,
        did=event_in_words(event),
        why=event.why,
        in_force=in_force,
        kind=line.kind if line else None,
        text=line.text if line else None,
        vial=line.vial if line else event.subject if event.subject_kind == "vial" else None,
        lake=line.lake if line else None,
        survey=line.survey if line else None,
        shipment=line.shipment if line else event.subject if event.subject_kind == "shipment" else None,
        file=line.file if line else None,
        sheet=line.sheet if line else None,
        rows=line.rows if line else (),
    )
