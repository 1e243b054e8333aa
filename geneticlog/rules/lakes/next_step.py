"""The next step for a lake, in a few words: what an office would do first."""

from __future__ import annotations

from geneticlog.rules.lakes.state import State
from geneticlog.rules.sentences import n_of

NOTHING_DUE = "nothing due"
BY_STATE = {
    State.NEVER_SWABBED: "swab for the first time",
    State.NOT_SENT: "send the samples",
    State.AT_THE_LAB: "wait for the lab",
    State.ALL_FAILED: "swab again",
    State.TOO_FEW: "swab more fish",
}


def next_step(
    state: State, *, n_open: int, n_held: int = 0, n_unpacked: int = 0, old: bool = False, fell: bool = False
) -> str:
    """Return the first thing to do for a lake.

    state
        how far its latest samples have come.
    n_open, n_held
        findings that wait for a decision, and fish whose value is held until one is made.
    n_unpacked
        swabbed fish that were left in store when others were packed.
    old
        the last survey is older than the office wants.
    fell
        the share fell since the survey before.
    """
    if n_open:
        return f"decide {n_of(n_open, 'finding')}"
    if n_unpacked and state is not State.NOT_SENT:
        return f"send the {n_unpacked} swabbed fish not packed"
    if state is State.PARTLY:
        return "decide what is held" if n_held else "wait for the rest from the lab"
    if state in BY_STATE:
        return BY_STATE[state]
    if old:
        return "survey again"
    return "survey again to confirm the fall" if fell else NOTHING_DUE
