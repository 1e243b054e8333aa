"""A database that goes away in the middle of a pipe: what was answered is stored, and the rest is not lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import Runner
from sqlalchemy import create_engine, make_url, text
from survey_support import fish_of, prepared
from tests_support import admin, with_database


def test_a_connection_that_drops_costs_no_line(
    postgres_server: str, postgres_template: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    admin(postgres_server, f'CREATE DATABASE "cut_off" TEMPLATE "{postgres_template}"')
    server = with_database(postgres_server, "cut_off")
    run = Runner(server.replace("postgresql+psycopg", "postgresql"))
    try:
        prepared(run.database, n_vials=1)
        engine = create_engine(make_url(server))
        with engine.begin() as connection:
            connection.execute(
                text(
                    "CREATE FUNCTION cut_off() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
                    " IF NEW.number > 2 THEN PERFORM pg_terminate_backend(pg_backend_pid()); END IF;"
                    " RETURN NEW; END $$"
                )
            )
            connection.execute(
                text("CREATE TRIGGER cut_off BEFORE INSERT ON fish FOR EACH ROW EXECUTE FUNCTION cut_off()")
            )
        lines = "".join(f"{length} in\n" for length in (8, 9, 10, 11))
        said = run.tried("fish", "log", "HERON-2026", "--log", "boat", input=lines)
        assert said.exit_code == 6, said.output
        assert "lines 1 to 2 of 4 are stored" in said.output
        kept = tmp_path / "HERON-2026.rest.txt"
        assert kept.read_text() == lines
        assert [row[2] for row in fish_of(run.database)] == [8, 9]
        with engine.begin() as connection:
            connection.execute(text("DROP TRIGGER cut_off ON fish"))
        engine.dispose()
        run("fish", "log", "HERON-2026", "--log", "boat", input=kept.read_text())
        assert [row[2] for row in fish_of(run.database)] == [8, 9, 10, 11]
    finally:
        admin(postgres_server, 'DROP DATABASE "cut_off" WITH (FORCE)')


def test_a_name_that_a_terminal_would_obey_is_shown(run_on_sqlite: Runner) -> None:
    said = run_on_sqlite.tried("return", "preview", "\x1b[2Jlab.csv").output
    assert "\x1b" not in said
    assert "lab.csv" in said
