"""A pytest plugin (`-p reach`): which test reaches which line of rules/ and work/, and runs of chosen tests alone.

    REACH_WRITE=reach.pickle pytest -p reach …    keeps {"seconds": {test: s}, "lines": {file: {line: tests}}}
    REACH_RUN=chosen.txt REACH_KNOWN=known.txt pytest -p reach …
        runs the tests named there alone, in that order, each with its seconds; then those that are not known yet

Lines that run when a module is loaded are no test's: they were loaded before the first of them.
"""

from __future__ import annotations

import os
import pickle
import signal
from collections import defaultdict
from collections.abc import Generator
from pathlib import Path
from typing import Any

import pytest

import geneticlog

PACKAGE = Path(geneticlog.__file__).parent
WRITE, RUN = os.environ.get("REACH_WRITE"), os.environ.get("REACH_RUN")
SECONDS: dict[str, float] = defaultdict(float)
ALLOWED: dict[str, float] = {}  # test -> seconds that it may take before it counts as hung
_measured: Any = None


def pytest_sessionstart() -> None:
    global _measured
    if WRITE:
        from coverage import Coverage

        _measured = Coverage(data_file=None, source=[str(PACKAGE / "rules"), str(PACKAGE / "work")])
        _measured.start()


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if not RUN:
        return
    for line in Path(RUN).read_text(encoding="utf-8").splitlines():
        seconds, test = line.split("\t", 1)
        ALLOWED[test] = float(seconds)
    order = {test: at for at, test in enumerate(ALLOWED)}
    known = set(Path(os.environ["REACH_KNOWN"]).read_text(encoding="utf-8").splitlines()) - order.keys()
    config.hook.pytest_deselected(items=[item for item in items if item.nodeid in known])
    items[:] = sorted(
        (item for item in items if item.nodeid not in known),
        key=lambda item: order.get(item.nodeid, len(order)),
    )


def _hung(*_: object) -> None:
    raise TimeoutError("the test takes many times as long as it did")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    if _measured is not None:
        _measured.switch_context(item.nodeid)
    if item.nodeid in ALLOWED:
        signal.signal(signal.SIGALRM, _hung)
        signal.setitimer(signal.ITIMER_REAL, ALLOWED[item.nodeid])
    try:
        return (yield)
    finally:
        if item.nodeid in ALLOWED:
            signal.setitimer(signal.ITIMER_REAL, 0)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    SECONDS[report.nodeid] += report.duration


def pytest_sessionfinish() -> None:
    if not WRITE or _measured is None:
        return
    _measured.stop()
    data = _measured.get_data()
    lines = {
        str(Path(file).relative_to(PACKAGE.parent)): {
            line: frozenset(filter(None, tests)) for line, tests in data.contexts_by_lineno(file).items()
        }
        for file in data.measured_files()
    }
    Path(WRITE).write_bytes(pickle.dumps({"seconds": dict(SECONDS), "lines": lines}))
