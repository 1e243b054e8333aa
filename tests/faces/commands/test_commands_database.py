"""Preparing, checking, copying and restoring a database, and what is said when that cannot be."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

from conftest import Runner


def test_upgrade_makes_a_database_and_says_when_there_is_nothing_to_do(tmp_path: Path) -> None:
    run = Runner(str(tmp_path / "new" / "bass.sqlite"))
    assert "is ready at revision" in run("database", "upgrade").stdout
    assert "nothing changed" in run("database", "upgrade").stdout


def test_check_counts_the_rows_of_each_table(run: Runner) -> None:
    found = json.loads(run("database", "check", "--json").stdout)
    assert found["rows"]["lake"] == 0
    assert found["holds"]
    assert "All of it holds" in run("database", "check").stdout


def test_a_mistyped_path_makes_no_file(tmp_path: Path) -> None:
    run = Runner(str(tmp_path / "typo.sqlite"))
    result = run("database", "check", fails=6)
    assert "there is no database at" in result.stderr
    assert "geneticlog database upgrade" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_copy_can_be_restored_and_what_was_there_is_kept(run_on_sqlite: Runner, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    run_on_sqlite("database", "backup", copy)
    assert "is there already" in run_on_sqlite("database", "backup", copy, fails=4).stderr
    assert "--replace" in run_on_sqlite("database", "restore", copy, fails=4).stderr
    assert "is kept as" in run_on_sqlite("database", "restore", copy, "--replace").stdout
    run_on_sqlite("database", "check")


def test_a_copy_may_have_any_name(run_on_sqlite: Runner, tmp_path: Path) -> None:
    copy = tmp_path / "copy #2 100%?.sqlite"
    run_on_sqlite("database", "backup", copy)
    run_on_sqlite("database", "restore", copy, "--replace")
    assert [one.name for one in tmp_path.iterdir() if one.name.startswith("copy")] == [copy.name]


def test_a_file_that_is_no_database_is_not_restored(run_on_sqlite: Runner, tmp_path: Path) -> None:
    other = tmp_path / "letter.sqlite"
    other.write_text("Dear lab, the vials are in the post.")
    assert "not a complete geneticlog database" in run_on_sqlite("database", "restore", other, fails=6).stderr
    assert "no file" in run_on_sqlite("database", "restore", tmp_path / "none", fails=3).stderr
    run_on_sqlite("database", "check")


def test_a_database_of_a_newer_program_is_refused(run_on_sqlite: Runner) -> None:
    with sqlite3.connect(run_on_sqlite.database) as connection:
        connection.execute("UPDATE alembic_version SET version_num = 'r9999'")
    connection.close()
    assert "newer than this program knows" in run_on_sqlite("database", "check", fails=6).stderr


def test_a_text_file_in_the_place_of_the_database_is_said_plainly(tmp_path: Path) -> None:
    file = tmp_path / "bass.sqlite"
    file.write_text("not a database, but long enough to be taken for one" * 20)
    assert "cannot be opened" in Runner(str(file))("database", "check", fails=6).stderr
    assert file.read_text().startswith("not a database")
    assert "cannot be opened" in Runner(str(file))("database", "upgrade", fails=6).stderr


def test_what_was_done_to_a_database_is_shown_as_json_when_asked(tmp_path: Path) -> None:
    file, copy = tmp_path / "new.sqlite", tmp_path / "copy.sqlite"

    def shown(*arguments: object) -> dict:
        return json.loads(Runner(str(file))(*arguments, "--json").stdout)

    made = shown("database", "upgrade")
    assert (made["database"], made["revision_before"], made["copy"]) == (str(file), None, None)
    assert shown("database", "upgrade")["revision_before"] == made["revision"]
    backup = shown("database", "backup", copy)
    assert (backup["database"], backup["copy"]) == (str(file), str(copy))
    assert f"sha256 {backup['sha256']}".encode() in copy.read_bytes()[-128:]
    restored = shown("database", "restore", copy, "--replace")
    assert (restored["database"], restored["from"]) == (str(file), str(copy))
    assert Path(restored["kept"]).exists()
