"""How far a long run is, on stderr where that is a screen: shown after a second, and never a bar that stays full."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Timer

from geneticlog.faces.app.desk import Desk

SHOWN_AFTER = 1.0  # seconds; what is done by then needs no bar

# what is being done, how much of it is done, and how much there is; a total of 0 or less: not known
Watch = Callable[[str, int, int], None]


def unwatched(_what: str, _done: int, _total: int) -> None:
    """Show nothing."""


def step(watch: Watch, at: int, of: int) -> Watch:
    """Return a watch for one step of a run; it says in front of what is being done which step of how many that is."""
    return lambda what, done, total: watch(f"Step {at} of {of}: {what[:1].lower()}{what[1:]}", done, total)


class Bar:
    """What is shown of a run: its present step with a count, or with a moving bar where its end is not known."""

    def __init__(self, what: str) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        self._bar = Progress(
            TextColumn("{task.description}"),
            BarColumn(),
            TextColumn("{task.fields[count]}"),
            TimeElapsedColumn(),
            console=Console(stderr=True),
            transient=True,
        )
        self._task = self._bar.add_task(what, total=None, count="")
        self._timer = Timer(SHOWN_AFTER, self._bar.start)
        self._timer.daemon = True
        self._timer.start()

    def __call__(self, what: str, done: int, total: int) -> None:
        """Show a step; once all of it is done the bar moves on without an end, for what comes after is not counted."""
        known = 0 <= done < total
        count = f"{done:,} of {total:,}" if total > 0 else ""
        self._bar.tasks[0].total = total if known else None  # an update cannot take a total back
        self._bar.update(self._task, description=what, count=count, completed=done if known else 0)

    def end(self) -> None:
        self._timer.cancel()
        self._timer.join()
        self._bar.stop()


@contextmanager
def progress(desk: Desk, what: str) -> Iterator[Watch]:
    """Show how far a run is, from its first second on; nothing on a pipe, in a file or with --json."""
    if desk.as_json or not sys.stderr.isatty():
        yield unwatched
        return
    bar = Bar(what)
    try:
        yield bar
    finally:
        bar.end()
