"""Correct what is stored: the old value, who, when and why stay in the history."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.plausible import doubts
from geneticlog.rules.gear import gear_key
from geneticlog.rules.lab_return.decision import Decision
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.lengths import Measured
from geneticlog.rules.shipment.custody import NOT_IN_HAND
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import parse, printed
from geneticlog.store.tables import Finding, Fish, Survey
from geneticlog.work.boat.fill_vial import VialRefused, empty_vial, fill_vial, look_up_vial, on_its_fish
from geneticlog.work.boat.log_fish import (
    FishDoubted,
    FishRefused,
    Sure,
    as_logged,
    said_of,
)
from geneticlog.work.boat.survey_dates import refuse_later_survey
from geneticlog.work.catalogue.places import country_code_of, far_ahead
from geneticlog.work.events import Corrected, find_fish, find_lake, fish_name, record
from geneticlog.work.finding.open_finding import open_finding
from geneticlog.work.fish_columns import measured_columns

LAKE_FIELDS = (
    "name", "owner", "county", "state_province", "country_code", "area_ha", "latitude", "longitude",
    "position_uncertainty_m", "remarks",
)  # fmt: skip
SURVEY_FIELDS = (
    "surveyed_on", "gear", "effort_minutes", "crew", "order_of_work", "permit", "permit_from", "permit_to",
    "protocol", "remarks",
)  # fmt: skip
FISH_FIELDS = ("length", "weight", "species", "n_fish", "fate", "site", "remarks")
NEVER_EMPTY = {"name", "surveyed_on", "gear", "order_of_work", "species", "n_fish"}


def correct_fish(
    session: Session,
    survey: Survey,
    number: int,
    changes: Mapping[str, Any],
    *,
    stamp: Stamp,
    why: str,
    sure: Sure = False,
    add_vial: str | None = None,
    take_vial: str | None = None,
    tissue: str | None = None,
) -> Corrected:
    """Change what is stored of a fish. Size class and relative weight follow from its length and weight.

    changes
        of FISH_FIELDS; length and weight as Measured; None empties a field.
    take_vial, add_vial
        a vial to take off the fish (free again), and one to put on it; with add_vial alone, on a fish with one
        vial, the new vial takes the place of the old.

    Raises FishRefused for what cannot be, FishDoubted for what has to be asked; nothing is changed then.
    """
    _has_reason(why)
    fish = find_fish(session, survey, number)
    unknown = set(changes) - set(FISH_FIELDS)
    if unknown:
        raise Refused(
            f"a fish has no {', '.join(sorted(unknown))} to correct; it has {', '.join(FISH_FIELDS)}"
        )
    _not_emptied(changes)
    before = said_of(fish)
    tissues = [one.tissue for one in fish.vials]
    was = as_logged(survey, fish)
    length: Measured | None = changes.get("length", was.length)
    weight: Measured | None = changes.get("weight", was.weight)
    species = changes.get("species", fish.species)
    n_fish = changes.get("n_fish", fish.n_fish)
    line = LogLine(length=length, weight=weight, n_fish=n_fish)
    if n_fish < 1:
        raise FishRefused(f"a tally of {n_fish} fish cannot be; take the fish out with --remove")
    if n_fish > 1 and (weight is not None or fish.vials or add_vial):
        raise FishRefused(f"a tally of {n_fish} fish cannot have a vial or a weight")
    found = doubts(species, length, weight) if {"length", "weight", "species"} & set(changes) else []
    if impossible := [doubt.text for doubt in found if doubt.impossible]:
        raise FishRefused("; ".join(impossible), "length")
    questions = [(doubt.text, "doubtful_measurement") for doubt in found]
    vial, more = _new_vial(session, survey, fish, add_vial)
    questions += more
    if sure is not True and any(kind not in (sure or ()) for _, kind in questions):
        kinds = frozenset(kind for _, kind in questions)
        raise FishDoubted(tuple(text for text, _ in questions), line, frozenset(), kinds)
    columns = {
        name: changes[name] for name in ("species", "n_fish", "fate", "site", "remarks") if name in changes
    }
    measured = measured_columns(survey, species, length, weight)
    if length is None and "length" not in changes:
        measured["size_class"] = fish.size_class  # ticked in a tally box
    for name, value in (columns | measured).items():
        if getattr(fish, name) != value:
            setattr(fish, name, value)
    session.flush()
    _change_vials(session, survey, fish, vial, take_vial, add_vial, tissue, stamp=stamp, why=why)
    session.refresh(fish, ["vials"])
    after = said_of(fish)
    changed = {name: (before[name], after[name]) for name in before if before[name] != after[name]}
    if tissues != (now_are := [one.tissue for one in fish.vials]) and tissue is not None:
        changed["tissue"] = (tissues, now_are)
    if changed:
        record(
            session, "corrected", "fish", fish_name(survey.code, number), stamp=stamp, why=why,
            old={name: old for name, (old, _) in changed.items()},
            new={"uid": fish.uid} | {name: new for name, (_, new) in changed.items()},
        )  # fmt: skip
        if not doubts(fish.species, length, weight):
            _settle_doubts(session, fish, stamp=stamp, why=why)
        for text, kind in questions:
            open_finding(
                session, key=f"{kind}:{fish.uid}", kind=kind, stamp=stamp, survey_id=survey.id, fish_id=fish.id,
                text=f"Fish {fish_name(survey.code, number)}: {text}. {stamp.by} said that it is so.", data=after,
            )  # fmt: skip
    return Corrected(fish_name(survey.code, number), changed, as_logged(survey, fish).words)


def correct_lake(
    session: Session, code: str, changes: Mapping[str, Any], *, stamp: Stamp, why: str
) -> Corrected:
    """Change what is stored of a lake, any of LAKE_FIELDS; None empties a field. Raises Refused."""
    _has_reason(why)
    _not_emptied(changes)
    lake = find_lake(session, code)
    new = {name: getattr(lake, name) for name in LAKE_FIELDS} | dict(changes)
    if (new["latitude"] is None) != (new["longitude"] is None):
        raise Refused("a position needs both latitude and longitude")
    for name, least, most in (("latitude", -90, 90), ("longitude", -180, 180)):
        if new[name] is not None and not least <= new[name] <= most:
            raise Refused(f"a {name} of {new[name]} cannot be; decimal degrees from {least} to {most}")
    for name in ("area_ha", "position_uncertainty_m"):
        if new[name] is not None and not new[name] > 0:
            raise Refused(f"{name} of {new[name]} cannot be; it must be more than zero")
    if "country_code" in changes:
        changes = dict(changes) | {"country_code": country_code_of(changes["country_code"])}
    return _apply(session, lake, "lake", lake.code, changes, stamp=stamp, why=why)


def correct_survey(
    session: Session, survey: Survey, changes: Mapping[str, Any], *, stamp: Stamp, why: str
) -> Corrected:
    """Change what is stored of a survey, any of SURVEY_FIELDS; None empties a field. Raises Refused.

    Units, species and size classes stay: every fish of the survey was judged by them.
    """
    _has_reason(why)
    _not_emptied(changes)
    changes = dict(changes)
    if "gear" in changes:
        changes["gear"] = gear_key(changes["gear"])
    new = {name: getattr(survey, name) for name in SURVEY_FIELDS} | changes
    if "surveyed_on" in changes and (far := far_ahead(changes["surveyed_on"], stamp.now)):
        raise Refused(f"{far}; mend the date")
    if "surveyed_on" in changes:
        refuse_later_survey(session, survey, changes["surveyed_on"])
    if new["effort_minutes"] is not None and not new["effort_minutes"] > 0:
        raise Refused(f"an effort of {new['effort_minutes']} minutes cannot be")
    if new["permit_from"] and new["permit_to"] and new["permit_to"] < new["permit_from"]:
        raise Refused(f"a permit from {new['permit_from']} to {new['permit_to']} cannot be")
    return _apply(session, survey, "survey", survey.code, changes, stamp=stamp, why=why)


def _apply(
    session: Session,
    thing: Any,
    kind: str,
    code: str,
    changes: Mapping[str, Any],
    *,
    stamp: Stamp,
    why: str,
) -> Corrected:
    changed = {}
    for name, value in changes.items():
        old = getattr(thing, name)
        if old != value:
            setattr(thing, name, value)
            changed[name] = (old, value)
    session.flush()
    if changed:
        record(
            session, "corrected", kind, code, stamp=stamp, why=why,
            old={name: _plain(old) for name, (old, _) in changed.items()},
            new={name: _plain(new) for name, (_, new) in changed.items()},
        )  # fmt: skip
    return Corrected(code, changed)


def _new_vial(
    session: Session, survey: Survey, fish: Fish, add_vial: str | None
) -> tuple[Any, list[tuple[str, str]]]:
    if add_vial is None:
        return None, []
    try:
        looked_up = look_up_vial(session, survey, add_vial)
        if looked_up.fish is not None:
            where = on_its_fish(looked_up.fish)
            raise VialRefused(
                f"vial {printed(looked_up.vial.code)} is already {where}; take it off that fish first, with --take-vial"
            )
    except VialRefused as fault:
        raise FishRefused(str(fault)) from None
    return looked_up.vial, [(text, "vial_of_another_survey") for text in looked_up.questions]


def _change_vials(
    session: Session,
    survey: Survey,
    fish: Fish,
    vial: Any,
    take_vial: str | None,
    add_vial: str | None,
    tissue: str | None,
    *,
    stamp: Stamp,
    why: str,
) -> None:
    held = {one.code: one for one in fish.vials}
    in_hand = [one for one in fish.vials if one.standing not in NOT_IN_HAND]
    try:
        if take_vial is not None:
            code = parse(take_vial)
            if code not in held:
                raise VialRefused(f"vial {printed(code)} is not on fish {fish.number}")
            leaving = held[code]
        elif vial is not None and len(in_hand) == 1:
            leaving = in_hand[0]
        else:
            leaving = None
        role, kept_tissue = VialRole.SAMPLE, tissue
        if leaving is not None:
            role, kept_tissue = leaving.role, tissue or leaving.tissue
            empty_vial(session, survey, leaving, stamp=stamp, why=why)
            session.expire(fish, ["vials"])
        elif tissue is not None and vial is None:
            for one in fish.vials:
                if one.tissue != tissue:
                    record(
                        session, "corrected", "vial", one.code, stamp=stamp, why=why,
                        old={"tissue": one.tissue}, new={"tissue": tissue},
                    )  # fmt: skip
                    one.tissue = tissue
        if vial is not None:
            if any(one.standing not in NOT_IN_HAND for one in fish.vials):
                role = VialRole.BLIND_DUPLICATE
            fill_vial(session, survey, fish, vial, stamp=stamp, role=role, tissue=kept_tissue)
    except VialRefused as fault:
        raise FishRefused(str(fault)) from None


def _settle_doubts(session: Session, fish: Fish, *, stamp: Stamp, why: str) -> None:
    open_doubts = select(Finding).where(
        Finding.fish_id == fish.id, Finding.kind == "doubtful_measurement", Finding.decision.is_(None)
    )
    for finding in session.scalars(open_doubts):
        finding.decision, finding.decided_at, finding.decided_by = Decision.CLOSE, stamp.now, stamp.by
        finding.why = f"the fish was corrected: {why}"
        record(
            session, "decided", "finding", f"F{finding.number}", stamp=stamp,
            new={"decision": Decision.CLOSE}, why=finding.why,
        )  # fmt: skip


def _has_reason(why: str) -> None:
    if not why.strip():
        raise Refused("a correction needs its reason; say it with --why")


def _not_emptied(changes: Mapping[str, Any]) -> None:
    if emptied := sorted(name for name in NEVER_EMPTY if name in changes and changes[name] in (None, "")):
        raise Refused(f"{', '.join(emptied)} cannot be emptied; give another value")


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value
