"""Log a fish: one line, checked at once, stored whole or refused with the reason."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.plausible import doubts, say
from geneticlog.rules.lengths import Measured
from geneticlog.rules.schemes import LEAST_LENGTH, Scheme, SchemeError, five_length
from geneticlog.rules.species import SPECIES, relative_weight
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Fish, Survey, Vial
from geneticlog.work.boat.fill_vial import VialRefused, fill_vial, look_up_vial, on_its_fish
from geneticlog.work.events import fish_name, new_uid, record
from geneticlog.work.finding.open_finding import open_finding


class FishRefused(Refused):
    """A fish that cannot be stored; ``kept`` is what of its line stands without the part at fault."""

    def __init__(self, text: str, kept: LogLine) -> None:
        self.kept = kept
        super().__init__(text)


class FishDoubted(Refused):
    """A fish that is stored only when a person says so; ``questions`` are plain sentences.

    about: which of vial, length and weight of the line may be at fault
    """

    def __init__(
        self, questions: tuple[str, ...], line: LogLine, about: frozenset[str] = frozenset()
    ) -> None:
        self.questions, self.line, self.about = questions, line, about
        super().__init__("; ".join(questions))


@dataclass(frozen=True)
class Logged:
    """A fish as it is stored. ``already``: it was there before and nothing changed."""

    number: int
    n_fish: int
    length: Measured | None
    weight: Measured | None
    size_class: str | None
    relative_weight: float | None
    vials: tuple[str, ...]
    counts: bool  # of the survey's species, so that it counts in the tally
    already: bool = False

    @property
    def words(self) -> str:
        """As it is read back: "fish 12: 16.5 in, 2.3 lb, preferred, vial BG 4F7 Q2K R"."""
        parts = [say(part) for part in (self.length, self.weight) if part is not None]
        parts += [self.size_class] if self.size_class else []
        parts += (
            [f"vial{'s' if len(self.vials) > 1 else ''} {' and '.join(map(printed, self.vials))}"]
            if self.vials
            else []
        )
        several = f" x{self.n_fish}" if self.n_fish > 1 else ""
        return f"fish {self.number}{several}: {', '.join(parts) or 'not measured'}"


def log_fish(
    session: Session,
    survey: Survey,
    line: LogLine,
    *,
    now: datetime,
    by: str,
    sure: bool = False,
    number: int | None = None,
    source: str | None = None,
    tissue: str | None = None,
    medium: str | None = None,
    site: str | None = None,
    size_class: str | None = None,
) -> Logged:
    """Store what one line says of one fish, or of a tally of several.

    sure: a person has said that what is doubtful is so; each doubt then becomes a finding
    number: the fish's number on a sheet; default the next one of the survey
    source: where the line came from, so that it is not stored twice
    tissue, medium, site: what holds where the line itself says nothing
    size_class: of a fish without a length, as ticked in a tally box; else judged from the length

    Raises FishRefused for what cannot be, FishDoubted (nothing stored) for what has to be asked. A vial that is
    on a fish of this survey with the same values is that fish: it comes back as ``already``.
    """
    session.execute(
        select(Survey.id).where(Survey.id == survey.id).with_for_update()
    )  # numbers are given in turn
    species = line.species or survey.species
    found = doubts(species, line.length, line.weight)
    if impossible := [doubt.text for doubt in found if doubt.impossible]:
        raise FishRefused("; ".join(impossible), replace(line, length=None))
    questions = [(doubt.text, "doubtful_measurement") for doubt in found]
    about = {name for doubt in found for name in doubt.about}
    vial: Vial | None = None
    if line.vial is not None:
        try:
            looked_up = look_up_vial(session, survey, line.vial)
        except VialRefused as fault:
            raise FishRefused(str(fault), replace(line, vial=None)) from None
        vial = looked_up.vial
        if looked_up.fish is not None:
            same = looked_up.fish
            if same.survey_id == survey.id and _says_the_same(same, line, number):
                return replace(as_logged(survey, same), already=True)
            raise FishRefused(
                f"vial {printed(vial.code)} is already {on_its_fish(same)}; take another vial, "
                "or mend that fish with: geneticlog correct fish",
                replace(line, vial=None),
            )
        questions += [(text, "vial_of_another_survey") for text in looked_up.questions]
        about |= {"vial"} if looked_up.questions else set()
        if line.length is None:
            about.add("length")
            questions.append(("there is no length, so the fish counts in no size class", "no_length"))
    elif line.length is None and size_class is None:
        raise FishRefused("a fish without a vial and without a length says nothing; measure it", line)
    if size_class is not None and size_class not in (known := Scheme.from_json(survey.scheme).classes):
        raise FishRefused(
            f"{size_class!r} is no size class of this survey; use one of {', '.join(known)}", line
        )
    if questions and not sure:
        raise FishDoubted(tuple(text for text, _ in questions), line, frozenset(about))
    if number is not None and session.scalar(
        select(Fish.id).where(Fish.survey_id == survey.id, Fish.number == number)
    ):
        raise FishRefused(f"survey {survey.code} has a fish {number} already, with other values", line)
    columns = measured_columns(survey, species, line.length, line.weight)
    if line.length is None:
        columns["size_class"] = size_class
    fish = Fish(
        uid=new_uid(),
        survey=survey,
        number=number or _next_number(session, survey),
        n_fish=line.n_fish,
        species=species,
        fate=line.fate,
        site=site,
        remarks=line.remarks,
        source=source,
        logged_at=now,
        logged_by=by,
        vials=[],
        **columns,
    )
    session.add(fish)
    session.flush()
    record(session, "logged", "fish", fish_name(survey.code, fish.number), now=now, by=by, new=said_of(fish))
    if vial is not None:
        fill_vial(session, survey, fish, vial, now=now, by=by, tissue=line.tissue or tissue, medium=medium)
    _keep_doubts(session, survey, fish, questions, now=now, by=by)
    return as_logged(survey, fish)


def complete_fish(
    session: Session,
    survey: Survey,
    number: int,
    line: LogLine,
    *,
    now: datetime,
    by: str,
    sure: bool = False,
    tissue: str | None = None,
    medium: str | None = None,
) -> Logged:
    """Add to a fish that is stored what it still lacks: its vial, its weight, or a second vial (blind duplicate).

    Raises FishRefused where the fish has another vial or weight already, FishDoubted for what has to be asked.
    """
    fish = session.scalar(
        select(Fish).where(Fish.survey_id == survey.id, Fish.number == number).with_for_update()
    )
    if fish is None:
        raise FishRefused(f"survey {survey.code} has no fish {number}", line)
    before = said_of(fish)
    weight, length = line.weight, length_of(fish)
    questions: list[tuple[str, str]] = []
    changed = False
    if weight is not None and fish.n_fish > 1:
        raise FishRefused("a tally of several fish cannot have a weight", replace(line, weight=None))
    if weight is not None and fish.weight is None:
        questions += [(doubt.text, "doubtful_measurement") for doubt in doubts(fish.species, length, weight)]
        changed = True
    elif weight is not None and (fish.weight, fish.weight_unit) != (weight.value, weight.unit):
        raise FishRefused(
            f"fish {number} has a weight of {fish.weight:.10g} {fish.weight_unit} already; "
            "mend it with: geneticlog correct fish",
            replace(line, weight=None),
        )
    vial: Vial | None = None
    if line.vial is not None:
        try:
            looked_up = look_up_vial(session, survey, line.vial)
            vial = looked_up.vial
            if looked_up.fish is not None and looked_up.fish.id != fish.id:
                where = on_its_fish(looked_up.fish)
                raise VialRefused(f"vial {printed(vial.code)} is already {where}; take another vial")
            if looked_up.fish is None and fish.n_fish > 1:
                raise VialRefused(f"fish {number} is a tally of {fish.n_fish}; a vial holds one fish")
            if looked_up.fish is None and fish.vials and not line.second:
                raise VialRefused(
                    f"fish {number} has vial {printed(fish.vials[0].code)} already; "
                    'measure the next fish, or add the word "second" for a second swab of this one'
                )
            if looked_up.fish is None and line.second and not fish.vials:
                raise VialRefused(f"fish {number} has no first vial yet, so this cannot be its second")
        except VialRefused as fault:
            raise FishRefused(str(fault), replace(line, vial=None)) from None
        questions += [(text, "vial_of_another_survey") for text in looked_up.questions]
        vial = None if looked_up.fish is not None else vial
    if questions and not sure:
        # the length is that of a fish already stored, which no answer changes
        raise FishDoubted(
            tuple(text for text, _ in questions),
            line,
            frozenset({"vial" if kind == "vial_of_another_survey" else "weight" for _, kind in questions}),
        )
    if changed:
        for name, value in measured_columns(survey, fish.species, length, weight).items():
            setattr(fish, name, value)
        session.flush()
        record(
            session, "completed", "fish", fish_name(survey.code, number), now=now, by=by,
            old=before, new=said_of(fish),
        )  # fmt: skip
    if vial is not None:
        role = "blind_duplicate" if line.second else "sample"
        fill_vial(
            session, survey, fish, vial, now=now, by=by,
            role=role, tissue=line.tissue or tissue, medium=medium,
        )  # fmt: skip
        session.refresh(fish, ["vials"])
    _keep_doubts(session, survey, fish, questions, now=now, by=by)
    return replace(as_logged(survey, fish), already=not changed and vial is None)


def stored_from(session: Session, survey: Survey, source: str) -> Logged | None:
    """Return the fish that was stored from this source, if it is there."""
    fish = session.scalar(select(Fish).where(Fish.survey_id == survey.id, Fish.source == source))
    return None if fish is None else replace(as_logged(survey, fish), already=True)


def measured_columns(
    survey: Survey, species: str, length: Measured | None, weight: Measured | None
) -> dict[str, Any]:
    """Return the columns of a fish that follow from its length and weight; size class judged as measured."""
    relative = None
    if length is not None and weight is not None and species in SPECIES:
        relative = relative_weight(species, length.metric, weight.metric)
    return {
        "length": length.value if length else None,
        "length_unit": length.unit if length else None,
        "length_mm": length.metric if length else None,
        "weight": weight.value if weight else None,
        "weight_unit": weight.unit if weight else None,
        "weight_g": weight.metric if weight else None,
        "size_class": judge(survey, species, length),
        "relative_weight": relative,
    }


def judge(survey: Survey, species: str, length: Measured | None) -> str | None:
    """Return the size class by the survey's scheme, or for another species by its published limits, if any."""
    if length is None:
        return None
    if species == survey.species:
        return Scheme.from_json(survey.scheme).judge(length.value, length.unit)
    if (species, "mm") not in LEAST_LENGTH:
        return None
    try:
        return five_length(species).judge(length.value, length.unit)
    except SchemeError:
        return None


