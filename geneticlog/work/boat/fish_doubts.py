"""What of a fish cannot be stored, and what is stored only when a person says that it is so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.plausible import doubts
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lengths import Measured
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Fish, Survey
from geneticlog.work.boat.batch import Batch
from geneticlog.work.boat.logged import said_of, species_in_words
from geneticlog.work.events import fish_name
from geneticlog.work.finding.open_finding import About, NewFinding, open_findings
from geneticlog.work.result.in_the_numbers import is_of_its_species

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


def size_doubts(survey: Survey, line: LogLine, size_class: str | None) -> list[Doubtful]:
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
        raise FishRefused(f"{size_class!r} is not a size class of this survey; use one of {', '.join(known)}")
    return questions


def measurement_doubts(species: str, length: Measured | None, weight: Measured | None) -> list[Doubtful]:
    doubted = doubts(species, length, weight)
    if impossible := [doubt.text for doubt in doubted if doubt.impossible]:
        raise FishRefused("; ".join(impossible), "length")
    return [Doubtful(doubt.text, FindingKind.DOUBTFUL_MEASUREMENT, doubt.about) for doubt in doubted]


def species_doubts(survey: Survey, species: str, vial: str | None) -> list[Doubtful]:
    """Return what to ask of a vial for a fish of another species than the survey's: the panel is not made for it."""
    if vial is None or is_of_its_species(species, survey):
        return []
    text = (
        f"a vial for a {species_in_words(species)} on a survey of {species_in_words(survey.species)}: it is not packed"
        " with the survey, and counts in none of its numbers"
    )
    return [Doubtful(text, FindingKind.OTHER_SPECIES_SWABBED, ("vial",))]


def ask(questions: list[Doubtful], line: LogLine, sure: Sure) -> None:
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


def keep_or_gather_doubts(
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
