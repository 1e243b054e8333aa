"""Migrations go forward only, from every past revision, with rows in place, on SQLite and PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, inspect, text
from tests_support import admin, with_database

from geneticlog.errors import StoreUnready
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.migrate import NEWEST, alembic_config, require_ready, standing, upgrade
from geneticlog.store.replay import replay, unlike
from geneticlog.store.tables import Table

# what users had typed while each revision was the newest: parents with children, else a loss passes unseen
PAST: dict[str | None, list[str]] = {
    None: [],
    "r0001": [
        "INSERT INTO lake (id, uid, code, name, added_at, added_by)"
        " VALUES (1, 'u1', 'HERON', 'Heron Lake', '2026-05-01 10:00:00', 'Ada')",
        "INSERT INTO survey (id, uid, code, lake_id, surveyed_on, gear, species, length_unit, weight_unit, scheme,"
        " opened_at, opened_by) VALUES (1, 'u2', 'HERON-2026', 1, '2026-05-12', 'boat electrofishing',"
        " 'largemouth_bass', 'in', 'lb', '{}', '2026-05-12 09:00:00', 'Ada')",
        "INSERT INTO fish (id, uid, survey_id, number, n_fish, species, length, length_unit, length_mm, logged_at,"
        " logged_by) VALUES (1, 'u3', 1, 1, 1, 'largemouth_bass', 16.5, 'in', 419.1, '2026-05-12 15:00:00', 'Ada')",
        "INSERT INTO print_run (id, uid, number, office, n_labels, stock, start_slot, content, printed_at, printed_by)"
        " VALUES (1, 'u4', 1, 'BG', 1, 'letter wraps', 1, 'wrap', '2026-05-01 10:00:00', 'Ada')",
        "INSERT INTO vial (id, code, print_run_id, standing, role, fish_id, fish_n)"
        " VALUES (1, 'BG4F7Q2KR', 1, 'filled', 'sample', 1, 1)",
        "INSERT INTO event (id, uid, at, by, verb, subject_kind, subject)"
        " VALUES (1, 'u5', '2026-05-12 15:00:00', 'Ada', 'filled', 'vial', 'BG4F7Q2KR')",
        "INSERT INTO event (id, uid, at, by, verb, subject_kind, subject, new) VALUES"
        " (91, 'u91', '2026-06-03 09:00:00', 'Ada', 'told', 'lab_standing', 'HERON-2026',"
        """ '{"vials": {"BG4F7Q2KR": "typed", "BG4F7Q2KX": "shipped"}}'),"""
        " (92, 'u92', '2026-06-01 09:00:00', 'Ada', 'told', 'lab_standing', 'HERON-2026',"
        """ '{"vials": {"BG4F7Q2KR": "shipped", "BG4F7Q2KY": "failed"}}'),"""
        " (93, 'u93', '2026-06-01 09:00:00', 'Ada', 'told', 'lab_standing', 'GONE-2026',"
        """ '{"vials": {"BG4F7Q2KY": "failed"}}')""",
        "INSERT INTO lab (id, code, name) VALUES (1, 'QUILL', 'Quillback (invented)')",
        "INSERT INTO shipment (id, code, lab_id, standing, container, filling_order, packed_at, packed_by)"
        " VALUES (1, 'SH-1', 1, 'packed', 'loose', 'by_column', '2026-05-13 09:00:00', 'Ada')",
        "INSERT INTO shipment_position (id, shipment_id, vial_id, container_number, position)"
        " VALUES (1, 1, 1, 1, '1')",
        "INSERT INTO finding (id, number, key, kind, shipment_id, vial_id, rows, text, data, opened_at)"
        " VALUES (1, 1, 'k1', 'failed', 1, 1, '[2]', 'it failed', '{}', '2026-06-02 09:00:00')",
        "INSERT INTO finding (id, number, key, kind, shipment_id, vial_id, rows, text, data, opened_at, decision,"
        " decided_at, decided_by, why) VALUES (2, 2, 'k2', 'genotypes_disagree', 1, 1, '[2]', 'q apart', '{}',"
        " '2026-06-02 09:00:00', 'accept', '2026-06-03 09:00:00', 'Ada', 'asked the lab')",
    ],
}
PAST["r0002"] = [
    *PAST["r0001"],
    "INSERT INTO rule_set (id, name, dated, content, added_at, added_by)"
    " VALUES (1, 'strict', '2026-06-01', 'pure = 0.02', '2026-06-02 09:00:00', 'Ada')",
    "INSERT INTO event (id, uid, at, by, verb, subject_kind, subject)"
    " VALUES (2, 'u6', '2026-06-02 09:00:00', 'Ada', 'brought_into_force', 'rule_set', 'strict, 2026-06-01')",
]
PAST["r0003"] = [
    *PAST["r0002"],
    "INSERT INTO shipment (id, code, lab_id, standing, container, filling_order, n_packages, packed_at, packed_by)"
    " VALUES (2, 'SH-2', 1, 'packed', 'loose', 'by_column', 2, '2026-06-02 09:00:00', 'Ada')",
    "INSERT INTO shipment_position (id, shipment_id, vial_id, container_number, position)"
    " VALUES (2, 2, 1, 1, '1')",
]
PAST["r0004"] = [
    *PAST["r0003"],
    "INSERT INTO return_file (id, shipment_id, sha256, name, content, reading, n_rows, read_at, read_by)"
    " VALUES (1, 1, 'a1', 'r.csv', '', '{}', 1, '2026-06-02 09:00:00', 'Ada'),"
    " (2, 1, 'a2', 'again.csv', '', '{}', 1, '2026-06-03 09:00:00', 'Ada')",
    "INSERT INTO return_row (id, return_file_id, row_number, cells, vial_id, outcome)"
    " VALUES (1, 1, 2, '{}', 1, 'typed'), (2, 2, 2, '{}', 1, 'typed')",
    "INSERT INTO result (id, vial_id, return_row_id, outcome, standing, q)"
    " VALUES (1, 1, 1, 'typed', 'superseded', 0.2), (2, 1, 2, 'typed', 'current', 0.3)",
    "INSERT INTO finding (id, number, key, kind, shipment_id, vial_id, rows, text, data, opened_at, decision,"
    " decided_at, decided_by, why) VALUES (3, 3, 'k3', 'genotypes_disagree', 2, 1, '[2]', 'q apart', '{}',"
    " '2026-06-02 09:00:00', 'recount', '2026-06-03 09:00:00', 'Ada', 'asked the lab')",
]
PAST["r0005"] = [
    *PAST["r0004"],
    "INSERT INTO return_file (id, shipment_id, sha256, name, content, reading, n_rows, read_at, read_by, withdrawn_at,"
    " withdrawn_by, withdrawn_why) VALUES (3, 1, 'a1', 'r.csv', '', '{}', 1, '2026-06-02 09:00:00', 'Ada',"
    " '2026-06-04 09:00:00', 'Ada', 'another unit')",
    "INSERT INTO lab (id, code, name, usual_days) VALUES (2, 'REED', 'Reed (invented)', 30)",
]
PAST["r0006"] = [
    *PAST["r0005"],
    "INSERT INTO panel (id, code, name, taxon, other_taxon, miscall_rate, miscall_high)"
    " VALUES (1, 'P38', 'Thirty-eight (invented)', 'Florida', 'northern', 0.004, 0.01)",
    "INSERT INTO known_vial (vial_id, kind, why, said_at, said_by)"
    " VALUES (1, 'northern', 'hatchery stock', '2026-06-02 09:00:00', 'Ada')",
]
PAST["r0007"] = [
    *PAST["r0006"],
    "INSERT INTO survey (id, uid, code, lake_id, surveyed_on, gear, species, length_unit, weight_unit, scheme,"
    " order_of_work, opened_at, opened_by) VALUES (2, 'u7', 'HERON-2027', 1, '2027-05-12', 'boat electrofishing',"
    " 'largemouth_bass', 'in', 'lb', '{}', 'vial,length', '2027-05-12 09:00:00', 'Ada')",
    "INSERT INTO open_card (id, survey_id, device, content, kept_at, kept_by)"
    " VALUES (1, 2, 'd1', '{}', '2027-05-12 09:10:00', 'Ada')",
]
PAST["r0008"] = [
    *PAST["r0007"],
    # told by events before this revision; from here on by columns
    "INSERT INTO vial (id, code, standing, role, fish_id, fish_n, gone_why)"
    " VALUES (2, 'BG4F7Q2KX', 'broken', 'sample', 1, 1, 'cracked')",
    "UPDATE shipment SET kept_free = '[\"H12\"]', n_billed = 1, billed_amount = 21.5 WHERE id = 1",
    "INSERT INTO rule_set_choice (id, rule_set_id, at, by) VALUES (1, 1, '2026-06-02 09:00:00', 'Ada')",
]
PAST["r0007"] += [
    "INSERT INTO event (id, uid, at, by, verb, subject_kind, subject, new) VALUES"
    " (3, 'u17', '2026-06-03 09:00:00', 'Ada', 'brought_into_force', 'rule_set', 'strict, 2026-06-01',"
    ' \'{"name": "strict", "dated": "2026-06-01"}\'),'
    " (4, 'u18', '2026-06-04 09:00:00', 'Bea', 'brought_into_force', 'rule_set', 'house',"
    ' \'{"name": "house", "dated": "2026-01-01"}\'),'
    " (5, 'u19', '2026-06-05 09:00:00', 'Ada', 'packed', 'shipment', 'SH-1', '{\"kept_free\": [\"H12\", \"A01\"]}'),"
    " (6, 'u20', '2026-06-06 09:00:00', 'Ada', 'packed', 'shipment', 'SH-1', '{\"kept_free\": [\"H12\"]}'),"
    " (7, 'u21', '2026-06-07 09:00:00', 'Ada', 'billed', 'shipment', 'SH-1', '{\"n_billed\": 3, \"amount\": 9}'),"
    " (8, 'u22', '2026-06-08 09:00:00', 'Ada', 'billed', 'shipment', 'SH-1', '{\"n_billed\": 2, \"amount\": null}')",
]
PAST["r0009"] = [
    *PAST["r0008"],
    "INSERT INTO kept_report (id, uid, lake_id, survey, written_at, written_by, fingerprint, told, basis)"
    " VALUES (1, 'u8', 1, 'HERON-2026', '2027-06-01 09:00:00', 'Ada', 'abc', '[]', '{}')",
]
PAST["r0010"] = [
    *PAST["r0009"],
    "INSERT INTO return_file (id, shipment_id, sha256, name, content, reading, account, n_rows, read_at, read_by)"
    " VALUES (4, 2, 'a4', 'return.csv', '', '{}', '[]', 0, '2027-06-02 09:00:00', 'Ada')",
]
PAST["r0011"] = [
    *PAST["r0010"],
    "INSERT INTO pairing (id, token, writes, offered_at, offered_by, ends_at)"
    " VALUES (1, 'd1', '1', '2026-06-05 09:00:00', 'Ada', '2026-06-05 09:10:00')",
    "INSERT INTO device (id, uid, name, person, writes, secret, paired_at, used_at, ends_at) VALUES (1, 'u30', 'phone',"
    " 'Bo', '1', 'd2', '2026-06-05 09:00:00', '2026-06-05 09:00:00', '2026-06-05 21:00:00')",
]
PAST["r0012"] = [
    *PAST["r0011"],
    "INSERT INTO journal (number, station, at, previous, rows, hash)"
    " VALUES (2, 's1', '2027-05-12 09:20:00', '0', '{}', 'h1')",
]
PAST["r0013"] = [
    *PAST["r0012"],
    "INSERT INTO journal (number, station, at, previous, rows, hash, carried_by)"
    " VALUES (2, 's2', '2027-05-12 09:20:00', '0', '{}', 'h2', 'c1')",
]
OFFICE = (
    "INSERT INTO office (id, prefix, station, next_serial, next_station, name{})"
    " VALUES (1, 'BG', 0, 9, 2, 'Gulch'{})"
)
PAST["r0014"] = [*PAST["r0013"], OFFICE.format(", uid", ", '0123456789abcdef0123456789abcdef'")]
PAST["r0013"] += [OFFICE.format("", "")]  # an office had no UUID before
PAST["r0015"] = [
    *PAST["r0014"],
    "INSERT INTO shown_card (id, survey_id, device, person, words, shown_at)"
    " VALUES (1, 2, 'phone', 'Bo', '16 in', '2027-05-12 09:10:00')",
    "INSERT INTO dropped_file (id, key, name, content, shipments, answers, dropped_at, dropped_by)"
    " VALUES (1, 'k1', 'odd.csv', '', '[]', '[]', '2027-05-12 09:10:00', 'Bo')",
]
PAST["r0016"] = [
    *PAST["r0015"],
    "INSERT INTO told_survey (survey_id, told_at) VALUES (1, '2026-06-03 09:00:00')",
    "INSERT INTO told_vial (survey_id, code, fate) VALUES (1, 'BG4F7Q2KR', 'typed'), (1, 'BG4F7Q2KX', 'shipped')",
]
PAST["r0017"] = [
    *PAST["r0016"],
    "INSERT INTO pairing_try (id, address, tried_at) VALUES (1, '192.0.2.7', '2027-05-12 09:10:00')",
]
PAST["r0019"] = PAST["r0018"] = PAST["r0017"]
HELD = {  # what is looked for after the upgrade
    "an entry of the journal": "SELECT hash FROM journal WHERE number = 2 AND hash LIKE 'h%' ORDER BY hash",
    "accounts": "SELECT sha256 FROM return_file WHERE account IS NOT NULL",
    "orders of work": "SELECT order_of_work FROM survey ORDER BY id",
    "open cards": "SELECT device FROM open_card",
    "fish": "SELECT number FROM fish",
    "vials on a fish": "SELECT vial.code FROM vial JOIN fish ON fish.id = vial.fish_id",
    "events": "SELECT uid FROM event WHERE subject_kind <> 'lab_standing' ORDER BY id",
    "rule sets": "SELECT name FROM rule_set",
    "shipments": "SELECT code, n_packages FROM shipment ORDER BY id",
    "places of vials": "SELECT shipment.code, vial.code, position FROM shipment_position"
    " JOIN shipment ON shipment.id = shipment_id JOIN vial ON vial.id = vial_id ORDER BY shipment.id",
    "findings": "SELECT number, decision, why FROM finding ORDER BY id",
    "readings": "SELECT id, sha256, withdrawn_why FROM return_file ORDER BY id",
    "results": "SELECT id, standing, replaced_by_id FROM result ORDER BY id",
    "labs": "SELECT code, usual_days FROM lab ORDER BY id",
    "stated miscall rates": "SELECT code, miscall_rate, miscall_high FROM panel",
    "known fish": "SELECT vial_id, kind, why FROM known_vial",
    "vials gone": "SELECT code, standing, gone_why FROM vial WHERE standing = 'broken'",
    "wells and bills": "SELECT code, kept_free, n_billed, billed_amount FROM shipment ORDER BY id",
    "rule sets chosen": "SELECT rule_set_id, by FROM rule_set_choice ORDER BY id",
    "kept reports": "SELECT id, survey, written_by FROM kept_report",
    "devices": "SELECT name, person FROM device",
    "told of vials": "SELECT survey_id, code, fate FROM told_vial ORDER BY code",
    "told of surveys": "SELECT count(*) FROM told_survey WHERE told_at > '2026-06-02'",
    "offices, each with a UUID": "SELECT prefix, next_serial, length(uid) FROM office",
}
FIRST = {
    "an entry of the journal": [],
    "accounts": [],
    "orders of work": [("any",)],
    "open cards": [],
    "fish": [(1,)],
    "vials on a fish": [("BG4F7Q2KR",)],
    "events": [("u5",)],
    "rule sets": [],
    "shipments": [("SH-1", None)],
    "places of vials": [("SH-1", "BG4F7Q2KR", "1")],
    "findings": [(1, None, None), (2, "accept", "asked the lab")],
    "readings": [],
    "results": [],
    "labs": [("QUILL", None)],
    "stated miscall rates": [],
    "known fish": [],
    "vials gone": [],
    "wells and bills": [("SH-1", "[]", None, None)],
    "rule sets chosen": [],
    "kept reports": [],
    "devices": [],
    "told of vials": [(1, "BG4F7Q2KR", "typed"), (1, "BG4F7Q2KX", "shipped")],
    "told of surveys": [(1,)],
    "offices, each with a UUID": [],
}
SECOND = FIRST | {"events": [("u5",), ("u6",)], "rule sets": [("strict",)]}
THIRD = SECOND | {
    "shipments": [("SH-1", None), ("SH-2", 2)],
    "places of vials": [("SH-1", "BG4F7Q2KR", "1"), ("SH-2", "BG4F7Q2KR", "1")],
    "wells and bills": [("SH-1", "[]", None, None), ("SH-2", "[]", None, None)],
}
FOURTH = THIRD | {
    "findings": [*FIRST["findings"], (3, "recount", "asked the lab")],
    "readings": [(1, "a1", None), (2, "a2", None)],
    "results": [(1, "superseded", 2), (2, "current", None)],
}
FIFTH = FOURTH | {
    "readings": [(1, "a1", None), (2, "a2", None), (3, "a1", "another unit")],
    "labs": [("QUILL", None), ("REED", 30)],
    # a result that is put in afterwards says itself which file replaced it
    "results": [(1, "superseded", None), (2, "current", None)],
}
SIXTH = FIFTH | {
    "stated miscall rates": [("P38", 0.004, 0.01)],
    "known fish": [(1, "northern", "hatchery stock")],
}
SEVENTH = SIXTH | {"orders of work": [("any",), ("vial,length",)], "open cards": [("d1",)]}
EIGHTH = SEVENTH | {
    "vials on a fish": [("BG4F7Q2KR",), ("BG4F7Q2KX",)],
    "vials gone": [("BG4F7Q2KX", "broken", "cracked")],
    "wells and bills": [("SH-1", '["H12"]', 1, 21.5), ("SH-2", "[]", None, None)],
    "rule sets chosen": [(1, "Ada")],
}
NINTH = EIGHTH | {"kept reports": [(1, "HERON-2026", "Ada")]}
TENTH = NINTH | {"readings": [*FIFTH["readings"], (4, "a4", None)], "accounts": [("a4",)]}
KEPT: dict[str | None, dict[str, list[tuple[object, ...]]]] = {
    None: {name: [] for name in HELD} | {"told of surveys": [(0,)]},
    "r0001": FIRST,
    "r0002": SECOND,
    "r0003": THIRD,
    "r0004": FOURTH,
    "r0005": FIFTH,
    "r0006": SIXTH,
    "r0007": SEVENTH
    | {
        "events": [*SECOND["events"], *((f"u{n}",) for n in range(17, 23))],
        "wells and bills": [("SH-1", '["A01", "H12"]', 2, None), ("SH-2", "[]", None, None)],
        "rule sets chosen": [(1, "Ada"), (None, "Bea")],
    },
    "r0008": EIGHTH,
    "r0009": NINTH,
    "r0010": TENTH,
}
KEPT["r0011"] = KEPT["r0010"] | {"devices": [("phone", "Bo")]}
KEPT["r0012"] = KEPT["r0011"] | {"an entry of the journal": [("h1",)]}
KEPT["r0013"] = KEPT["r0012"] | {
    "an entry of the journal": [("h1",), ("h2",)],
    "offices, each with a UUID": [("BG", 9, 32)],
}
KEPT["r0019"] = KEPT["r0018"] = KEPT["r0017"] = KEPT["r0016"] = KEPT["r0015"] = KEPT["r0014"] = KEPT["r0013"]


def revisions() -> list[str]:
    script = ScriptDirectory.from_config(alembic_config())
    return [found.revision for found in reversed(list(script.walk_revisions()))]


@pytest.fixture(params=["sqlite", "postgresql"])
def empty(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    """An empty database, opened as migrations are."""
    if request.param == "sqlite":
        engine = open_engine(f"sqlite:///{tmp_path / 'old.sqlite'}", enforce_links=False)
        yield engine
        engine.dispose()
        return
    server = request.getfixturevalue("postgres_server")
    name = f"old_{tmp_path.name[-40:].lower()}"
    admin(server, f'CREATE DATABASE "{name}"')
    engine = open_engine(with_database(server, name), enforce_links=False)
    yield engine
    engine.dispose()
    admin(server, f'DROP DATABASE "{name}" WITH (FORCE)')


def test_every_revision_has_past_data() -> None:
    assert set(revisions()) == set(PAST) - {None} == set(KEPT) - {None}


def test_the_newest_revision_is_the_one_the_program_asks_for() -> None:
    assert revisions()[-1] == NEWEST
    assert revisions() == sorted(revisions())


@pytest.mark.parametrize("past", PAST)
def test_an_upgrade_keeps_the_data_of(past: str | None, empty: Engine) -> None:
    if past:
        upgrade(empty, past)
        with empty.begin() as connection:
            for statement in PAST[past]:
                connection.execute(text(statement))
    upgrade(empty)
    with empty.connect() as connection:
        found = {
            name: [tuple(row) for row in connection.execute(text(query))] for name, query in HELD.items()
        }
        if past != NEWEST:  # every row of the past is in the journal
            assert unlike(connection, replay(connection).rows) == []
    assert found == KEPT[past]
    assert standing(empty).ready


def test_migrations_build_what_the_tables_say(empty: Engine) -> None:
    upgrade(empty)
    with empty.begin() as connection:
        command.check(alembic_config(connection))  # raises where a column or an index differs
    found = shape(empty)
    with empty.begin() as connection:
        for table in reversed(Table.metadata.sorted_tables):
            connection.execute(text(f'DROP TABLE "{table.name}"'))
        Table.metadata.create_all(connection)
    assert found == shape(empty)


def shape(engine: Engine) -> dict[str, object]:
    look = inspect(engine)
    return {
        table: (
            sorted(
                (column["name"], str(column["type"]), column["nullable"])
                for column in look.get_columns(table)
            ),
            sorted((check["name"] or "", check["sqltext"]) for check in look.get_check_constraints(table)),
            sorted(
                (unique["name"] or "", *unique["column_names"])
                for unique in look.get_unique_constraints(table)
            ),
            sorted(
                (link["name"] or "", *link["constrained_columns"]) for link in look.get_foreign_keys(table)
            ),
            sorted(
                (
                    index["name"] or "",
                    *map(str, index["column_names"]),
                    str(index["unique"]),
                    str(index["dialect_options"].get(f"{engine.dialect.name}_where")),
                )
                for index in look.get_indexes(table)
            ),
        )
        for table in sorted(look.get_table_names())
        if table != "alembic_version"
    }


def test_an_upgrade_that_fails_leaves_the_database_as_it_was(empty: Engine) -> None:
    with empty.begin() as connection:
        connection.execute(text("CREATE TABLE survey (id INTEGER)"))  # in the way of the first migration
    with pytest.raises(StoreUnready):
        upgrade(empty)
    assert inspect(empty).get_table_names() == ["survey"]


def test_a_database_of_a_newer_program_is_refused_in_words(empty: Engine) -> None:
    upgrade(empty)
    with empty.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = 'r9999'"))
    with pytest.raises(StoreUnready, match="newer than this program knows"):
        require_ready(empty)
    with pytest.raises(StoreUnready, match="install a newer geneticlog"):
        upgrade(empty)


def test_an_empty_database_names_the_command_that_prepares_it(empty: Engine) -> None:
    with pytest.raises(StoreUnready, match="geneticlog database upgrade"):
        require_ready(empty)


def test_a_server_that_is_not_there_is_said_in_one_sentence() -> None:
    engine = open_engine(database_url("postgresql://nobody@127.0.0.1:1/none"))
    with pytest.raises(StoreUnready, match="cannot be opened"):
        require_ready(engine)
    engine.dispose()


def test_another_kind_of_database_is_refused() -> None:
    with pytest.raises(StoreUnready, match="give a SQLite file"):
        database_url("mysql://somewhere/else")


def test_sqlite_is_opened_with_links_enforced_and_a_write_ahead_log(sqlite_database: str) -> None:
    engine = open_engine(database_url(sqlite_database))
    with engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
    engine.dispose()
