"""How far the samples of a survey have come, in one of seven words: the same in every report, list and page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from geneticlog.rules.statistics.estimates import LEAST_TO_READ


class State(StrEnum):
    """How far the samples of a survey have come; the text is how it is said to a person."""

    NEVER_SWABBED = "never swabbed"
    NOT_SENT = "swabbed, not sent"
    AT_THE_LAB = "at the lab"
    PARTLY = "partly returned or held"
    ALL_FAILED = "all samples failed"
    TOO_FEW = "too few to read"
    KNOWN = "known"


@dataclass(frozen=True)
class Progress:
    """How far the swabbed fish of one survey have come. All counts are fish of the survey's species.

    n_swabbed
        with a vial, also one that was lost since.
    n_in_hand
        of these, with a vial that holds a sample and is not lost.
    n_in_store
        with a vial in store or packed and none sent yet.
    n_sent
        with a vial that has left for a lab; a fish with a result that counts has.
    n_returned
        of which a lab's file says something that was not replaced since: a value or a failure.
    n_waiting
        without a result in the numbers that may still get one: at the lab, or held until somebody decides.
    n_held
        of these, with a value that is held.
    n_resulted
        with the one result that is in the numbers.
    n_other_pair
        with a result that counts, typed for another pair of taxa than the lake's numbers are about.
    n_unpacked
        of those in store, without any vial in a shipment, be it packed only.
    n_gone
        whose vial came to the lab missing or broken, of a shipment that is not closed, and that wait for nothing else.
    waiting_since
        the day on which the first of the vials still at the lab was sent; None where none is.
    """

    n_swabbed: int = 0
    n_in_hand: int = 0
    n_in_store: int = 0
    n_sent: int = 0
    n_returned: int = 0
    n_waiting: int = 0
    n_held: int = 0
    n_resulted: int = 0
    n_other_pair: int = 0
    n_unpacked: int = 0
    n_gone: int = 0
    waiting_since: date | None = None

    @property
    def state(self) -> State:
        return state_of(self)

    @property
    def words(self) -> str:
        return state_in_words(self)

    @property
    def none_packed(self) -> bool:
        """Whether every swab is in store still: then the state says it all."""
        return 0 < self.n_unpacked == self.n_in_store and not self.n_sent

    @property
    def left_behind(self) -> tuple[str, ...]:
        return left_behind_in_words(self)

    @property
    def said(self) -> str:
        """The state, what was left behind and what is left out: "known; 3 swabbed fish not packed"."""
        left_out = [f"{self.n_other_pair} fish typed for another pair of taxa"] if self.n_other_pair else []
        return "; ".join((self.words, *self.left_behind, *left_out))


def state_of(progress: Progress) -> State:
    """Return the word for how far the samples have come.

    A survey is known once enough fish have a result that counts and none waits for one. While some wait it is at
    the lab (nothing came back yet) or partly returned or held. When none waits and none has a result, all failed
    (or were lost); with fewer than five it is too few to read. Vials left in store on purpose hold nothing up.
    """
    if progress.n_waiting:
        return State.PARTLY if progress.n_returned else State.AT_THE_LAB
    if progress.n_resulted or progress.n_other_pair:
        return State.KNOWN if progress.n_resulted >= LEAST_TO_READ else State.TOO_FEW
    if progress.n_sent == 0 and progress.n_in_store:
        return State.NOT_SENT
    return State.ALL_FAILED if progress.n_swabbed else State.NEVER_SWABBED


def left_behind_in_words(progress: Progress) -> tuple[str, ...]:
    """Return the fish that the state of a survey passes over: not packed with the others, or gone on the way."""
    behind = []
    if progress.n_unpacked and not progress.none_packed:
        behind.append(f"{progress.n_unpacked} swabbed fish not packed")
    if progress.n_gone:
        behind.append(f"{progress.n_gone} fish whose vial arrived missing or broken")
    return tuple(behind)


def state_in_words(progress: Progress) -> str:
    """Return the state with its date or its counts of fish: "at the lab since 2026-05-14 (40 fish)"."""
    state = state_of(progress)
    n = progress.n_swabbed
    if state is State.AT_THE_LAB:
        since = f" since {progress.waiting_since.isoformat()}" if progress.waiting_since else ""
        return f"{state}{since} ({progress.n_waiting} fish)"
    if state is State.PARTLY:
        out = progress.n_waiting - progress.n_held
        parts = [f"{progress.n_held} held"] * bool(progress.n_held) + [f"{out} at the lab"] * bool(out)
        return f"{state} ({progress.n_resulted} of {n} fish have a result, {', '.join(parts)})"
    if state is State.NOT_SENT:
        return f"{state} ({progress.n_in_store} fish)"
    if state is State.ALL_FAILED:
        left = f", {progress.n_in_store} not sent" if progress.n_in_store else ""
        return f"{state} ({n} fish swabbed{left})"
    if state is State.TOO_FEW:
        return f"{state} ({progress.n_resulted} of {n} fish have a result)"
    return str(state)
