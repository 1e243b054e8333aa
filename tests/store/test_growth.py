"""What is asked of the database with every fish: never of a table, or a survey, from end to end."""

from __future__ import annotations

from typing import Any

from conftest import Runner
from sqlalchemy import Engine, event
from survey_support import prepared

WITHOUT_HARM = {
    "SCAN alembic_version",  # once, one row
    "SCAN panel",  # a few rows, of the labs that an office works with
    "SCAN journal USING INDEX ix_journal_own",  # from its end, for one row
}


def test_no_question_that_comes_with_every_fish_goes_through_a_table(run_on_sqlite: Runner) -> None:
    """SQLite says how it looks for the answer: SCAN is from end to end, and so is a sort of all that it found."""
    prepared(run_on_sqlite.database, n_vials=3, targets={"stock": 2})
    run_on_sqlite("fish", "log", "HERON-2026", input="9 in\n10 in\nundo\n")
    ways: dict[str, list[str]] = {}

    def look(
        connection: Any, _cursor: Any, statement: str, parameters: Any, _context: Any, many: bool
    ) -> None:
        if not many and statement.startswith(("SELECT", "UPDATE", "DELETE")) and statement not in ways:
            rows = connection.connection.cursor().execute(f"EXPLAIN QUERY PLAN {statement}", parameters)
            ways[statement] = [row[3] for row in rows if "CONSTANT" not in row[3]]

    event.listen(Engine, "before_cursor_execute", look)
    try:
        run_on_sqlite("fish", "log", "HERON-2026", "--log", "second", input="14 in\n15 in\nundo\n")
    finally:
        event.remove(Engine, "before_cursor_execute", look)
    used = [way for every in ways.values() for way in every]
    assert {way for way in used if way.startswith("SCAN")} <= WITHOUT_HARM
    assert not [way for way in used if "ORDER BY" in way]
    assert any("ix_event_undone" in way for way in used)
    assert not [way for way in used if "ix_event_subject_kind_subject (subject_kind=?)" in way]
