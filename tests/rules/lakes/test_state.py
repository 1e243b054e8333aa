"""The seven words for how far the samples of a survey have come."""

from __future__ import annotations

from datetime import date

import pytest

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
