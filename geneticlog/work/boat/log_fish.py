"""Log a fish: one line, checked at once, stored whole or refused with the reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.plausible import doubts, say
from geneticlog.rules.lab_return.finding_kinds import FindingKind
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.lengths import Measured
from geneticlog.rules.species import SPECIES
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Fish, Survey, Vial
from geneticlog.work.boat.batch import Batch
from geneticlog.work.boat.fill_vial import LookedUp, Swab, VialRefused, fill_vial, look_up_vial, on_its_fish
from geneticlog.work.events import fish_name, new_uid, record
from geneticlog.work.finding.open_finding import About, NewFinding, open_findings
from geneticlog.work.fish_columns import length_of, measured_columns, weight_of

Sure = bool | frozenset[str]


class FishRefused(Refused):
    """A fish that cannot be stored; ``about`` names the part at fault (vial, second, length or weight), if one is."""

    def __init__(self, text: str, about: str | None = None) -> None:
        self.about = about
        super().__init__(text)


class FishDoubted(Refused):
    """A fish that is stored only when a person says so; ``questions`` are plain sentences.

    about: which of vial, length and weight of the line may be at fault
    kinds: the kinds of doubt (of findings) that were asked
    """

    def __init__(
        self, questions: tuple[str, ...], line: LogLine, about: frozenset[str], kinds: frozenset[str]
    ) -> None:
        self.questions, self.line, self.about, self.kinds = questions, line, about, kinds
        super().__init__("; ".join(questions))


@dataclass(frozen=True)
class Doubtful:
    """One thing to ask about a fish: the sentence, the kind of finding it becomes, and the parts at fault."""

    text: str
    kind: FindingKind
    about: tuple[str, ...]


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
    other_species: str | None = None  # as printed, where it is not the survey's
    fate: str | None = None

    @property
    def words(self) -> str:
        """As it is read back: "fish 12: 16.5 in, 2.3 lb, preferred, vial BG 4F7 Q2K R"."""
        parts = [say(part) for part in (self.length, self.weight) if part is not None]
        parts += [text for text in (self.other_species, self.size_class) if text]
        parts += (
            [f"vial{'s' if len(self.vials) > 1 else ''} {' and '.join(map(printed, self.vials))}"]
            if self.vials
            else []
        )
        parts += [self.fate] if self.fate else []
        several = f" x{self.n_fish}" if self.n_fish > 1 else ""
        return f"fish {self.number}{several}: {', '.join(parts) or 'not measured'}"


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
        *_measurement_doubts(species, line.length, line.weight),
        *questions,
        *species_doubts(survey, species, line.vial or line.second),
        *_size_doubts(survey, line, given.size_class),
    ]
    _ask(questions, line, sure)
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
    _fill(session, fish, list(zip(vials, roles, strict=False)), line, given.usual, stamp)
    _keep_doubts(session, survey, [(fish, one) for one in questions], given.batch, stamp)
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
        looked_up = _look_up(session, survey, code, name, batch)
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


def _size_doubts(survey: Survey, line: LogLine, size_class: str | None) -> list[Doubtful]:
    """What to ask of a fish that was not measured. Raises FishRefused for an empty line and an unknown class."""
    questions = []
    if line.vial is not None and line.length is None:
        text = "there is no length, so the fish counts in no size class"
        if size_class is not None:
            text = f"there is no length, only the class {size_class}"
        questions = [Doubtful(text, FindingKind.NO_LENGTH, ("length",))]
    elif line.length is None and size_class is None:
        raise FishRefused("enter a length or a vial; the line has neither", "length")
    if size_class is not None and size_class not in (known := survey.scheme.classes):
        raise FishRefused(f"{size_class!r} is no size class of this survey; use one of {', '.join(known)}")
    return questions


def _fill(
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
    _ask(questions, line, sure)
    if new:
        for name, value in new.items():
            setattr(fish, name, value)
        session.flush()
        record(
            session, "completed", "fish", fish_name(survey.code, number), stamp=stamp,
            old=before, new=said_of(fish),
        )  # fmt: skip
    _fill(session, fish, vials, line, given.usual, stamp)
    _keep_doubts(session, survey, [(fish, one) for one in questions], given.batch, stamp)
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
        doubts_of_both = _measurement_doubts(fish.species, length, weight)
        return [replace(one, about=("weight",)) for one in doubts_of_both]
    if (fish.weight, fish.weight_unit) != (weight.value, weight.unit):
        raise FishRefused(
            f"fish {fish.number} has a weight of {fish.weight:.10g} {fish.weight_unit} already; "
            "correct it with: geneticlog correct fish",
            "weight",
        )
    return []


def look_over(session: Session, survey: Survey, line: LogLine) -> list[Doubtful]:
    """Return what has to be asked of a fish that is being entered, before it is stored; vials are looked up.

    Raises FishRefused for an impossible length and for a vial that cannot be used, or is on a fish.
    """
    species = line.species or survey.species
    questions = _measurement_doubts(species, line.length, line.weight)
    questions += species_doubts(survey, species, line.vial or line.second)
    for name in ("vial", "second"):
        if (code := getattr(line, name)) is not None:
            looked_up = _look_up(session, survey, code, name)
            if looked_up.fish is not None:
                where = on_its_fish(looked_up.fish)
                raise FishRefused(
                    f"vial {printed(looked_up.vial.code)} is already {where}; take another vial", name
                )
            questions += [
                Doubtful(text, FindingKind.VIAL_OF_ANOTHER_SURVEY, (name,)) for text in looked_up.questions
            ]
    return questions


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
        looked_up = _look_up(session, survey, code, name, batch)
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


def _look_up(session: Session, survey: Survey, code: str, name: str, batch: Batch | None = None) -> LookedUp:
    try:
        return look_up_vial(session, survey, code, batch)
    except VialRefused as fault:
        raise FishRefused(str(fault), name) from None


def _measurement_doubts(species: str, length: Measured | None, weight: Measured | None) -> list[Doubtful]:
    doubted = doubts(species, length, weight)
    if impossible := [doubt.text for doubt in doubted if doubt.impossible]:
        raise FishRefused("; ".join(impossible), "length")
    return [Doubtful(doubt.text, FindingKind.DOUBTFUL_MEASUREMENT, doubt.about) for doubt in doubted]


def species_doubts(survey: Survey, species: str, vial: str | None) -> list[Doubtful]:
    """Return what to ask of a vial for a fish of another species than the survey's: the panel is not made for it."""
    if vial is None or species == survey.species:
        return []
    text = (
        f"a vial for a {species_in_words(species)} on a survey of {species_in_words(survey.species)}: it is not packed"
        " with the survey, and counts in none of its numbers"
    )
    return [Doubtful(text, FindingKind.OTHER_SPECIES_SWABBED, ("vial",))]


