"""The survey that a pipe is logged into, and what came of its lines."""

from __future__ import annotations

import hashlib
import shlex
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from geneticlog.faces.app.desk import Desk
from geneticlog.faces.boat.mend_file import Unstored
from geneticlog.rules.boat.logline import LogLine, read_line
from geneticlog.rules.boat.sitting import Card, Rules
from geneticlog.work.boat.complete_fish import complete_fish
from geneticlog.work.boat.log_card import CardStored, card_rules, log_card, take_out_card
from geneticlog.work.boat.log_fish import Given, Usual
from geneticlog.work.boat.logged import Logged
from geneticlog.work.boat.tally import ClassTally, survey_tally
from geneticlog.work.boat.undo import undone_sources
from geneticlog.work.events import find_survey

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.store.tables import Survey


@dataclass(frozen=True)
class Row:
    """A line of the pipe: its number, its text as written, and its identity."""

    number: int
    text: str
    key: str


@dataclass
class PipeReport:
    """What became of the lines of one pipe."""

    survey: str
    n_stored: int = 0
    n_already: int = 0
    n_undone: int = 0
    unstored: list[Unstored] = field(default_factory=list)
    mend_file: Path | None = None


class PipeBook:
    """The survey that a pipe is logged into; each card is one transaction."""

    def __init__(
        self,
        desk: Desk,
        survey: str,
        log_name: str,
        *,
        order: str | None = None,
        tissue: str | None = None,
        medium: str | None = None,
        site: str | None = None,
    ) -> None:
        self.desk, self.tissue, self.medium, self.site = desk, tissue, medium, site
        self.log_name = log_name if site is None else f"{log_name}@{_short(site)}"
        with desk.reading() as session:
            opened = find_survey(session, survey)
            self.survey = opened.code
            self.undone = undone_sources(session, opened)
            self.tally = survey_tally(session, opened)
            rules = card_rules(opened)
        if order is not None:
            rules = Rules.of(order, rules.length_unit, rules.weight_unit, rules.species)
        self.rules = rules
        self.answered: set[int] = set()  # lines that were answered: what they say is stored
        self.standing: dict[int, int] = {}  # fish of these lines that stand: number -> n_fish

    def replay(self, file: str, log: str | None = None) -> str:
        """Return the command that replays a file as this pipe was read: with its site, tissue and medium."""
        options = {"--log": log, "--site": self.site, "--tissue": self.tissue, "--medium": self.medium}
        given = [word for option, value in options.items() if value for word in (option, value)]
        return f"{shlex.join(['geneticlog', 'fish', 'log', self.survey, *given])} < {file}"

    def read(self, text: str) -> LogLine:
        return read_line(text, self.rules.length_unit, self.rules.weight_unit)

    def store(self, card: Card, *, sure: bool, again: bool = False) -> CardStored:
        with self.desk.writing() as session:
            survey = find_survey(session, self.survey)
            did = log_card(
                session, survey, card, stamp=self.desk.stamp(), sure=sure, again=again,
                given=Given(usual=Usual(self.tissue, self.medium, self.site)),
            )  # fmt: skip
            tally = self._tally_of(session, survey, did.logged)
        self._keep(tally)
        if did.logged is not None:
            self.standing[did.logged.number] = did.logged.n_fish
        return did

    def take_out(self, card: Card) -> CardStored:
        with self.desk.writing() as session:
            survey = find_survey(session, self.survey)
            did = take_out_card(session, survey, card, stamp=self.desk.stamp())
            tally = self._tally_of(session, survey, did.logged)
        self._keep(tally)
        if did.logged is not None:
            self.standing.pop(did.logged.number, None)
        return did

    def _tally_of(self, session: Session, survey: Survey, logged: Logged | None) -> tuple[ClassTally, ...]:
        """Return the tally of a fish's size class: a pipe of many fish does not count all of them with each."""
        if logged is None or logged.size_class is None:
            return ()
        return survey_tally(session, survey, only=logged.size_class)

    def _keep(self, tally: tuple[ClassTally, ...]) -> None:
        new = {one.size_class: one for one in tally}
        self.tally = tuple(new.get(before.size_class, before) for before in self.tally)

    def count(self) -> None:
        """Count every size class again, with what others stored meanwhile."""
        with self.desk.reading() as session:
            self.tally = survey_tally(session, find_survey(session, self.survey))

    def complete(self, fish: int, line: LogLine, *, sure: bool) -> Logged:
        """Add to a fish by its number: what a mend file of an older program asks for."""
        with self.desk.writing() as session:
            survey = find_survey(session, self.survey)
            line = replace(line, second=line.second or None)
            return complete_fish(
                session, survey, fish, line, stamp=self.desk.stamp(), sure=sure,
                given=Given(usual=Usual(self.tissue, self.medium)),
            )  # fmt: skip

    def n_standing(self) -> int:
        return sum(self.standing.values())


def _short(site: str) -> str:
    """Return a short name for a site, without spaces: the same for the same words."""
    return hashlib.sha256(" ".join(site.casefold().split()).encode()).hexdigest()[:8]
