"""The logbook of one survey: each line is one transaction, stored before it is answered."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from geneticlog.faces.app.desk import Desk
from geneticlog.rules.boat.logline import LogLine, read_line
from geneticlog.work.boat.log_fish import (
    FishRefused,
    Logged,
    complete_fish,
    log_fish,
    stored_from,
)
from geneticlog.work.boat.tally import ClassTally, survey_tally
from geneticlog.work.boat.undo import undo_completion, undo_fish, undone_sources
from geneticlog.work.events import find_survey

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.store.tables import Survey


@dataclass(frozen=True)
class Done:
    """One thing that was stored, so that it can be undone: a fish, or what was added to it later."""

    number: int | None  # None: a fish of a replay that had been undone before
    whole_fish: bool
    vial: str | None = None
    weight: bool = False
    n_fish: int = 0  # fish that the line stands for
    already: bool = False  # it was stored before this run


@dataclass(frozen=True)
class Answer:
    """What became of one line. ``doing``: stored, completed, already, undone or still undone."""

    doing: str
    logged: Logged | None
    tally: tuple[ClassTally, ...]

    @property
    def own_class(self) -> ClassTally | None:
        """The tally of the fish's size class, where it counts."""
        if self.logged is None or not self.logged.counts:
            return None
        return next((one for one in self.tally if one.size_class == self.logged.size_class), None)

    @property
    def tally_words(self) -> str:
        """The live tally: the classes that are wanted or were met with."""
        shown = [one.words for one in self.tally if one.target or one.n_caught]
        return ", ".join(word.replace(", full", " full") for word in shown)


class Logbook:
    """Takes lines for one survey. ``last`` is the fish that a line without a length belongs to."""

    def __init__(
        self,
        desk: Desk,
        survey: str,
        *,
        tissue: str | None = None,
        medium: str | None = None,
        site: str | None = None,
    ) -> None:
        self.desk, self.tissue, self.medium, self.site = desk, tissue, medium, site
        with desk.reading() as session:
            found = find_survey(session, survey)
            self.survey = found.code
            self.lake = found.lake.name
            self.gear = found.gear
            self.surveyed_on = found.surveyed_on
            self.length_unit, self.weight_unit = found.length_unit, found.weight_unit
            self.species = found.species
            self.undone = undone_sources(session, found)
            self.tally = survey_tally(session, found)
        self.last: int | None = None
        self.stands: int | None = (
            None  # after an undo: the fish that stands before it, for a second vial only
        )
        self.done: list[Done] = []

    def read(self, text: str) -> LogLine:
        """Return what a line says. Raises LogLineError."""
        return read_line(text, self.length_unit, self.weight_unit, self.species)

    def completes(self, line: LogLine) -> bool:
        """Whether a line has no length and so belongs to the fish before it."""
        return line.length is None and (line.vial is not None or line.weight is not None)

    def take(self, line: LogLine, *, sure: bool = False, source: str | None = None) -> Answer:
        """Store one line. Raises FishRefused or FishDoubted with nothing stored."""
        if source in self.undone:
            self.forget()
            self.done.append(Done(None, whole_fish=True))
            return Answer("still undone", None, self.tally)
        with self.desk.writing() as session:
            survey = find_survey(session, self.survey)
            if source is not None and (there := stored_from(session, survey, source)):
                answer, done = (
                    Answer("already", there, self.tally),
                    Done(there.number, whole_fish=True, n_fish=there.n_fish, already=True),
                )
            elif self.completes(line) and (self.last is not None or line.vial is None or line.second):
                answer, done = self._complete(session, survey, line, sure)
            else:
                logged = log_fish(
                    session, survey, line, now=self.desk.now(), by=self.desk.by, sure=sure,
                    source=source, tissue=self.tissue, medium=self.medium, site=self.site,
                )  # fmt: skip
                doing = "already" if logged.already else "stored"
                answer = Answer(doing, logged, survey_tally(session, survey))
                done = Done(logged.number, whole_fish=True, n_fish=logged.n_fish, already=logged.already)
        # only here, with the transaction committed, is anything remembered or said
        self.tally = answer.tally
        self.forget()
        self.last = answer.logged.number if answer.logged and answer.logged.n_fish == 1 else None
        self.done.append(done)
        return answer

    def n_standing(self, *, with_earlier: bool) -> int:
        """Return how many fish of the lines of this run stand now, what was undone taken off.

        with_earlier: count the fish too that an earlier run had stored from the same lines
        """
        fish = {
            done.number: done.n_fish
            for done in self.done
            if done.whole_fish and done.number is not None and (with_earlier or not done.already)
        }
        return sum(fish.values())

    def forget(self) -> None:
        """Let nothing that comes next belong to a fish before it: the fish between was not stored."""
        self.last = self.stands = None

    def _undone(self) -> None:
        """A vial alone may be meant for the fish just undone, so only "second" reaches the one before it."""
        self.done.pop()
        self.last = None
        self.stands = self.done[-1].number if self.done else None

    def _complete(self, session: Session, survey: Survey, line: LogLine, sure: bool) -> tuple[Answer, Done]:
        number = self.stands if self.last is None and line.second else self.last
        if number is None:
            what = "a second vial" if line.second else "a weight alone"
            raise FishRefused(
                f"{what} belongs to the one fish stored just before it in this run, and there is none; "
                "log the fish first",
                LogLine() if line.second else line,  # kept, it would become the first vial of the next fish
            )
        logged = complete_fish(
            session, survey, number, line, now=self.desk.now(), by=self.desk.by, sure=sure,
            tissue=self.tissue, medium=self.medium,
        )  # fmt: skip
        doing = "already" if logged.already else "completed"
        vial = logged.vials[-1] if line.vial is not None and logged.vials else None
        done = Done(number, whole_fish=False, vial=vial, weight=line.weight is not None)
        return Answer(doing, logged, survey_tally(session, survey)), done

    def undo(self) -> Answer:
        """Undo the last thing done in this run, or else the last fish of the survey. Raises FishRefused."""
        if self.done and self.done[-1].number is None:
            self._undone()
            return Answer("still undone", None, self.tally)
        with self.desk.writing() as session:
            survey = find_survey(session, self.survey)
            now, by = self.desk.now(), self.desk.by
            if not self.done:
                raise FishRefused(
                    "nothing was logged in this run that could be undone; "
                    f"take an earlier fish out with: geneticlog correct fish {self.survey} NUMBER --remove --why TEXT",
                    LogLine(),
                )
            done = self.done[-1]
            assert done.number is not None
            if done.whole_fish:
                logged = undo_fish(session, survey, done.number, now=now, by=by)
            else:
                logged = undo_completion(
                    session, survey, done.number, vial=done.vial, weight=done.weight, now=now, by=by
                )
            answer = Answer(
                "undone" if done.whole_fish else "taken back", logged, survey_tally(session, survey)
            )
        self._undone()
        self.tally = answer.tally
        if not done.whole_fish:
            self.last = done.number
        return answer