def species_in_words(species: str) -> str:
    return SPECIES[species].printed if species in SPECIES else species.replace("_", " ")


def _ask(questions: list[Doubtful], line: LogLine, sure: Sure) -> None:
    """Raise FishDoubted for what nobody has said is so."""
    if sure is True:
        return
    said = sure or frozenset()
    if left := [one for one in questions if one.kind not in said]:
        raise FishDoubted(
            tuple(one.text for one in left),
            line,
            frozenset(name for one in left for name in one.about),
            frozenset(one.kind for one in left),
        )


def as_logged(survey: Survey, fish: Fish) -> Logged:
    """Return a fish as it is stored."""
    return Logged(
        number=fish.number,
        n_fish=fish.n_fish,
        length=length_of(fish),
        weight=weight_of(fish),
        size_class=fish.size_class,
        relative_weight=fish.relative_weight,
        vials=tuple(vial.code for vial in fish.vials),
        counts=fish.species == survey.species,
        other_species=None if fish.species == survey.species else species_in_words(fish.species),
        fate=fish.fate,
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


def _keep_doubts(
    session: Session,
    survey: Survey,
    doubtful: list[tuple[Fish, Doubtful]],
    batch: Batch | None,
    stamp: Stamp,
) -> None:
    if batch is None:
        keep_doubts(session, survey, doubtful, stamp=stamp)
    else:
        batch.doubtful += doubtful


def keep_doubts(
    session: Session, survey: Survey, doubtful: Sequence[tuple[Fish, Doubtful]], *, stamp: Stamp
) -> None:
    """Open a finding for each thing that was asked of a fish and that a person said is so."""
    if not doubtful:
        return
    session.flush()  # a finding is about numbers that the database gives
    open_findings(
        session,
        [
            NewFinding(
                key=f"{doubt.kind}:{fish.uid}",
                kind=doubt.kind,
                text=f"Fish {fish_name(survey.code, fish.number)}: {doubt.text}. {stamp.by} said that it is so.",
                about=About(survey.id, fish.id, fish.vials[0].id if fish.vials else None),
                data=said_of(fish),
            )
            for fish, doubt in doubtful
        ],
        stamp=stamp,
    )
