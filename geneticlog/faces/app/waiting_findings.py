"""What waits for a decision about a survey, in one line, with the command that decides it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from geneticlog.rules.sentences import n_of

if TYPE_CHECKING:
    from geneticlog.work.finding.waiting import Waiting

SHOWN = 120  # characters of a finding's sentence


def say_waiting(waiting: Sequence[Waiting]) -> None:
    """Say which findings are open; nothing where none is."""
    from geneticlog.faces.app.desk import say_wrapped

    if not waiting:
        return
    first = waiting[0]
    text = first.text if len(first.text) <= SHOWN else f"{first.text[: SHOWN - 1].rsplit(' ', 1)[0]} …"
    n = len(waiting)
    say_wrapped(
        f"{n_of(n, 'finding')} open: {first.finding}: {text} "
        f"Decide with: geneticlog finding decide {first.finding} ACTION --why TEXT"
        + (" (all: geneticlog finding list --open)" if n > 1 else ""),
        "  ",
    )
