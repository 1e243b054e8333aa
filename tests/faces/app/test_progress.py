"""How far a long run is: on a screen after a second, never a bar that stays full, nothing on a pipe."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from conftest import NOW, Runner
from lakes_support import add_lake, add_survey, add_typed
from sqlalchemy.orm import Session

from geneticlog.faces.app import progress as module
from geneticlog.faces.app.desk import Desk
from geneticlog.faces.app.options import PAPERS
from geneticlog.faces.app.progress import Bar, progress, step, unwatched
from geneticlog.faces.report.files import lake_contents
from geneticlog.rules.stamp import Stamp
from geneticlog.work.portfolio.gather import gather_portfolio
from geneticlog.work.report.gather import Wanted, gather_lake


def test_a_bar_whose_count_is_done_moves_on_without_an_end(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr(module, "SHOWN_AFTER", 0.0)
    desk = Desk()
    with progress(desk, "Starting") as watch:
        assert isinstance(watch, Bar)
        (task,) = watch._bar.tasks
        assert task.total is None
        for done, total, known in ((1, 4, True), (3, 4, True), (4, 4, False), (0, 0, False)):
            watch("Copying", done, total)
            assert (task.total is not None) == known
            assert task.total is None or task.completed < task.total
    desk.as_json = True
    with progress(desk, "Starting") as watch:
        assert not isinstance(watch, Bar)
    assert capsys.readouterr().out == ""


def test_a_check_and_a_copy_count_their_rows_and_a_pipe_shows_nothing(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake (invented)")
    steps: list[tuple[str, int, int]] = []

    assert run_on_sqlite("database", "check").stderr == ""
    with progress(Desk(), "quiet on a pipe") as watch:
        assert watch is unwatched
    from geneticlog.store.check import look_over
    from geneticlog.store.copying import copy_database
    from geneticlog.store.engine import database_url, open_engine

    source, target = (
        open_engine(database_url(str(one)), enforce_links=False)
        for one in (run_on_sqlite.database, tmp_path / "copy.sqlite")
    )
    copy_database(source, target, lambda *step: steps.append(step))
    look_over(target, watch=lambda *step: steps.append(step))
    source.dispose(), target.dispose()
    kinds = {what for what, _, _ in steps}
    assert kinds == {"Copying rows", "Comparing rows", "Checking the journal", "Checking rows"}
    assert all(0 <= done <= total for _, done, total in steps)
    copied = [step for step in steps if step[0] == "Copying rows"]
    assert copied[-1][1] == copied[-1][2] > 0


def test_a_report_says_which_step_of_how_many_it_is_at(sqlite_session: Session) -> None:
    steps: list[tuple[str, int, int]] = []

    def watch(*shown: Any) -> None:
        steps.append(shown)

    lake = add_lake(sqlite_session)
    add_typed(sqlite_session, add_survey(sqlite_session, lake), [(10.5, 0.2, 0.1)])
    sqlite_session.commit()
    facts = gather_lake(sqlite_session, lake.code, stamp=Stamp(NOW, "Ada Test"), wanted=Wanted())
    lake_contents(facts, paper=PAPERS["a4"], watch=watch)
    gather_portfolio(sqlite_session, today=NOW.date(), watch=step(watch, 1, 3))
    assert [what for what, _, _ in steps[:3]] == [
        "Step 2 of 3: drawing figures",
        "Step 3 of 3: setting pages and tables",
        "Step 1 of 3: counting fish and results",
    ]
    assert all(what.startswith("Step 1 of 3: ") for what, _, _ in steps[2:])
    assert steps[-1][1:] == (steps[-1][2] - 1, steps[-1][2])


def test_the_list_of_lakes_counts_its_steps(sqlite_session: Session) -> None:
    steps: list[tuple[str, int, int]] = []
    gather_portfolio(sqlite_session, today=NOW.date(), watch=lambda *step: steps.append(step))
    total = steps[0][2]
    assert [(done, of) for _, done, of in steps] == [(n, total) for n in range(total)]
    assert len({name for name, _, _ in steps}) == total > 2
