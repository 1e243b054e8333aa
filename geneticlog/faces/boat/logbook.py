"""The logbook of one survey at a prompt: each line is one transaction, stored before it is answered."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from geneticlog.faces.app.desk import Desk
from geneticlog.rules.boat import card as steps
from geneticlog.rules.boat.doing import Doing
from geneticlog.rules.boat.logline import LogLine, read_line
from geneticlog.rules.boat.sitting import Card, Rules, Sitting
from geneticlog.work.boat.fish_doubts import FishDoubted
from geneticlog.work.boat.log_card import (
    CardStored,
    LeftOpen,
    card_rules,
    forget_open_card,
    keep_open_card,
    left_open,
    log_card,
    look_over_card,
    take_out_card,
)
from geneticlog.work.boat.log_fish import Given, Usual
from geneticlog.work.boat.tally import ClassTally, survey_tally
from geneticlog.work.events import find_survey, new_uid
from geneticlog.work.fish_columns import judge

if TYPE_CHECKING:
    from geneticlog.store.tables import Survey


@dataclass(frozen=True)
class Answer:
    """What became of one line: the fish that were stored or taken out, the class of the fish in hand, the tally."""

    done: tuple[CardStored, ...]
    card_class: str | None
    tally: tuple[ClassTally, ...]

    def class_of(self, name: str | None) -> ClassTally | None:
        return next((one for one in self.tally if one.size_class == name), None)

    @property
    def tally_words(self) -> str:
        """The live tally: the classes that are wanted or were met with."""
        shown = [one.words for one in self.tally if one.target or one.n_caught]
        return ", ".join(word.replace(", full", " full") for word in shown)


class Logbook:
    """Takes lines for one survey onto the open card; the card is kept with every line."""

    def __init__(
        self,
        desk: Desk,
        survey: str,
        *,
        order: str | None = None,
        tissue: str | None = None,
        medium: str | None = None,
        site: str | None = None,
    ) -> None:
        self.desk, self.tissue, self.medium, self.site = desk, tissue, medium, site
        with desk.reading() as session:
            opened = find_survey(session, survey)
            self.survey = opened.code
            self.lake = opened.lake.name
            self.gear = opened.gear
            self.surveyed_on = opened.surveyed_on
            self.order = order or opened.order_of_work
            rules = card_rules(opened)
            self.tally = survey_tally(session, opened)
            self.left = left_open(session, opened)
        if order is not None:
            rules = Rules.of(order, rules.length_unit, rules.weight_unit, rules.species)
        self.device = new_uid()
        self.sitting = steps.open_card(rules, self._uid())
        self.stored: dict[str, int] = {}  # cards of this run: uid -> fish that it stands for

    @property
    def rules(self) -> Rules:
        return self.sitting.rules

    @property
    def card(self) -> Card:
        return self.sitting.card

    def read(self, text: str) -> LogLine:
        """Return what a line says. Raises LogLineError."""
        return read_line(text, self.rules.length_unit, self.rules.weight_unit)

    def set_order(self, order: str) -> None:
        """Work in another order from here on. Raises Refused."""
        rules = Rules.of(order, self.rules.length_unit, self.rules.weight_unit, self.rules.species)
        self.order, self.sitting = order, replace(self.sitting, rules=rules)

    def take(self, line: LogLine, answers: Collection[str] = ()) -> Answer:
        """Take one line. Raises CardRefused, CardAsks, FishRefused or FishDoubted with nothing taken or stored."""
        return self._step(steps.offer(self.sitting, line, self._uid(), answers=answers), line)

    def close(self) -> Answer:
        """Close the open card and store its fish. Raises as ``take``."""
        return self._step(steps.close(self.sitting, self._uid()))

    def undo(self) -> Answer:
        """Take back the last line, or the last line of the last fish. Raises CardRefused or FishRefused."""
        return self._step(steps.undo(self.sitting, self._uid()))

    def redo(self) -> Answer:
        return self._step(steps.redo(self.sitting), again=True)

    def drop(self) -> Answer:
        """Empty the open card."""
        return self._step(steps.drop(self.sitting))

    def refused(self, shows: frozenset[str]) -> None:
        """Remember that a line was refused: nothing of it was taken."""
        self.sitting = steps.refuse(self.sitting, shows)

    def take_up(self, left: LeftOpen) -> None:
        """Go on with a card that was left open."""
        self.device, self.sitting = left.device, replace(left.sitting, refused=None)

    def n_standing(self) -> int:
        """Return how many fish of this run are in the log."""
        return sum(self.stored.values())

    def _uid(self) -> str:
        return f"card:{new_uid()}"

    def _step(self, after: Sitting, line: LogLine | None = None, *, again: bool = False) -> Answer:
        before = self.sitting
        done: list[CardStored] = []
        with self.desk.writing() as session:
            survey = find_survey(session, self.survey)
            stamp = self.desk.stamp()
            for card in steps.to_take_out(before, after):
                done.append(take_out_card(session, survey, card, stamp=stamp))
            to_store = steps.to_store(before, after)
            for card in to_store:
                done.append(
                    log_card(
                        session, survey, card, stamp=stamp, again=again or card in before.closed,
                        given=Given(usual=Usual(self.tissue, self.medium, self.site)),
                    )
                )  # fmt: skip
            if line is not None and not after.card.empty:
                doubted = look_over_card(session, survey, after.card)
                if doubted:
                    raise FishDoubted(
                        tuple(one.text for one in doubted), line,
                        frozenset(name for one in doubted for name in one.about),
                        frozenset(one.kind for one in doubted),
                    )  # fmt: skip
            if after.card.empty and not after.undone:
                forget_open_card(session, survey, self.device)
            else:
                keep_open_card(session, survey, after, self.device, stamp=stamp)
            answer = Answer(tuple(done), _class(survey, after.card.line), survey_tally(session, survey))
        # only here, with the transaction committed, is anything remembered or said
        for card in steps.to_take_out(before, after):
            self.stored.pop(card.uid, None)
        for card, what in zip(to_store, done[len(done) - len(to_store) :], strict=True):
            if what.logged is not None and (what.doing == Doing.STORED or card.uid in self.stored):
                self.stored[card.uid] = what.logged.n_fish
        self.sitting, self.tally = after, answer.tally
        return answer

    def end(self) -> None:
        """Let go of what is kept of this run, but for a card that is still open."""
        if self.card.empty:
            with self.desk.writing() as session:
                forget_open_card(session, find_survey(session, self.survey), self.device)


def _class(survey: Survey, line: LogLine) -> str | None:
    if line.species not in (None, survey.species):
        return None
    return judge(survey, survey.species, line.length)


def needs_swab(answer: Answer) -> str:
    """Return whether the fish in hand still needs a swab, in words; empty where no length says."""
    own = answer.class_of(answer.card_class)
    if own is None:
        return ""
    if own.target is None and any(one.target is not None for one in answer.tally):
        return f"Swab it: {own.size_class} is taken as it comes. Scan its vial."
    if own.target is None:
        return f"{own.size_class}. No target is set; scan a vial if this fish is swabbed."
    if own.target == 0:
        return f"No swab: none is wanted of {own.size_class}."
    if own.full:
        return f"No swab: {own.words}."
    return f"Swab it: {own.words}. Scan its vial."
