"""Correct what is stored: the old value, who, when and why stay in the history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.plausible import doubts
from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.gear import gear_key
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.lakes.place import check_place
from geneticlog.rules.shipment.custody import NOT_IN_HAND
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import parse, printed
from geneticlog.store.tables import Finding, Fish, Survey, Vial
from geneticlog.work.boat.fill_vial import Swab, VialRefused, empty_vial, fill_vial, look_up_vial, on_its_fish
from geneticlog.work.boat.fish_doubts import FishDoubted, FishRefused, Sure, species_doubts
from geneticlog.work.boat.logged import as_logged, said_of
from geneticlog.work.boat.survey_dates import refuse_later_survey
from geneticlog.work.catalogue.lakes import country_code_of
from geneticlog.work.catalogue.surveys import far_ahead
from geneticlog.work.events import Corrected, find_fish, find_lake, fish_name, record, require_reason
from geneticlog.work.finding.open_finding import About, open_finding
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


@dataclass(frozen=True)
class VialChange:
    """What changes of a fish's vials.

    take, add
        a vial to take off the fish (free again), and one to put on it; with add alone, on a fish with one vial, the
        new vial takes the place of the old.
    tissue
        of the vial that is put on, or of those that stay.
    """

    add: str | None = None
    take: str | None = None
    tissue: str | None = None


@dataclass(frozen=True)
class FishChange:
    """What changes of a fish: values of FISH_FIELDS, lengths and weights as Measured, None to empty one; its vials."""

    values: Mapping[str, Any]
    vials: VialChange = VialChange()


def correct_fish(
    session: Session,
    survey: Survey,
    number: int,
    change: FishChange,
    *,
    stamp: Stamp,
    why: str,
    sure: Sure = False,
) -> Corrected:
    """Change what is stored of a fish. Size class and relative weight follow from its length and weight.

    Raises FishRefused for what cannot be, FishDoubted for what has to be asked; nothing is changed then.
    """
    require_reason(why, "the correction")
    fish = find_fish(session, survey, number)
    changes, vials = change.values, change.vials
    if unknown := set(changes) - set(FISH_FIELDS):
        raise Refused(
            f"a fish has no {', '.join(sorted(unknown))} to correct; it has {', '.join(FISH_FIELDS)}"
        )
    _not_emptied(changes)
    before, tissues, was = said_of(fish), [one.tissue for one in fish.vials], as_logged(survey, fish)
    species = changes.get("species", fish.species)
    line = LogLine(
        length=changes.get("length", was.length),
        weight=changes.get("weight", was.weight),
        n_fish=changes.get("n_fish", fish.n_fish),
    )
    questions = _questions(fish, species, line, changes, vials)
    vial, more = _new_vial(session, survey, fish, vials.add)
    questions += more
    if sure is not True and any(kind not in (sure or ()) for _, kind in questions):
        kinds = frozenset(kind for _, kind in questions)
        raise FishDoubted(tuple(text for text, _ in questions), line, frozenset(), kinds)
    columns = {
        name: changes[name] for name in ("species", "n_fish", "fate", "site", "remarks") if name in changes
    }
    measured = measured_columns(survey, species, line.length, line.weight)
    if line.length is None and "length" not in changes:
        measured["size_class"] = fish.size_class  # ticked in a tally box
    for name, value in (columns | measured).items():
        if getattr(fish, name) != value:
            setattr(fish, name, value)
    session.flush()
    _change_vials(session, survey, fish, vial, vials, stamp=stamp, why=why)
    session.refresh(fish, ["vials"])
    after = said_of(fish)
    changed = {name: (before[name], after[name]) for name in before if before[name] != after[name]}
    if tissues != (now_are := [one.tissue for one in fish.vials]) and vials.tissue is not None:
        changed["tissue"] = (tissues, now_are)
    if changed:
        _keep_change(session, survey, fish, changed, stamp=stamp, why=why)
        if not doubts(fish.species, line.length, line.weight):
            _settle_doubts(session, fish, stamp=stamp, why=why)
        _keep_questions(session, survey, fish, questions, stamp=stamp)
    return Corrected(fish_name(survey.code, number), changed, as_logged(survey, fish).words)


def _questions(
    fish: Fish, species: str, line: LogLine, changes: Mapping[str, Any], vials: VialChange
) -> list[tuple[str, FindingKind]]:
    """Return what to ask of a fish as it would be, each with its kind. Raises FishRefused for what cannot be."""
    if line.n_fish < 1:
        raise FishRefused(f"a tally of {line.n_fish} fish is not possible; take the fish out with --remove")
    if line.n_fish > 1 and (line.weight is not None or fish.vials or vials.add):
        raise FishRefused(f"a tally of {line.n_fish} fish cannot have a vial or a weight")
    measured_anew = {"length", "weight", "species"} & set(changes)
    doubted = doubts(species, line.length, line.weight) if measured_anew else []
    if impossible := [doubt.text for doubt in doubted if doubt.impossible]:
        raise FishRefused("; ".join(impossible), "length")
    vial = vials.add or (fish.vials[0].code if fish.vials and "species" in changes else None)
    of_species = species_doubts(fish.survey, species, vial)
    return [(doubt.text, FindingKind.DOUBTFUL_MEASUREMENT) for doubt in doubted] + [
        (one.text, one.kind) for one in of_species
    ]


def _keep_change(
    session: Session,
    survey: Survey,
    fish: Fish,
    changed: Mapping[str, tuple[Any, Any]],
    *,
    stamp: Stamp,
    why: str,
) -> None:
    record(
        session, "corrected", "fish", fish_name(survey.code, fish.number), stamp=stamp, why=why,
        old={name: old for name, (old, _) in changed.items()},
        new={"uid": fish.uid} | {name: new for name, (_, new) in changed.items()},
    )  # fmt: skip


def _keep_questions(
    session: Session, survey: Survey, fish: Fish, questions: list[tuple[str, FindingKind]], *, stamp: Stamp
) -> None:
    """Open a finding for each question that a person answered with yes."""
    name = fish_name(survey.code, fish.number)
    for text, kind in questions:
        open_finding(
            session, key=f"{kind}:{fish.uid}", kind=kind, stamp=stamp, about=About(survey.id, fish.id),
            text=f"Fish {name}: {text}. {stamp.by} said that it is so.", data=said_of(fish),
        )  # fmt: skip


def correct_lake(
    session: Session, code: str, changes: Mapping[str, Any], *, stamp: Stamp, why: str
) -> Corrected:
    """Change what is stored of a lake, any of LAKE_FIELDS; None empties a field. Raises Refused."""
    require_reason(why, "the correction")
    _not_emptied(changes)
    lake = find_lake(session, code)
    new = {name: getattr(lake, name) for name in LAKE_FIELDS} | dict(changes)
    check_place(new)
    if "country_code" in changes:
        changes = dict(changes) | {"country_code": country_code_of(changes["country_code"])}
    return _apply(session, lake, "lake", lake.code, changes, stamp=stamp, why=why)


def correct_survey(
    session: Session, survey: Survey, changes: Mapping[str, Any], *, stamp: Stamp, why: str
) -> Corrected:
    """Change what is stored of a survey, any of SURVEY_FIELDS; None empties a field. Raises Refused.

    Units, species and size classes stay: every fish of the survey was judged by them.
    """
    require_reason(why, "the correction")
    _not_emptied(changes)
    changes = dict(changes)
    if "gear" in changes:
        changes["gear"] = gear_key(changes["gear"])
    new = {name: getattr(survey, name) for name in SURVEY_FIELDS} | changes
    if "surveyed_on" in changes and (far := far_ahead(changes["surveyed_on"], stamp.now)):
        raise Refused(f"{far}; correct the date")
    if "surveyed_on" in changes:
        refuse_later_survey(session, survey, changes["surveyed_on"])
    if new["effort_minutes"] is not None and not new["effort_minutes"] > 0:
        raise Refused(f"an effort of {new['effort_minutes']} minutes is not possible; it must be above 0")
    if new["permit_from"] and new["permit_to"] and new["permit_to"] < new["permit_from"]:
        raise Refused(
            f"the permit ends ({new['permit_to']}) before it begins ({new['permit_from']}); correct one of the dates"
        )
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
) -> tuple[Vial | None, list[tuple[str, FindingKind]]]:
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
    return looked_up.vial, [(text, FindingKind.VIAL_OF_ANOTHER_SURVEY) for text in looked_up.questions]


def _change_vials(
    session: Session,
    survey: Survey,
    fish: Fish,
    vial: Vial | None,
    change: VialChange,
    *,
    stamp: Stamp,
    why: str,
) -> None:
    """Take vials off a fish, put ``vial`` on it, and correct the tissue of those that stay."""
    try:
        leaving = _leaving(fish, vial, change)
        role, tissue = VialRole.SAMPLE, change.tissue
        if leaving is not None:
            role, tissue = leaving.role, tissue or leaving.tissue
            empty_vial(session, survey, leaving, stamp=stamp, why=why)
            session.expire(fish, ["vials"])
        elif tissue is not None and vial is None:
            for each in fish.vials:
                if each.tissue != tissue:
                    record(
                        session, "corrected", "vial", each.code, stamp=stamp, why=why,
                        old={"tissue": each.tissue}, new={"tissue": tissue},
                    )  # fmt: skip
                    each.tissue = tissue
        if vial is not None:
            if any(one.standing not in NOT_IN_HAND for one in fish.vials):
                role = VialRole.BLIND_DUPLICATE
            fill_vial(session, fish, vial, Swab(tissue), stamp=stamp, role=role)
    except VialRefused as fault:
        raise FishRefused(str(fault)) from None


def _leaving(fish: Fish, vial: Vial | None, change: VialChange) -> Vial | None:
    """Return the vial that leaves a fish: the one named, or the only one in hand where another takes its place."""
    if change.take is not None:
        code = parse(change.take)
        vials_now = {one.code: one for one in fish.vials}
        if code not in vials_now:
            raise VialRefused(f"vial {printed(code)} is not on fish {fish.number}")
        return vials_now[code]
    in_hand = [one for one in fish.vials if one.standing not in NOT_IN_HAND]
    return in_hand[0] if vial is not None and len(in_hand) == 1 else None


def _settle_doubts(session: Session, fish: Fish, *, stamp: Stamp, why: str) -> None:
    open_doubts = select(Finding).where(
        Finding.fish_id == fish.id,
        Finding.kind == FindingKind.DOUBTFUL_MEASUREMENT,
        Finding.decision.is_(None),
    )
    for finding in session.scalars(open_doubts):
        finding.decision, finding.decided_at, finding.decided_by = Decision.CLOSE, stamp.now, stamp.by
        finding.why = f"the fish was corrected: {why}"
        record(
            session, "decided", "finding", f"F{finding.number}", stamp=stamp,
            new={"decision": Decision.CLOSE}, why=finding.why,
        )  # fmt: skip


def _not_emptied(changes: Mapping[str, Any]) -> None:
    if emptied := sorted(name for name in NEVER_EMPTY if name in changes and changes[name] in (None, "")):
        raise Refused(f"{', '.join(emptied)} cannot be emptied; give another value")


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value
