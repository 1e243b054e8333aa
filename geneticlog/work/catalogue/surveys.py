"""Surveys: to open one, and the list of them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.gear import gear_key
from geneticlog.rules.species import SPECIES, species_key
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Lake, Survey
from geneticlog.work.catalogue.lake_plans import plan_in_force, scheme_of
from geneticlog.work.events import find_lake, new_uid, record
from geneticlog.work.result.count_fish import caught_and_swabbed


def far_ahead(surveyed_on: date, now: datetime) -> str:
    """Return what is wrong with a survey's date that lies more than a year ahead; empty where nothing is."""
    if surveyed_on <= now.date() + timedelta(days=366):
        return ""
    return f"{surveyed_on} is more than a year ahead (today is {now.date()})"


@dataclass(frozen=True)
class Opened:
    """A survey as it was opened, and what should be said about it."""

    survey: Survey
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Asked:
    """What is asked of a new survey; the other fields are those of the survey.

    again: it is meant as a second survey of that lake, day and species; ahead: so far ahead a date is meant
    """

    gear: str
    code: str | None = None
    species: str = "largemouth_bass"
    length_unit: str = "in"
    weight_unit: str = "lb"
    again: bool = False
    ahead: bool = False


def open_survey(
    session: Session, lake: Lake, surveyed_on: date, asked: Asked, *, stamp: Stamp, **details: Any
) -> Opened:
    """Open a survey: one outing on one lake, with the size classes and the sampling plan in force now.

    details: further columns of the survey

    Raises Refused for a code that is taken, a gear or species that is not known, permit dates that cannot be, and
    for a second survey or a date more than a year ahead that nobody said is meant.
    """
    from geneticlog.rules.gear import ELECTROFISHING_CAUTION, is_electrofishing

    species, gear = species_key(asked.species), gear_key(asked.gear)
    if species not in SPECIES:
        raise Refused(f"unknown species {species!r}; known are {', '.join(sorted(SPECIES))}")
    code = _free_code(session, asked.code or f"{lake.code}-{surveyed_on.isoformat()}")
    permit_from, permit_to = details.get("permit_from"), details.get("permit_to")
    if permit_from and permit_to and permit_to < permit_from:
        raise Refused(
            f"the permit ends ({permit_to}) before it begins ({permit_from}); correct one of the dates"
        )
    effort = details.get("effort_minutes")
    if effort is not None and effort <= 0:
        raise Refused(f"an effort of {effort} minutes is not possible; it must be above 0")
    if not asked.ahead and far_ahead(surveyed_on, stamp.now):
        raise Refused(
            f"{far_ahead(surveyed_on, stamp.now)}; correct the date, or say with --ahead that it is meant"
        )
    if not asked.again:
        _refuse_a_second(session, lake, surveyed_on, species)
    plan = plan_in_force(session, lake, species)
    survey = Survey(
        uid=new_uid(),
        code=code,
        lake=lake,
        surveyed_on=surveyed_on,
        gear=gear,
        species=species,
        length_unit=asked.length_unit,
        weight_unit=asked.weight_unit,
        scheme=scheme_of(lake, species),
        sampling_plan=plan,
        opened_at=stamp.now,
        opened_by=stamp.by,
        **details,
    )
    session.add(survey)
    session.flush()
    record(
        session,
        "opened",
        "survey",
        code,
        stamp=stamp,
        new={
            "lake": lake.code,
            "surveyed_on": surveyed_on.isoformat(),
            "plan": plan.number if plan else None,
        },
    )
    cautions = [ELECTROFISHING_CAUTION] if is_electrofishing(gear) else []
    if not details.get("permit"):
        cautions.append("No permit is recorded.")
    elif (permit_from and surveyed_on < permit_from) or (permit_to and surveyed_on > permit_to):
        cautions.append("This date is outside the permit recorded for it.")
    return Opened(survey, tuple(cautions))


@dataclass(frozen=True)
class SurveyLine:
    """One survey in a list: fish of its species caught and swabbed."""

    survey: str
    lake: str
    surveyed_on: date
    gear: str
    n_fish: int
    n_swabbed: int


def list_surveys(session: Session, lake: str | None = None) -> list[SurveyLine]:
    """Return surveys, newest first, of one lake or of all."""
    wanted = find_lake(session, lake).id if lake else None
    which = Survey.id.is_not(None) if wanted is None else Survey.lake_id == wanted
    counts = caught_and_swabbed(session, which)
    query = (
        select(Survey.id, Survey.code, Lake.code, Survey.surveyed_on, Survey.gear)
        .join(Survey.lake)
        .where(which)
        .order_by(Survey.surveyed_on.desc(), Survey.code)
    )
    return [
        SurveyLine(code, where, on, gear, *counts.get(key, (0, 0)))
        for key, code, where, on, gear in session.execute(query)
    ]


def _free_code(session: Session, text: str) -> str:
    code = text.strip().upper()
    if not re.fullmatch(r"[A-Z][A-Z0-9-]{1,31}", code):
        raise Refused(
            f"{code!r} cannot be a survey code; use 2 to 32 letters, digits and hyphens, a letter first"
        )
    if session.scalar(select(Survey.id).where(Survey.code == code)):
        raise Refused(f"there is a survey {code} already; give this one another code with --code")
    return code


def _refuse_a_second(session: Session, lake: Lake, surveyed_on: date, species: str) -> None:
    same = session.scalars(
        select(Survey.code).where(
            Survey.lake_id == lake.id, Survey.surveyed_on == surveyed_on, Survey.species == species
        )
    ).first()
    if same is not None:
        raise Refused(
            f"lake {lake.code} has a survey of {SPECIES[species].printed} on {surveyed_on} already, {same}; log into"
            " that one, or say with --again that a second one is meant"
        )
