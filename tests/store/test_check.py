"""A database that somebody changed by hand is found out, on both engines; one that nobody did holds."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path

import pytest
from conftest import Runner
from office_support import an_office
from sqlalchemy import Engine
from survey_support import prepared
from tests_support import guards_off

from geneticlog.store import structure_of_server
from geneticlog.store.check import Checked, look, look_over
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.journal import entry_hash, head, moment
from geneticlog.store.tables import JournalEntry


def a_season(run: Runner, folder: Path) -> None:
    """Every kind of row: logged, packed, returned, decided, corrected, planned, carried and undone."""
    vials = an_office(run.database, n_fish=4, n_vials=9)
    run("shipment", "pack", "SENT", *vials, "--lab", "QUILL", "--panel", "QB38", "--fill-ml", "1")
    run("shipment", "send", "SENT")
    file = folder / "return.csv"
    calls = ",".join(f"M{i}" for i in range(1, 9))
    file.write_text(
        f"Sample,Florida proportion,Loci scored,{calls}\n"
        f"{vials[0]},0.25,8,0,1,0,1,0,1,0,1\n{vials[1]},failed,,,,,,,,,\n{vials[2]},0.9,8,2,2,2,2,2,2,1,1\n"
    )
    run("return", "read", file, "--shipment", "SENT", "--counted", "Florida")
    run("fish", "log", "HERON-2026", "--yes", "--log", "boat", input="24 in 1 lb\n9 in\n8 in\nundo\n")
    run("correct", "fish", "HERON-2026", "1", "--length", "9.1 in", "--why", "read again")
    run("plan", "HERON", "--wanted", "6")
    run("decide", "F1", "close", "--why", "seen")


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def season(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    """One database after a season, for all that is tried on it and taken back."""
    import shutil

    from tests_support import admin, with_database

    folder = tmp_path_factory.mktemp("season")
    if request.param == "sqlite":
        database = str(folder / "season.sqlite")
        shutil.copy(request.getfixturevalue("sqlite_template"), database)
    else:
        server = request.getfixturevalue("postgres_server")
        admin(server, f'CREATE DATABASE "season" TEMPLATE "{request.getfixturevalue("postgres_template")}"')
        database = with_database(server, "season").replace("postgresql+psycopg", "postgresql")
    a_season(Runner(database), folder)
    engine = open_engine(database_url(database), enforce_links=False)
    yield engine
    engine.dispose()
    if request.param != "sqlite":
        admin(server, 'DROP DATABASE "season" WITH (FORCE)')


def faults_after(
    season: Engine, *statements: str, known_head: str | None = None, guarded: bool = False
) -> list[str]:
    """What a check finds after statements that are then taken back."""
    found = Checked()
    with season.execution_options(writes=True).connect() as connection:
        transaction = connection.begin()
        with nullcontext() if guarded else guards_off(connection):
            for statement in statements:
                connection.exec_driver_sql(statement)
        look(connection, found, known_head)
        transaction.rollback()
    return found.faults


VIAL = "(SELECT min(id) FROM vial WHERE fish_id IS NOT NULL)"
TAMPERINGS: dict[str, tuple[str, str]] = {  # what was done -> (statement, word of the fault)
    "a fish made longer": ("UPDATE fish SET length = 15 WHERE number = 2", "fish HERON-2026#2 was changed"),
    "a class changed": ("UPDATE fish SET size_class = 'trophy' WHERE number = 2", "fish HERON-2026#2"),
    "a date moved": ("UPDATE survey SET surveyed_on = '2026-05-13'", "survey HERON-2026 was changed"),
    "a fish slipped in": (
        "INSERT INTO fish (id, uid, survey_id, number, n_fish, species, logged_at, logged_by) VALUES"
        " (999, 'x', 1, 99, 1, 'largemouth_bass', '2026-05-12 10:00:00', 'Ada')", "HERON-2026#99 was added",
    ),
    "a fish taken out": ("DELETE FROM fish WHERE number = 6", "is gone"),
    "a vial moved to another fish": (
        f"UPDATE vial SET fish_id = (SELECT id FROM fish WHERE number = 4) WHERE id = {VIAL}", "vial BG000001J was",
    ),
    "a vial emptied": (
        f"UPDATE vial SET fish_id = NULL, fish_n = NULL, standing = 'printed' WHERE id = {VIAL}", "vial BG000001J",
    ),
    "a result changed": ("UPDATE result SET q = 0.26 WHERE q = 0.25", "result of vial BG000001J was changed"),
    "a result rejected": ("UPDATE result SET standing = 'rejected', fish_id = NULL WHERE q = 0.25", "result of vial"),
    "a result taken out": (
        "DELETE FROM result WHERE outcome = 'failed'", "is gone",
    ),
    "a locus called anew": ("UPDATE genotype SET n_alleles = 2 WHERE marker = 'M1' AND n_alleles = 0", "genotype"),
    "a locus taken out": ("DELETE FROM genotype WHERE marker = 'M3'", "genotype"),
    "a row of the return rewritten": ("UPDATE return_row SET cells = '{}' WHERE row_number = 2", "return row"),
    "the bytes of a return changed": ("UPDATE return_file SET content = CAST('x' AS {bytes})", "not as the lab"),
    "bytes and digest changed": (
        "UPDATE return_file SET content = CAST('x' AS {bytes}),"
        " sha256 = '2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881'", "return file",
    ),
    "a finding decided otherwise": ("UPDATE finding SET decision = 'accept' WHERE number = 1", "finding F1 was"),
    "a reason rewritten": ("UPDATE finding SET why = 'never mind' WHERE number = 1", "finding F1"),
    "a finding taken out": ("DELETE FROM finding WHERE number = 2", "is gone"),
    "a place in the box changed": ("UPDATE shipment_position SET position = position || 'x'", "shipment position"),
    "a panel's taxa changed": ("UPDATE panel SET taxon = 'spotted'", "panel"),
    "a target lowered": ("UPDATE plan_target SET target = target - 1 WHERE target > 0", "plan target"),
    "a serial moved": ("UPDATE office SET next_serial = 77", "office"),
    "an event of another person": ("UPDATE event SET by = 'Bob' WHERE id = 3", "event"),
    "an event's value changed": ("UPDATE event SET new = '{}' WHERE verb = 'corrected'", "event corrected HERON"),
    "an event's moment changed": ("UPDATE event SET at = '2020-01-01 00:00:00' WHERE id = 3", "event"),
    "an event taken out": ("DELETE FROM event WHERE verb = 'corrected'", "is gone"),
    "the last event taken out": ("DELETE FROM event WHERE id = (SELECT max(id) FROM event)", "is gone"),
    "an event slipped in": (
        "INSERT INTO event (id, uid, at, by, verb, subject_kind, subject) VALUES"
        " (9999, 'y', '2026-05-12 10:00:00', 'Ada', 'filled', 'vial', 'BG000001J')", "event filled BG000001J was added",
    ),
    "two events changed places": ("UPDATE event SET id = CASE id WHEN 3 THEN -4 ELSE id END WHERE id = 3", "event"),
    "an entry of the journal rewritten": ("UPDATE journal SET rows = '{}' WHERE number = 2", "is not as it was"),
    "an entry and its hash rewritten": (
        "UPDATE journal SET rows = '{}', hash = 'a' WHERE number = 2", "does not follow the entry before it",
    ),
    "an entry taken out": ("DELETE FROM journal WHERE number = 3", "entries 3 to 3 of the journal are missing"),
    "the last entry taken out": ("DELETE FROM journal WHERE number = (SELECT max(number) FROM journal)", "was"),
    "an index dropped": ("DROP INDEX ix_fish_survey_id_size_class", "ix_fish_survey_id_size_class is missing"),
    "a table added": ("CREATE TABLE photos (id INTEGER)", "photos is not one of geneticlog's"),
    "another revision": ("UPDATE alembic_version SET version_num = 'r0001'", "revision"),
}  # fmt: skip


def test_a_season_holds(season: Engine) -> None:
    found = look_over(season)
    assert found.faults == []
    assert found.rows["genotype"] == 24
    assert len(found.checked) == (4 if season.dialect.name == "sqlite" else 3)
    assert ("pages" in " ".join(found.checked)) == (season.dialect.name == "sqlite")


@pytest.mark.parametrize("name", TAMPERINGS)
def test_a_change_by_hand_is_found(name: str, season: Engine) -> None:
    statement, word = TAMPERINGS[name]
    statement = statement.replace("{bytes}", "BLOB" if season.dialect.name == "sqlite" else "BYTEA")
    faults = faults_after(season, statement)
    assert any(word in one for one in faults), faults


def test_a_trigger_taken_out_is_found(season: Engine) -> None:
    of_server = season.dialect.name != "sqlite"
    drop = "DROP TRIGGER event_is_never_deleted" + (" ON event" if of_server else "")
    assert "the trigger event_is_never_deleted is missing" in faults_after(season, drop, guarded=True)
    if of_server:
        off = "ALTER TABLE event DISABLE TRIGGER event_is_never_deleted"
        assert "the trigger event_is_never_deleted is switched off" in faults_after(season, off, guarded=True)
        rule = "ALTER TABLE fish DROP CONSTRAINT ck_fish_length_positive"
        assert "the rule ck_fish_length_positive is missing" in faults_after(season, rule)
    else:
        assert any("application id" in one for one in faults_after(season, "PRAGMA application_id = 0"))


ON_A_SERVER = {  # what keeps its name and is another thing -> word of the fault
    "ALTER TABLE fish DROP CONSTRAINT ck_fish_length_positive;"
    " ALTER TABLE fish ADD CONSTRAINT ck_fish_length_positive CHECK (true)": "rule ck_fish_length_positive is not as",
    "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS"
    " $$ BEGIN RETURN OLD; END $$": "function refuse_change is not as",
    "DROP INDEX ix_journal_own; CREATE INDEX ix_journal_own ON journal (number)": "index ix_journal_own is not as",
    "ALTER TABLE fish ENABLE ROW LEVEL SECURITY": "table fish hides rows",
    "CREATE RULE quiet AS ON INSERT TO event DO INSTEAD NOTHING": "rewrite rule quiet on event",
    "ALTER TABLE result ALTER COLUMN q TYPE real": "column result.q is not as",
    "ALTER TABLE fish ALTER COLUMN logged_by DROP NOT NULL": "column fish.logged_by is not as",
    "DROP TRIGGER event_is_never_deleted ON event; CREATE TRIGGER event_is_never_deleted BEFORE DELETE ON event"
    " FOR EACH ROW WHEN (OLD.id < 0) EXECUTE FUNCTION refuse_change('no')": "trigger event_is_never_deleted is not as",
}


def test_what_kept_its_name_and_is_another_thing_is_found_on_a_server(season: Engine) -> None:
    """On SQLite the words of every definition are compared, see above."""
    if season.dialect.name == "sqlite":
        assert "the trigger event_is_never_deleted is not as it was made" in faults_after(
            season, "DROP TRIGGER event_is_never_deleted",
            "CREATE TRIGGER event_is_never_deleted BEFORE DELETE ON event BEGIN SELECT 1; END", guarded=True,
        )  # fmt: skip
        return
    with season.begin() as connection:
        connection.exec_driver_sql("CREATE TABLE photos (id integer)")
    url = season.url.set(drivername="postgresql").render_as_string(hide_password=False)
    assert "restore a dump of it beside it: pg_restore" in Runner(url)("database", "check", fails=6).output
    with season.begin() as connection:
        connection.exec_driver_sql("DROP TABLE photos")
    for statement, word in ON_A_SERVER.items():
        (fault,) = faults_after(season, statement, guarded=True)
        assert word in fault, statement
    found = Checked()
    structure_of_server.MADE.clear()
    with season.connect() as connection:  # as a role that may make no temporary tables
        connection.exec_driver_sql("SET TRANSACTION READ ONLY")
        look(connection, found)
    assert found.faults == []
    assert "by their names alone" in found.checked[0]


def test_a_history_written_anew_is_told_by_a_head_that_was_printed(season: Engine) -> None:
    """Whoever writes the last entry and its rows anew makes a chain that holds: only the printed head differs."""
    with season.connect() as connection:
        printed = head(connection)
        assert printed is not None
        table = JournalEntry.__table__
        last = connection.execute(table.select().where(table.c.number == printed.number)).one()
    rows = json.loads(last.rows)
    note = "rewritten"
    anew = entry_hash(last.number, last.station, moment(last.at), last.previous, last.rows, note)
    assert rows
    rewrite = f"UPDATE journal SET note = '{note}', hash = '{anew}' WHERE number = {last.number}"
    assert faults_after(season, rewrite) == []
    assert faults_after(season, rewrite, known_head=anew[:16].join([f"{last.number}:", ""])) == []
    (said,) = faults_after(season, rewrite, known_head=str(printed))
    assert "rewritten" in said
    (said,) = faults_after(season, known_head=f"{printed.number + 5}:{printed.hash[:16]}")
    assert "set back to an earlier state" in said
    assert faults_after(season, known_head=str(printed)) == []


def test_a_value_that_no_column_can_hold_is_a_fault_and_no_crash(sqlite_database: str) -> None:
    prepared(sqlite_database, n_vials=1)
    engine = open_engine(database_url(sqlite_database))
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE lake SET added_at = 'yesterday'")
    assert "a value that its column cannot hold" in " ".join(look_over(engine).faults)
    engine.dispose()
