"""The seven words for how far the samples of a survey have come."""

from __future__ import annotations

from datetime import date

import pytest

from geneticlog.rules.lakes.next_step import NOTHING_DUE, next_step
from geneticlog.rules.lakes.state import Progress, State

SENT = date(2026, 5, 14)


@pytest.mark.parametrize(
    ("progress", "state", "words"),
    [
        (Progress(), State.NEVER_SWABBED, "never swabbed"),
        (Progress(n_swabbed=8, n_in_store=8), State.NOT_SENT, "swabbed, not sent (8 fish)"),
        (
            Progress(n_swabbed=8, n_in_store=2, n_sent=6, n_waiting=6, waiting_since=SENT),
            State.AT_THE_LAB,
            "at the lab since 2026-05-14 (6 fish)",
        ),
        (
            Progress(n_swabbed=8, n_sent=8, n_returned=7, n_waiting=3, n_held=2, n_resulted=5),
            State.PARTLY,
            "partly returned or held (5 of 8 fish have a result, 2 held, 1 at the lab)",
        ),
        (
            Progress(n_swabbed=8, n_sent=8, n_returned=8, n_waiting=8, n_held=8),
            State.PARTLY,
            "partly returned or held (0 of 8 fish have a result, 8 held)",
        ),
        (
            Progress(n_swabbed=8, n_in_store=1, n_sent=7, n_returned=7),
            State.ALL_FAILED,
            "all samples failed (8 fish swabbed, 1 not sent)",
        ),
        # all vials broke on the boat: nothing in store, nothing sent
        (Progress(n_swabbed=2), State.ALL_FAILED, "all samples failed (2 fish swabbed)"),
        (
            Progress(n_swabbed=8, n_sent=8, n_returned=8, n_resulted=4),
            State.TOO_FEW,
            "too few to read (4 of 8 fish have a result)",
        ),
        (Progress(n_swabbed=8, n_sent=8, n_returned=8, n_resulted=5), State.KNOWN, "known"),
        # vials left in store on purpose hold nothing up
        (Progress(n_swabbed=9, n_in_store=4, n_sent=5, n_returned=5, n_resulted=5), State.KNOWN, "known"),
    ],
)
def test_the_state_of_a_survey(progress: Progress, state: State, words: str) -> None:
    assert progress.state is state
    assert progress.words == words


@pytest.mark.parametrize(
    ("state", "more", "words"),
    [
        (State.KNOWN, {}, NOTHING_DUE),
        (State.KNOWN, {"n_open": 1}, "decide 1 finding"),
        (State.KNOWN, {"n_open": 2, "n_unpacked": 3}, "decide 2 findings"),
        (State.KNOWN, {"n_unpacked": 3, "old": True}, "send the 3 swabbed fish not packed"),
        (State.PARTLY, {"n_held": 1}, "decide what is held"),
        (State.PARTLY, {"n_held": 0, "old": True}, "wait for the rest from the lab"),
        (State.KNOWN, {"old": True, "fell": True}, "survey again"),
        (State.KNOWN, {"fell": True}, "survey again to confirm the fall"),
    ],
)
def test_the_first_thing_to_do(state: State, more: dict[str, int], words: str) -> None:
    assert next_step(state, **{"n_open": 0, **more}) == words  # type: ignore[arg-type]


def test_swabs_that_were_not_sent_are_the_state_itself() -> None:
    words = next_step(State.NOT_SENT, n_open=0, n_unpacked=3)
    assert words == next_step(State.NOT_SENT, n_open=0)
    assert "not packed" not in words


@pytest.mark.parametrize(
    ("progress", "said"),
    [
        (Progress(n_swabbed=8, n_sent=8, n_returned=8, n_resulted=8), "known"),
        (
            Progress(n_swabbed=8, n_sent=8, n_returned=8, n_resulted=8, n_other_pair=2),
            "known; 2 fish typed for another pair of taxa",
        ),
        (Progress(n_swabbed=3, n_sent=3, n_returned=3, n_other_pair=3), "too few to read"),
    ],
)
def test_what_is_left_out_is_said(progress: Progress, said: str) -> None:
    assert progress.said.startswith(said)
    assert ("another pair" in progress.said) == bool(progress.n_other_pair)


@pytest.mark.parametrize(
    ("unpacked", "in_store", "sent", "none"),
    [(3, 3, 0, True), (2, 3, 0, False), (3, 3, 1, False), (0, 0, 0, False)],
)
def test_whether_none_is_packed(unpacked: int, in_store: int, sent: int, none: bool) -> None:
    progress = Progress(n_swabbed=4, n_unpacked=unpacked, n_in_store=in_store, n_sent=sent)
    assert progress.none_packed is none
