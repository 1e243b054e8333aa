"""Undo: take a fish, or what was added to it last, out of the log again; its values stay in the history."""

from __future__ import annotations

import json

from sqlalchemy import literal_column, select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Event, Finding, Fish, Result, Survey, Vial
from geneticlog.work.boat.fill_vial import VialRefused, empty_vial
from geneticlog.work.boat.fish_doubts import FishRefused
from geneticlog.work.boat.logged import Logged, as_logged, said_of
from geneticlog.work.events import fish_name, record


def undo_fish(session: Session, survey: Survey, number: int, *, stamp: Stamp, why: str = "undo") -> Logged:
    """Take a fish out of the log again; its vials are free, and its values stay in the history.

    Raises FishRefused where one of its vials is packed for a lab or has a result.
    """
    fish = session.scalar(select(Fish).where(Fish.survey_id == survey.id, Fish.number == number))
    if fish is None:
        raise FishRefused(f"survey {survey.code} has no fish {number} to undo")
    was = as_logged(survey, fish)
    if session.scalar(select(Result.id).join(Vial).where(Vial.fish_id == fish.id).limit(1)):
        raise FishRefused(f"fish {number} has a lab result; it stays in the log")
    old = said_of(fish)
    for vial in list(fish.vials):
        try:
            empty_vial(session, survey, vial, stamp=stamp, why=f"{why}: fish {number}")
        except VialRefused as fault:
            raise FishRefused(str(fault)) from None
    session.expire(fish, ["vials"])
    _close_findings(session, fish, stamp=stamp, why=why)
    session.delete(fish)
    record(session, "undone", "fish", fish_name(survey.code, number), stamp=stamp, old=old, why=why)
    session.flush()
    return was


def undone_sources(session: Session, survey: Survey) -> frozenset[str]:
    """Return the sources of fish that were stored once and undone: a replay leaves them undone."""
    undone = session.scalars(
        select(Event.old).where(
            Event.verb == literal_column("'undone'"),  # written out: only so is its index known to serve
            Event.subject_kind == "fish",
            Event.subject.like(f"{survey.code}#%"),
            Event.old.is_not(None),
        )
    )
    return frozenset(source for text in undone if (source := json.loads(text or "{}").get("source")))


def _close_findings(session: Session, fish: Fish, *, stamp: Stamp, why: str) -> None:
    for finding in session.scalars(select(Finding).where(Finding.fish_id == fish.id)):
        finding.fish_id = None
        if finding.decision is None:
            finding.decision, finding.decided_at, finding.decided_by = Decision.CLOSE, stamp.now, stamp.by
            finding.why = f"the fish was taken out of the log ({why})"
            record(
                session, "decided", "finding", f"F{finding.number}", stamp=stamp, new={"decision": Decision.CLOSE},
                why=finding.why,
            )  # fmt: skip
    session.flush()