def as_logged(survey: Survey, fish: Fish) -> Logged:
    """Return a fish as it is stored."""
    weight = None
    if fish.weight is not None and fish.weight_unit is not None and fish.weight_g is not None:
        weight = Measured(fish.weight, fish.weight_unit, fish.weight_g)
    return Logged(
        number=fish.number,
        n_fish=fish.n_fish,
        length=length_of(fish),
        weight=weight,
        size_class=fish.size_class,
        relative_weight=fish.relative_weight,
        vials=tuple(vial.code for vial in fish.vials),
        counts=fish.species == survey.species,
    )


def said_of(fish: Fish) -> dict[str, Any]:
    """Return the values of a fish for the record of what happened."""
    return {
        "uid": fish.uid,
        "number": fish.number,
        "n_fish": fish.n_fish,
        "species": fish.species,
        "length": fish.length,
        "length_unit": fish.length_unit,
        "weight": fish.weight,
        "weight_unit": fish.weight_unit,
        "size_class": fish.size_class,
        "fate": fish.fate,
        "site": fish.site,
        "remarks": fish.remarks,
        "source": fish.source,
        "vials": [vial.code for vial in fish.vials],
    }


def length_of(fish: Fish) -> Measured | None:
    if fish.length is None or fish.length_unit is None or fish.length_mm is None:
        return None
    return Measured(fish.length, fish.length_unit, fish.length_mm)


