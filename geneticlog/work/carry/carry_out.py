"""Gather what a survey is made of, so that it can travel to another database."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import inspect, or_, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.store.carry_file import pack
from geneticlog.store.chains import entries_to_carry
from geneticlog.store.chunks import in_chunks
from geneticlog.store.columns import JsonText
from geneticlog.store.journal import head
from geneticlog.store.tables import (
    Event,
    Finding,
    Fish,
    Lake,
    Office,
    PrintRun,
    SamplingPlan,
    Survey,
    Table,
    Vial,
)
from geneticlog.work.carry.vial_fates import ALL_MINTED, standing_lines
from geneticlog.work.events import record

# Columns that mean something within one database only: they are given anew where the rows arrive.
LOCAL = {
    "id", "lake_id", "sampling_plan_id", "survey_id", "print_run_id", "fish_id", "fish_n", "shipment_id",
    "vial_id", "return_file_id",
}  # fmt: skip
LOCAL_NUMBERS = {SamplingPlan: "number", PrintRun: "number", Finding: "number"}


@dataclass(frozen=True)
class CarriedOut:
    """The bytes of a carry file, and what is in it."""

    content: bytes
    surveys: tuple[str, ...]
    n_fish: int
    n_vials: int
    station: int | None
    n_told: int  # surveys with shipments here, of which the file tells what became of each vial
    chains_left: tuple[str, ...]  # stations whose history is too long to travel: of ours the head does


def carry_out(
    session: Session, surveys: Sequence[Survey], *, stamp: Stamp, for_boat: str | None = None
) -> CarriedOut:
    """Return surveys with their lakes, plans, print runs, vials, fish, events and findings as one file.

    Shipments, returns and results stay; the state of each vial at the lab is included (`vial_fates`).

    for_boat: letters of an office: the database that reads the file gets a block of vial codes of its own, so
    that it can print labels that no other database of the office will print
    """
    surveys = sorted(surveys, key=lambda survey: survey.code)
    rows = _of_surveys(session, surveys)
    events = events_about(
        session, surveys, {survey.lake for survey in surveys}, [vial.code for vial in rows.vials]
    )
    standings = standing_lines(session, surveys, stamp=stamp)
    chains, too_long = entries_to_carry(session.connection(), {event.uid for event in events})
    lines = [
        *_lines_of_places(session, rows),
        *_lines_of_fish(session, rows),
        *(columns_of(event) for event in events),
        *standings,
        *({"table": "journal", **entry} for entry in chains),
    ]
    order = (
        "office", "lake", "sampling_plan", "survey", "print_run", "fish", "vial", "event", "finding", "journal",
    )  # fmt: skip
    lines.sort(key=lambda line: (order.index(line["table"]), _identity(line)))
    station = _give_station(session, for_boat, stamp=stamp) if for_boat else None
    more = (
        {"station": station, "office": for_boat.strip().upper()} if for_boat and station is not None else {}
    )
    if last := head(session.connection()):
        more["journal"] = f"{last.station}:{last}"
    codes = [survey.code for survey in surveys]
    return CarriedOut(
        pack(lines, codes, **more),
        tuple(codes),
        len(rows.fish),
        len(rows.vials),
        station,
        len(standings),
        too_long,
    )


@dataclass(frozen=True)
class _There:
    """What travels with surveys: their fish, and every vial printed for them or filled from them."""

    surveys: Sequence[Survey]
    fish: Sequence[Fish]
    vials: Sequence[Vial]

    @property
    def ids(self) -> list[int]:
        return [survey.id for survey in self.surveys]


def _of_surveys(session: Session, surveys: Sequence[Survey]) -> _There:
    ids = [survey.id for survey in surveys]
    fish = session.scalars(select(Fish).where(Fish.survey_id.in_(ids))).all()
    vials = session.scalars(
        select(Vial)
        .outerjoin(PrintRun, Vial.print_run_id == PrintRun.id)
        .outerjoin(Fish, Vial.fish_id == Fish.id)
        .where(or_(PrintRun.survey_id.in_(ids), Fish.survey_id.in_(ids)))
    )
    here = {one.id for one in fish}
    # a vial on a fish of a survey that stays behind is of no use where the file arrives
    return _There(surveys, fish, [vial for vial in vials if vial.fish_id is None or vial.fish_id in here])


def _lines_of_places(session: Session, rows: _There) -> list[dict[str, Any]]:
    """The offices, lakes, plans, surveys and print runs that surveys need."""
    lakes = {survey.lake for survey in rows.surveys}
    plans = {survey.sampling_plan for survey in rows.surveys if survey.sampling_plan is not None}
    runs = {vial.print_run for vial in rows.vials if vial.print_run is not None}
    runs |= set(session.scalars(select(PrintRun).where(PrintRun.survey_id.in_(rows.ids))))
    survey_uid = {survey.id: survey.uid for survey in rows.surveys}
    prefixes = sorted({vial.code[:2] for vial in rows.vials})
    offices = session.scalars(select(Office).where(Office.prefix.in_(prefixes)))
    return [
        *(
            {"table": "office", "prefix": office.prefix, "name": office.name, "uid": office.uid}
            for office in offices
        ),
        *(columns_of(lake) for lake in lakes),
        *(
            columns_of(plan)
            | {
                "lake": lake_uid(session, plan),
                "targets": {one.size_class: one.target for one in plan.targets},
            }
            for plan in plans
        ),
        *(
            columns_of(survey)
            | {"lake": survey.lake.uid, "plan": survey.sampling_plan.uid if survey.sampling_plan else None}
            for survey in rows.surveys
        ),
        *(columns_of(run) | {"survey": survey_uid.get(run.survey_id or 0)} for run in runs),
    ]


def _lines_of_fish(session: Session, rows: _There) -> list[dict[str, Any]]:
    """The fish of surveys, their vials, and the findings of the log about them."""
    survey_uid = {survey.id: survey.uid for survey in rows.surveys}
    fish_uid = {one.id: one.uid for one in rows.fish}
    findings = session.scalars(
        select(Finding).where(
            Finding.survey_id.in_(rows.ids), Finding.shipment_id.is_(None), Finding.return_file_id.is_(None)
        )
    )
    return [
        *(columns_of(one) | {"survey": survey_uid[one.survey_id]} for one in rows.fish),
        *(
            columns_of(vial)
            | {
                "print_run": vial.print_run.uid if vial.print_run else None,
                "fish": fish_uid.get(vial.fish_id) if vial.fish_id is not None else None,
            }
            for vial in rows.vials
        ),
        *(
            columns_of(finding)
            | {
                "survey": survey_uid[finding.survey_id or 0],
                "fish": fish_uid.get(finding.fish_id) if finding.fish_id is not None else None,
                "vial": finding.vial.code if finding.vial is not None else None,
            }
            for finding in findings
        ),
    ]


def columns_of(row: Table) -> dict[str, Any]:
    """Return the columns of a row that travel, with its kind."""
    kind = type(row)
    names = [
        column.key
        for column in inspect(kind).columns
        if column.key not in LOCAL and column.key != LOCAL_NUMBERS.get(kind)
    ]
    return {"table": kind.__tablename__} | {name: _as_text(row, name) for name in names}


def _as_text(row: Table, name: str) -> Any:
    """What a file holds of a column: its value, or the text of JSON that is stored."""
    value, stored = getattr(row, name), row.__table__.c[name].type
    return stored.write(value) if isinstance(stored, JsonText) and value is not None else value


def events_about(
    session: Session, surveys: Iterable[Survey], lakes: Iterable[Lake], vials: Sequence[str]
) -> list[Event]:
    """Return the events of surveys, their fish (those undone too), their lakes and vials."""
    events: list[Event] = []
    for survey in surveys:
        events += session.scalars(
            select(Event).where(
                or_(
                    (Event.subject_kind == "survey") & (Event.subject == survey.code),
                    (Event.subject_kind == "fish")
                    & Event.subject.startswith(f"{survey.code}#", autoescape=True),
                )
            )
        )
    for lake in lakes:
        events += session.scalars(
            select(Event).where(Event.subject_kind == "lake", Event.subject == lake.code)
        )
    for some in in_chunks(vials):
        events += session.scalars(select(Event).where(Event.subject_kind == "vial", Event.subject.in_(some)))
    return events


def versions(events: Iterable[Any]) -> dict[tuple[str, str], set[str]]:
    """Return for each lake, survey, fish and vial the events that made it what it is, by their uid.

    A fish is known by its uid: its number is used again after an undo, and changes where two boats meet.
    """
    uids: dict[tuple[str, str], set[str]] = {}
    for event in events:
        kind, subject, old, new, uid = (
            (event["subject_kind"], event["subject"], event["old"], event["new"], event["uid"])
            if isinstance(event, dict)
            else (event.subject_kind, event.subject, event.old, event.new, event.uid)
        )
        if kind == "fish":
            told = json.loads(new or old or "{}")
            subject = told.get("uid", subject)
        uids.setdefault((kind, subject), set()).add(uid)
    return uids


def lake_uid(session: Session, plan: SamplingPlan) -> str:
    return session.get_one(Lake, plan.lake_id).uid


def _identity(line: dict[str, Any]) -> str:
    if line["table"] == "event":  # in the order in which things happened
        return f"{line['at'].isoformat(timespec='microseconds')} {line['uid']}"
    if line["table"] == "vial":
        return str(line["code"])
    if line["table"] == "journal":
        return f"{line['station']} {line['number']:010}"
    if line["table"] == "office":
        return str(line["prefix"])
    return str(line.get("uid") or line.get("key"))


def _give_station(session: Session, prefix: str, *, stamp: Stamp) -> int:
    office = session.scalar(select(Office).where(Office.prefix == prefix.strip().upper()).with_for_update())
    if office is None:
        raise Refused(f"there is no office {prefix!r} here to take a block of codes from")
    if office.station == 0 and office.next_serial == ALL_MINTED:
        raise Refused(
            f"this database has no block of codes of office {office.prefix} of its own to give from"
        )
    if office.station != 0:
        raise Refused(
            f"this database has station {office.station} of office {office.prefix}; "
            "only the office's first database, station 0, gives blocks to boats"
        )
    station = office.next_station
    if station > 1023:
        raise Refused(f"office {office.prefix} has given all its blocks of codes away")
    office.next_station = station + 1
    record(session, "gave_station", "office", office.prefix, stamp=stamp, new={"station": station})
    return station