def needs_swab(answer: Answer) -> str:
    """Return whether the fish that was just measured still needs a swab, in words; empty where no plan says."""
    own = answer.own_class
    if own is None or answer.logged is None or answer.logged.vials or answer.logged.n_fish > 1:
        return ""
    if own.target is None:
        return f"No target is set for {own.size_class}; scan a vial if this fish is swabbed."
    if own.target == 0:
        return f"No swab: none is wanted of {own.size_class}."
    if own.full:
        return f"No swab: {own.words}."
    return f"Swab it: {own.words}. Scan its vial."


def kept_words(kept: LogLine) -> str:
    """Return what of a refused line is kept, in words; empty where nothing is."""
    from geneticlog.rules.boat.plausible import say

    parts = [f"vial {kept.vial}"] if kept.vial else []
    parts += [say(part) for part in (kept.length, kept.weight) if part is not None]
    parts += [kept.tissue.replace("_", " ")] if kept.tissue else []
    parts += [kept.fate] if kept.fate else []
    parts += [f"x{kept.n_fish}"] if kept.n_fish > 1 else []
    return ", ".join(parts)


def merged(kept: LogLine, new: LogLine) -> LogLine | None:
    """Return the kept parts of a refused line with the new ones beside them; None where both say the same part."""
    fields = ("vial", "length", "weight", "tissue", "fate", "species", "remarks")
    if any(getattr(kept, name) is not None and getattr(new, name) is not None for name in fields[:3]):
        return None
    given = {name: getattr(new, name) for name in fields if getattr(new, name) is not None}
    if new.n_fish > 1:
        given["n_fish"] = new.n_fish
    return replace(kept, **given, second=kept.second or new.second)
