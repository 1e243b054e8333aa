"""The life of a finding, a shipment or a survey: all that happened to it, the first moment first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from geneticlog.rules.sentences import n_of
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import (
    Event,
    Finding,
    Fish,
    ReturnFile,
    ReturnRow,
    Shipment,
    ShipmentPosition,
    Survey,
    Vial,
)
from geneticlog.work.event_words import event_in_words
from geneticlog.work.finding.lake_findings import concerned
from geneticlog.work.history import Moment
from geneticlog.work.lakes.progress import progress_of
from geneticlog.work.result.kept_reading import kept_cells, sheet_rows_of

MOST_NAMED = 5  # findings opened at one moment that are named one by one


@dataclass(frozen=True)
class Life:
    """kind: finding, shipment or survey. facts: what is known of it; of a finding, its rows as the lab wrote them."""

    kind: str
    name: str
    title: str
    facts: tuple[str, ...]
    life: tuple[Moment, ...]


def life_of_finding(session: Session, finding: Finding) -> Life:
    """Return the life of a finding, with the cells of its rows as the lab wrote them."""
    facts = []
    file = session.get(ReturnFile, finding.return_file_id) if finding.return_file_id else None
    numbers = finding.rows
    if file is not None and numbers:
        rows = session.scalars(
            select(ReturnRow)
            .where(ReturnRow.return_file_id == file.id, ReturnRow.row_number.in_(numbers[:MOST_NAMED]))
            .order_by(ReturnRow.row_number)
        )
        numbering = sheet_rows_of(file)
        for row in rows:
            cells = "; ".join(
                f"{heading} = {text}" for heading, text in kept_cells(row.cells).items() if text
            )
            facts.append(f"{file.name}, row {numbering.words([row.row_number])}: {cells}")
        if len(numbers) > MOST_NAMED:
            facts.append(f"… and {len(numbers) - MOST_NAMED} more rows")
    name = f"F{finding.number}"
    events = _events(session, "finding", [name])
    return Life("finding", name, finding.text, tuple(facts), tuple(_moment(event) for event in events))


def life_of_shipment(session: Session, shipment: Shipment) -> Life:
    """Return the life of a shipment with its returns, and the findings about it as they were opened and decided."""
    findings = session.scalars(select(Finding.number).where(Finding.shipment_id == shipment.id))
    life = [
        *(_moment(event) for event in _events(session, "shipment", [shipment.code])),
        *_of_findings(session, [f"F{number}" for number in findings]),
    ]
    n = len(shipment.positions)
    facts = (f"{n_of(n, 'vial')} to {shipment.lab.name}; {shipment.standing}",)
    return Life("shipment", shipment.code, f"Shipment {shipment.code}", facts, _sorted(life))


def life_of_survey(session: Session, survey: Survey) -> Life:
    """Return the life of a survey: itself, corrections of its fish, its shipments, and the findings that concern it."""
    of_fish = session.scalars(
        select(Event)
        .where(
            Event.subject_kind == "fish",
            Event.subject.startswith(f"{survey.code}#", autoescape=True),
            Event.verb != "logged",
        )
        .order_by(Event.id)
    )
    shipments = session.scalars(
        select(Shipment.code)
        .join(ShipmentPosition, ShipmentPosition.shipment_id == Shipment.id)
        .join(Vial, Vial.id == ShipmentPosition.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .where(Fish.survey_id == survey.id)
        .distinct()
    ).all()
    pairs = concerned().subquery()
    findings = session.scalars(
        select(Finding.number)
        .join(pairs, pairs.c.finding_id == Finding.id)
        .where(pairs.c.survey_id == survey.id)
        .distinct()
    )
    life = [
        Moment(survey.opened_at, survey.opened_by, "survey opened"),
        *(_moment(event) for event in _events(session, "survey", [survey.code]) if event.verb != "opened"),
        *(_moment(event, f"fish {event.subject.partition('#')[2]} ") for event in of_fish),
        *(_moment(event, f"shipment {event.subject} ") for event in _events(session, "shipment", shipments)),
        *_of_findings(session, [f"F{number}" for number in findings]),
    ]
    facts = (f"{survey.lake.name}, {survey.surveyed_on}: {progress_of(session, survey).said}",)
    return Life("survey", survey.code, f"Survey {survey.code}", facts, _sorted(life))


def _events(session: Session, kind: str, subjects: Iterable[str]) -> list[Event]:
    events: list[Event] = []
    for chunk in in_chunks(subjects):
        events += session.scalars(
            select(Event)
            .where(or_(Event.subject_kind == kind), Event.subject.in_(chunk))
            .order_by(Event.at, Event.id)
        )
    return events


def _of_findings(session: Session, names: list[str]) -> list[Moment]:
    """Decisions one by one; of many findings that were opened together, how many."""
    events = _events(session, "finding", names)
    life = [_moment(event, f"finding {event.subject} ") for event in events if event.verb != "opened"]
    opened = [event for event in events if event.verb == "opened"]
    for (at, by), group in groupby(sorted(opened, key=lambda e: (e.at, e.by)), key=lambda e: (e.at, e.by)):
        findings = list(group)
        if len(findings) <= MOST_NAMED:
            life += [_moment(event, f"finding {event.subject} ") for event in findings]
        else:
            ends = f"{findings[0].subject} to {findings[-1].subject}"
            life.append(Moment(at, by, f"{len(findings)} findings opened ({ends})"))
    return life


def _moment(event: Event, before: str = "") -> Moment:
    return Moment(event.at, event.by, f"{before}{event_in_words(event)}", event.why)


def _sorted(life: list[Moment]) -> tuple[Moment, ...]:
    return tuple(sorted(life, key=lambda moment: moment.at))
