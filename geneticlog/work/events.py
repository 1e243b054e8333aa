"""The record of what happened: one append-only event for each thing done, and the look-ups every verb shares."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar
from uuid import uuid4

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.sentences import nearest_names
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Event, Fish, Lab, Lake, Shipment, Survey

Coded = TypeVar("Coded", Lake, Survey, Shipment, Lab)


@dataclass(frozen=True)
class Corrected:
    """What was changed: field -> (old value, new value). Empty where everything was so already."""

    subject: str
    changes: dict[str, tuple[Any, Any]]
    words: str = ""


def new_uid() -> str:
    """Return an identity that no other database will make."""
    return uuid4().hex


def require_reason(why: str, what: str) -> None:
    """Raise Refused where no reason is given for what changes the record: "the correction"."""
    if not why.strip():
        raise Refused(f"give the reason for {what} with --why")


def record(
    session: Session,
    verb: str,
    subject_kind: str,
    subject: str,
    *,
    stamp: Stamp,
    old: Mapping[str, Any] | None = None,
    new: Mapping[str, Any] | None = None,
    why: str | None = None,
) -> None:
    """Add an event: what was done to which thing, the values before and after, who, when and why.

    Its parameters are the columns of an event, each of them said by name wherever something happens.
    """
    session.add(
        Event(
            uid=new_uid(),
            at=stamp.now,
            by=stamp.by,
            verb=verb,
            subject_kind=subject_kind,
            subject=subject,
            old=as_json(old),
            new=as_json(new),
            why=why,
        )
    )


def record_all(
    session: Session,
    verb: str,
    subject_kind: str,
    subjects: Iterable[str],
    *,
    stamp: Stamp,
    old: Mapping[str, Any] | None = None,
    new: Mapping[str, Any] | None = None,
    why: str | None = None,
) -> None:
    """Add one event for each of many things that the same was done to."""
    columns = {
        "at": stamp.now, "by": stamp.by, "verb": verb, "subject_kind": subject_kind, "old": as_json(old),
        "new": as_json(new), "why": why,
    }  # fmt: skip
    session.flush()  # what happened before comes before
    if rows := [columns | {"uid": new_uid(), "subject": subject} for subject in subjects]:
        session.execute(insert(Event), rows)


def as_json(values: Mapping[str, Any] | None) -> str | None:
    return None if values is None else json.dumps(values, ensure_ascii=False, sort_keys=True, default=str)


def fish_name(survey_code: str, number: int) -> str:
    """Return how a fish is named in events and findings: HERON-2026#12."""
    return f"{survey_code}#{number}"


def find_lake(session: Session, code: str) -> Lake:
    """Return a lake by its code, in any case. Raises NotFound with the codes that are there."""
    return _by_code(session, Lake, code, "lake")


def find_survey(session: Session, code: str) -> Survey:
    """Return a survey by its code, in any case. Raises NotFound with the codes that are there."""
    return _by_code(session, Survey, code, "survey")


def find_shipment(session: Session, code: str) -> Shipment:
    """Return a shipment by its code, in any case. Raises NotFound with the codes that are there."""
    return _by_code(session, Shipment, code, "shipment")


def find_lab(session: Session, code: str) -> Lab:
    """Return a lab by its code, in any case. Raises NotFound with the codes that are there."""
    return _by_code(session, Lab, code, "lab")


def _by_code(session: Session, table: type[Coded], code: str, kind: str) -> Coded:
    row = session.scalar(select(table).where(table.code == code.strip().upper()))
    if row is None:
        raise NotFound(f"no {kind} {code!r}; {_known(session, table.code, code, f'geneticlog {kind} list')}")
    return row


def find_fish(session: Session, survey: Survey, number: int) -> Fish:
    """Return a fish by its number within its survey. Raises NotFound."""
    fish = session.scalar(select(Fish).where(Fish.survey_id == survey.id, Fish.number == number))
    if fish is None:
        last = session.scalar(select(func.max(Fish.number)).where(Fish.survey_id == survey.id))
        there = f"its fish are numbered up to {last}" if last else "it has no fish yet"
        raise NotFound(f"survey {survey.code} has no fish {number}; {there}")
    return fish


def _known(session: Session, column: Any, asked: str, command: str) -> str:
    """Return the codes nearest to the one asked for, else the first few, and the command that lists all."""
    codes = list(session.scalars(select(column).order_by(column)))
    if not codes:
        return "there is none yet"
    if len(codes) > 5 and (near := nearest_names(asked, codes)):
        return f"did you mean {' or '.join(near)}? (see: {command})"
    shown = ", ".join(codes[:5]) + (", …" if len(codes) > 5 else "")
    return f"there are: {shown} (see: {command})"
