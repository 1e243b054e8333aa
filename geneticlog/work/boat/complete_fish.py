"""What a stored fish still lacks is added: its vial, its weight, a second vial."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.lengths import Measured
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Fish, Survey, Vial
from geneticlog.work.boat.batch import Batch
from geneticlog.work.boat.fill_vial import on_its_fish
from geneticlog.work.boat.fish_doubts import (
    Doubtful,
    FishRefused,
    Sure,
    ask,
    keep_or_gather_doubts,
    measurement_doubts,
    species_doubts,
)
from geneticlog.work.boat.log_fish import NOTHING_GIVEN, Given, fill_vials, look_up_named
from geneticlog.work.boat.logged import Logged, as_logged, said_of
from geneticlog.work.events import fish_name, record
from geneticlog.work.fish_columns import length_of, measured_columns


def complete_fish(
    session: Session,
    survey: Survey,
    number: int,
    line: LogLine,
    *,
    stamp: Stamp,
    sure: Sure = False,
    given: Given = NOTHING_GIVEN,
) -> Logged:
    """Add to a fish that is stored what it still lacks: its vial, its weight, or a second vial (blind duplicate).

    What it has already and the line repeats changes nothing. Raises FishRefused where the fish has another vial
    or weight, FishDoubted for what has to be asked.
    """
    fish = session.scalar(
        select(Fish).where(Fish.survey_id == survey.id, Fish.number == number).with_for_update()
    )
    if fish is None:
        raise FishRefused(f"survey {survey.code} has no fish {number}")
    before = said_of(fish)
    new: dict[str, Any] = {
        name: getattr(line, name)
        for name in ("fate", "remarks")
        if getattr(line, name) and not getattr(fish, name)
    }
    questions: list[Doubtful] = []
    if line.weight is not None:
        questions = _weight_to_add(survey, fish, line.weight, new)
    vials, more = _vials_to_add(session, survey, fish, line, given.batch)
    questions += more
    ask(questions, line, sure)
    if new:
        for name, value in new.items():
            setattr(fish, name, value)
        session.flush()
        record(
            session, "completed", "fish", fish_name(survey.code, number), stamp=stamp,
            old=before, new=said_of(fish),
        )  # fmt: skip
    fill_vials(session, fish, vials, line, given.usual, stamp)
    keep_or_gather_doubts(session, survey, [(fish, one) for one in questions], given.batch, stamp)
    return replace(as_logged(survey, fish), already=not new and not vials)


def _weight_to_add(survey: Survey, fish: Fish, weight: Measured, new: dict[str, Any]) -> list[Doubtful]:
    """Add the columns of a weight to ``new`` where the fish has none; return what has to be asked of it.

    Raises FishRefused for a tally, and where the fish has another weight.
    """
    if fish.n_fish > 1:
        raise FishRefused("a tally of several fish cannot have a weight", "weight")
    if fish.weight is None:
        length = length_of(fish)
        new |= measured_columns(survey, fish.species, length, weight)
        # the length is that of a fish already stored, which no answer changes
        doubts_of_both = measurement_doubts(fish.species, length, weight)
        return [replace(one, about=("weight",)) for one in doubts_of_both]
    if (fish.weight, fish.weight_unit) != (weight.value, weight.unit):
        raise FishRefused(
            f"fish {fish.number} has a weight of {fish.weight:.10g} {fish.weight_unit} already; "
            "correct it with: geneticlog correct fish",
            "weight",
        )
    return []


def _vials_to_add(
    session: Session, survey: Survey, fish: Fish, line: LogLine, batch: Batch | None
) -> tuple[list[tuple[Vial, VialRole]], list[Doubtful]]:
    """Return the vials of a line that the fish has not yet, each with its role, and what has to be asked."""
    to_add: list[tuple[Vial, VialRole]] = []
    questions: list[Doubtful] = []
    n_vials = len(fish.vials)
    for name, role in (("vial", VialRole.SAMPLE), ("second", VialRole.BLIND_DUPLICATE)):
        if (code := getattr(line, name)) is None:
            continue
        looked_up = look_up_named(session, survey, code, name, batch)
        vial = looked_up.vial
        if looked_up.fish is not None and looked_up.fish.id == fish.id:
            continue
        if looked_up.fish is not None:
            where = on_its_fish(looked_up.fish)
            raise FishRefused(f"vial {printed(vial.code)} is already {where}; take another vial", name)
        if fish.n_fish > 1:
            raise FishRefused(f"fish {fish.number} is a tally of {fish.n_fish}; a vial holds one fish", name)
        if name == "vial" and n_vials:
            raise FishRefused(
                f"fish {fish.number} has vial {printed(fish.vials[0].code)} already; "
                'measure the next fish, or add the word "second" for a second swab of this one',
                name,
            )
        if name == "second" and not n_vials:
            raise FishRefused(f"fish {fish.number} has no first vial yet, so this cannot be its second", name)
        if n_vials >= 2:
            raise FishRefused(f"fish {fish.number} has two vials already; a fish can have at most two", name)
        n_vials += 1
        to_add.append((vial, role))
        questions += species_doubts(survey, fish.species, code)
        questions += [
            Doubtful(text, FindingKind.VIAL_OF_ANOTHER_SURVEY, (name,)) for text in looked_up.questions
        ]
    return to_add, questions
