"""Log a fish: one line, checked at once, stored whole or refused with the reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Fish, Survey, Vial
from geneticlog.work.boat.batch import Batch
from geneticlog.work.boat.fill_vial import LookedUp, Swab, VialRefused, fill_vial, look_up_vial, on_its_fish
from geneticlog.work.boat.fish_doubts import (
    Doubtful,
    FishRefused,
    Sure,
    ask,
    keep_or_gather_doubts,
    measurement_doubts,
    size_doubts,
    species_doubts,
)
from geneticlog.work.boat.logged import Logged, as_logged, said_of
from geneticlog.work.events import fish_name, new_uid, record
from geneticlog.work.fish_columns import measured_columns


@dataclass(frozen=True)
class Usual:
    """What holds of a fish where its own line says nothing."""

    tissue: str | None = None
    medium: str | None = None
    site: str | None = None


NOTHING_USUAL = Usual()


@dataclass(frozen=True)
class Given:
    """What a sheet or a device says of a fish beside its line.

    number: the fish's number on a sheet; default the next one of the survey
    source: where the line came from, so that it is not stored twice
    size_class: of a fish without a length, as ticked in a tally box; else judged from the length
    entered_at: by the device's clock, where it held the card for a while; kept beside the moment it is stored
    usual: what holds of it where neither says anything
    batch: what its survey holds, looked up once where many fish are stored one after the other
    """

    number: int | None = None
    source: str | None = None
    size_class: str | None = None
    entered_at: datetime | None = None
    usual: Usual = NOTHING_USUAL
    batch: Batch | None = None


NOTHING_GIVEN = Given()


def log_fish(
    session: Session,
    survey: Survey,
    line: LogLine,
    *,
    stamp: Stamp,
    sure: Sure = False,
    given: Given = NOTHING_GIVEN,
) -> Logged:
    """Store what is said of one fish, or of a tally of several.

    sure: a person has said that what is doubtful is so (True, or the kinds of doubt); each then becomes a finding
    given.batch: what was looked up once, where many fish of the survey are stored one after the other

    Raises FishRefused for what cannot be, FishDoubted (nothing stored) for what has to be asked. A vial that is
    on a fish of this survey with the same values is that fish: it comes back as ``already``.
    """
    vials, questions = _vials_of_line(session, survey, line, given.number, given.batch)
    if isinstance(vials, Fish):
        return replace(as_logged(survey, vials), already=True)
    species = line.species or survey.species
    questions = [
        *measurement_doubts(species, line.length, line.weight),
        *questions,
        *species_doubts(survey, species, line.vial or line.second),
        *size_doubts(survey, line, given.size_class),
    ]
    ask(questions, line, sure)
    number = _number(session, survey, given, given.batch)
    columns = measured_columns(survey, species, line.length, line.weight)
    if line.length is None:
        columns["size_class"] = given.size_class
    fish = Fish(
        uid=new_uid(),
        survey=survey,
        number=number,
        n_fish=line.n_fish,
        species=species,
        fate=line.fate,
        site=given.usual.site,
        remarks=line.remarks,
        source=given.source,
        logged_at=stamp.now,
        logged_by=stamp.by,
        vials=[],
        **columns,
    )
    session.add(fish)
    record(session, "logged", "fish", fish_name(survey.code, fish.number), stamp=stamp, new=said_of(fish))
    roles = (VialRole.SAMPLE, VialRole.BLIND_DUPLICATE)
    fill_vials(session, fish, list(zip(vials, roles, strict=False)), line, given.usual, stamp)
    keep_or_gather_doubts(session, survey, [(fish, one) for one in questions], given.batch, stamp)
    return as_logged(survey, fish)


def _vials_of_line(
    session: Session, survey: Survey, line: LogLine, number: int | None, batch: Batch | None
) -> tuple[list[Vial] | Fish, list[Doubtful]]:
    """Return the free vials of a line, and what has to be asked of them; or the fish that the line is already.

    Raises FishRefused for a vial that is on another fish, or on one with other values.
    """
    vials: list[Vial] = []
    questions: list[Doubtful] = []
    for name in ("vial", "second"):
        if (code := getattr(line, name)) is None:
            continue
        looked_up = look_up_named(session, survey, code, name, batch)
        vials.append(looked_up.vial)
        if (same := looked_up.fish) is not None:
            if name == "vial" and same.survey_id == survey.id and _says_the_same(same, line, number):
                return same, []
            raise FishRefused(
                f"vial {printed(looked_up.vial.code)} is already {on_its_fish(same)}; take another vial, "
                "or correct that fish with: geneticlog correct fish",
                name,
            )
        questions += [
            Doubtful(text, FindingKind.VIAL_OF_ANOTHER_SURVEY, (name,)) for text in looked_up.questions
        ]
    return vials, questions


def fill_vials(
    session: Session,
    fish: Fish,
    vials: Sequence[tuple[Vial, VialRole]],
    line: LogLine,
    usual: Usual,
    stamp: Stamp,
) -> None:
    """Put vials on a fish, each in its role."""
    held = Swab(line.tissue or usual.tissue, usual.medium)
    for vial, role in vials:
        fill_vial(session, fish, vial, held, stamp=stamp, role=role)


def look_over(session: Session, survey: Survey, line: LogLine) -> list[Doubtful]:
    """Return what has to be asked of a fish that is being entered, before it is stored; vials are looked up.

    Raises FishRefused for an impossible length and for a vial that cannot be used, or is on a fish.
    """
    species = line.species or survey.species
    questions = measurement_doubts(species, line.length, line.weight)
    questions += species_doubts(survey, species, line.vial or line.second)
    for name in ("vial", "second"):
        if (code := getattr(line, name)) is not None:
            looked_up = look_up_named(session, survey, code, name)
            if looked_up.fish is not None:
                where = on_its_fish(looked_up.fish)
                raise FishRefused(
                    f"vial {printed(looked_up.vial.code)} is already {where}; take another vial", name
                )
            questions += [
                Doubtful(text, FindingKind.VIAL_OF_ANOTHER_SURVEY, (name,)) for text in looked_up.questions
            ]
    return questions


def look_up_named(
    session: Session, survey: Survey, code: str, name: str, batch: Batch | None = None
) -> LookedUp:
    try:
        return look_up_vial(session, survey, code, batch)
    except VialRefused as fault:
        raise FishRefused(str(fault), name) from None


def _number(session: Session, survey: Survey, given: Given, batch: Batch | None) -> int:
    """Return the number of a fish that is stored now. Raises FishRefused where it is another fish's."""
    number = given.number
    if batch is not None:
        number = batch.add(given.number, given.source)
    elif number is None:
        number = (session.scalar(select(func.max(Fish.number)).where(Fish.survey_id == survey.id)) or 0) + 1
    elif session.scalar(select(Fish.id).where(Fish.survey_id == survey.id, Fish.number == number)):
        number = None
    if number is None:
        raise FishRefused(f"survey {survey.code} has a fish {given.number} already, with other values")
    return number


def _says_the_same(fish: Fish, line: LogLine, number: int | None) -> bool:
    """Whether a line says nothing of a stored fish that differs from what is stored."""
    length = line.length is None or (line.length.value, line.length.unit) == (fish.length, fish.length_unit)
    weight = line.weight is None or (line.weight.value, line.weight.unit) == (fish.weight, fish.weight_unit)
    species = line.species is None or line.species == fish.species
    fate = line.fate is None or line.fate == fish.fate
    return length and weight and species and fate and number in (None, fish.number) and line.n_fish == 1
