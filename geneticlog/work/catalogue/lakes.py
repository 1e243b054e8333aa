"""Lakes: to add one, and the list of all."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.lakes.place import check_place
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Fish, Lake, Survey
from geneticlog.work.events import new_uid, record
from geneticlog.work.result.in_the_numbers import of_its_species

CODE = re.compile(r"[A-Z][A-Z0-9-]{1,11}")


def add_lake(session: Session, code: str, name: str, *, stamp: Stamp, **details: Any) -> Lake:
    """Enter a lake under a short code. Raises Refused for a code that is taken or cannot be one."""
    code = code.strip().upper()
    if not CODE.fullmatch(code):
        raise Refused(
            f"{code!r} cannot be a lake code; use 2 to 12 letters, digits or hyphens, a letter first"
        )
    if not name.strip():
        raise Refused("a lake needs a name")
    if session.scalar(select(Lake.id).where(Lake.code == code)):
        raise Refused(f"there is a lake {code} already; see: geneticlog lake show {code}")
    check_place(details)
    details["country_code"] = country_code_of(details.get("country_code"))
    lake = Lake(uid=new_uid(), code=code, name=name.strip(), added_at=stamp.now, added_by=stamp.by, **details)
    session.add(lake)
    session.flush()
    record(session, "entered", "lake", code, stamp=stamp, new={"name": lake.name})
    return lake


def country_code_of(text: str | None) -> str | None:
    """Return a country code as two capital letters. Raises Refused for anything else."""
    if text is None:
        return None
    code = text.strip().upper()
    if not re.fullmatch("[A-Z]{2}", code):
        raise Refused(f"{text!r} is not a country code; give two letters, as in US")
    return code


@dataclass(frozen=True)
class LakeInList:
    """One lake in a list: how many surveys, fish caught of their species, and when it was seen last."""

    lake: str
    name: str
    n_surveys: int
    n_fish: int
    last_surveyed_on: date | None


def list_lakes(session: Session) -> list[LakeInList]:
    """Return every lake with its counts, by code; counted in the database."""
    fish = (
        select(Survey.lake_id, func.sum(Fish.n_fish).label("n"))
        .join(Fish.survey)
        .where(of_its_species())
        .group_by(Survey.lake_id)
        .subquery()
    )
    surveys = (
        select(Survey.lake_id, func.count().label("n"), func.max(Survey.surveyed_on).label("last"))
        .group_by(Survey.lake_id)
        .subquery()
    )
    rows = session.execute(
        select(Lake.code, Lake.name, surveys.c.n, fish.c.n, surveys.c.last)
        .outerjoin(surveys, surveys.c.lake_id == Lake.id)
        .outerjoin(fish, fish.c.lake_id == Lake.id)
        .order_by(Lake.code)
    )
    return [
        LakeInList(code, name, surveyed or 0, int(caught or 0), last)
        for code, name, surveyed, caught, last in rows
    ]