def _next_number(session: Session, survey: Survey) -> int:
    return (session.scalar(select(func.max(Fish.number)).where(Fish.survey_id == survey.id)) or 0) + 1


def _says_the_same(fish: Fish, line: LogLine, number: int | None) -> bool:
    """Whether a line says nothing of a stored fish that differs from what is stored."""
    length = line.length is None or (line.length.value, line.length.unit) == (fish.length, fish.length_unit)
    weight = line.weight is None or (line.weight.value, line.weight.unit) == (fish.weight, fish.weight_unit)
    species = line.species is None or line.species == fish.species
    fate = line.fate is None or line.fate == fish.fate
    return length and weight and species and fate and number in (None, fish.number) and line.n_fish == 1


def _keep_doubts(
    session: Session, survey: Survey, fish: Fish, questions: list[tuple[str, str]], *, now: datetime, by: str
) -> None:
    for text, kind in questions:
        name = fish_name(survey.code, fish.number)
        open_finding(
            session,
            key=f"{kind}:{fish.uid}",
            kind=kind,
            text=f"Fish {name}: {text}. {by} said that it is so.",
            survey_id=survey.id,
            fish_id=fish.id,
            vial_id=fish.vials[0].id if fish.vials else None,
            now=now,
            by=by,
            data=said_of(fish),
        )
