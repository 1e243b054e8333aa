"""One chain of the journal a station: a boat's history comes along with its survey, and cannot be rewritten unseen."""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import Runner
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import prepared
from tests_support import guards_off

from geneticlog.store.check import Checked, look
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.journal import head
from geneticlog.store.tables import Finding

Places = tuple[Runner, Runner, Path]


@pytest.fixture
def places(database: str, tmp_path: Path, new_database: Callable[[Path], str]) -> Places:
    """An office (SQLite and PostgreSQL), and a boat that logged two fish of its survey; the file between them."""
    prepared(database, n_vials=5)
    office, boat, file = (
        Runner(database),
        Runner(new_database(tmp_path / "boat.sqlite")),
        tmp_path / "a.carry",
    )
    office("carry", "out", "HERON-2026", file)
    boat("carry", "in", file)
    log(boat, "BG000001J 16.5 in", "12 in")
    return office, boat, file


def log(boat: Runner, *lines: str) -> None:
    boat("fish", "log", "HERON-2026", "--log", "b", input="\n".join(lines) + "\n")


def travels(boat: Runner, office: Runner, file: Path) -> dict[str, Any]:
    boat("carry", "out", "HERON-2026", file, "--replace")
    told: dict[str, Any] = json.loads(office("carry", "in", file, "--json").stdout)
    return told


def faults_after(office: Runner, *statements: str, known_head: str | None = None) -> list[str]:
    engine, found = open_engine(database_url(office.database), enforce_links=False), Checked()
    with engine.execution_options(writes=True).connect() as connection:
        transaction = connection.begin()
        with guards_off(connection):
            for statement in statements:
                connection.exec_driver_sql(statement)
        look(connection, found, known_head)
        transaction.rollback()
    engine.dispose()
    return found.faults


def test_a_survey_brings_the_chain_of_its_station_along(places: Places) -> None:
    office, boat, file = places
    n = travels(boat, office, file)["n_chained"]
    assert n > 2
    assert travels(boat, office, file)["n_chained"] == 0
    log(boat, "14 in")
    assert travels(boat, office, file)["n_chained"] == 1
    engine = open_engine(database_url(boat.database))
    with engine.connect() as connection:
        printed = head(connection)
    engine.dispose()
    assert printed is not None
    told = json.loads(office("database", "check", "--json").stdout)
    assert told["carried"] == {printed.station: str(printed)}
    assert told["head"] != str(printed)
    assert (
        faults_after(office, known_head=str(printed)) == []
    )  # a head printed on the boat is known in the office
    of = f"station = '{printed.station}'"
    for statement, said in (
        ("UPDATE event SET by = 'Bob' WHERE verb = 'filled'", f"as station {printed.station[:8]} wrote it"),
        (f"DELETE FROM journal WHERE {of} AND number = 2", "entries 2 to 2 of the chain of station"),
        (f"UPDATE journal SET note = 'x' WHERE {of} AND number = 2", "is not as it was written"),
        (f"UPDATE journal SET carried_by = NULL WHERE {of}", "of another database as if it were its own"),
        (f"UPDATE journal SET carried_by = 'x' WHERE NOT {of}", "was added outside"),
    ):
        faults = faults_after(office, statement)
        assert any(said in fault for fault in faults), (statement, faults)


def test_a_history_too_long_to_travel_is_told(places: Places, monkeypatch: pytest.MonkeyPatch) -> None:
    office, boat, file = places
    monkeypatch.setattr("geneticlog.store.chains.MOST_LETTERS", 100)
    engine = open_engine(database_url(boat.database))
    with engine.connect() as connection:
        own = head(connection)
    engine.dispose()
    assert own is not None
    file.unlink(missing_ok=True)
    left = json.loads(boat("carry", "out", "HERON-2026", file, "--json").stdout)["chains_left"]
    assert own.station in left
    said = boat("carry", "out", "HERON-2026", file, "--replace").stdout
    assert f"history of station {own.station[:8]} is too long to travel whole" in said
    assert json.loads(office("carry", "in", file, "--json").stdout)["n_chained"] == 0
    assert faults_after(office) == []


def test_a_boat_that_was_set_back_is_told(places: Places, tmp_path: Path) -> None:
    office, boat, file = places
    shutil.copy(boat.database, tmp_path / "earlier.sqlite")
    log(boat, "14 in")
    travels(boat, office, file)
    earlier = Runner(str(tmp_path / "earlier.sqlite"))
    log(earlier, "9 in")
    for _ in range(2):
        assert travels(earlier, office, file)["n_chained"] == 0
    engine = open_engine(database_url(office.database))
    with Session(engine) as session:
        found = [one for one in session.scalars(select(Finding)) if one.kind == "history_parted"]
    engine.dispose()
    assert len(found) == 1
    assert "set back to an earlier copy" in found[0].text
    office("decide", f"F{found[0].number}", "close", "--why", "the laptop's disk was replaced")
    office("database", "check")


def test_an_event_or_entry_changed_on_the_way_is_refused(places: Places, tmp_path: Path) -> None:
    office, boat, file = places
    boat("carry", "out", "HERON-2026", file, "--replace")
    lines = [json.loads(line) for line in file.read_text().splitlines()[:-1]]
    for table, name, value in (("event", "by", "Bob"), ("journal", "rows", "{}"), ("journal", "number", 9)):
        changed = json.loads(json.dumps(lines))
        last = max(i for i, line in enumerate(changed) if line.get("table") == table)
        changed[last][name] = value
        body = "".join(json.dumps(line, separators=(",", ":")) + "\n" for line in changed).encode()
        seal = json.dumps({"lines": len(lines), "sha256": hashlib.sha256(body).hexdigest()}) + "\n"
        file.write_bytes(body + seal.encode())
        said = office("carry", "in", file, fails=4).stderr
        assert ("as its station wrote it" if table == "event" else "was changed") in said


def test_a_report_prints_the_head_of_the_journal(places: Places, tmp_path: Path) -> None:
    office, _, _ = places
    told = json.loads(office("report", "lake", "HERON", "--out", tmp_path / "r", "--json").stdout)
    page = next((tmp_path / "r").glob("*.html")).read_text()
    assert f"check --head {told['journal_head']}" in page
    assert faults_after(office, known_head=told["journal_head"]) == []
    office("report", "lakes", "--out", tmp_path / "all")
