"""A copy is put back whole, or not at all; no fish is ever logged into a file that is gone."""

from __future__ import annotations

import random
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from conftest import Runner
from survey_support import a_survey, fish_of, prepared

from geneticlog.errors import Refused, StoreUnready
from geneticlog.store.backup import copy_beside, put_back
from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.seal import require_seal


@pytest.fixture
def run(run_on_sqlite: Runner) -> Runner:
    prepared(run_on_sqlite.database, n_vials=5)
    run_on_sqlite("fish", "log", "HERON-2026", input="BG000001J 16.5 in\n12 in\n")
    return run_on_sqlite


def every_row(file: Path) -> dict[str, list[tuple[object, ...]]]:
    with closing(sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)) as connection:
        names = [
            name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        ]
        return {name: connection.execute(f'SELECT * FROM "{name}" ORDER BY 1').fetchall() for name in names}


def test_a_restore_brings_back_every_row_of_every_table(run: Runner, tmp_path: Path) -> None:
    database, copy = Path(run.database), tmp_path / "copy.sqlite"
    before = every_row(database)
    assert len(before["fish"]) == 2
    run("database", "backup", copy)
    run("fish", "log", "HERON-2026", input="14 in\n")
    later = every_row(database)
    said = run("database", "restore", copy, "--replace").stdout
    assert every_row(database) == before
    kept = next(tmp_path.glob("test.replaced.*.sqlite"))
    assert str(kept) in said
    assert every_row(kept) == later
    require_seal(kept)
    run("database", "restore", kept, "--replace")  # and back again
    assert every_row(database) == later
    run("database", "restore", copy, "--database", tmp_path / "fresh.sqlite")
    assert every_row(tmp_path / "fresh.sqlite") == before


def test_no_restore_while_somebody_has_the_database_open(run: Runner, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    run("database", "backup", copy)
    engine = open_engine(database_url(run.database))  # as a log prompt between two fish
    with one_transaction(engine) as session:
        a_survey(session, "HERON-MORE", n_vials=0)
    before = Path(run.database).stat().st_ino
    assert "has" in run("database", "restore", copy, "--replace", fails=4).stderr
    with one_transaction(engine) as session:
        a_survey(session, "HERON-LAST", n_vials=0)
    engine.dispose()
    assert {row[2] for row in every_row(Path(run.database))["survey"]} == {
        "HERON-2026",
        "HERON-MORE",
        "HERON-LAST",
    }
    assert list(tmp_path.glob("test.replaced.*")) == []
    run("database", "restore", copy, "--replace")
    assert (
        Path(run.database).stat().st_ino == before
    )  # written in place: an old handle leads to the same file


def test_a_symbolic_link_is_followed(run: Runner, tmp_path: Path) -> None:
    copy, link = tmp_path / "copy.sqlite", tmp_path / "link" / "bass.sqlite"
    run("database", "backup", copy)
    link.parent.mkdir()
    link.symlink_to(run.database)
    run("fish", "log", "HERON-2026", input="14 in\n")
    run("database", "restore", copy, "--replace", "--database", link)
    assert link.is_symlink()
    assert len(fish_of(run.database)) == 2
    assert "the database itself" in run("database", "restore", link, "--replace", fails=4).stderr


def test_what_is_foreign_newer_or_unsealed_is_not_put_over_a_good_database(
    run: Runner, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.sqlite"
    run("database", "backup", copy)
    before = every_row(Path(run.database))
    foreign, newer, plain, cut = (
        tmp_path / f"{name}.sqlite" for name in ("foreign", "newer", "plain", "cut")
    )
    with closing(sqlite3.connect(foreign)) as connection:
        connection.execute("CREATE TABLE alembic_version (version_num TEXT)")
        connection.execute("CREATE TABLE photos (id INTEGER)")
    for file, statement in ((newer, "UPDATE alembic_version SET version_num = 'r9999'"), (plain, "SELECT 1")):
        shutil.copy(run.database, file)
        with closing(sqlite3.connect(file)) as connection:
            connection.execute(statement)
            connection.commit()
    cut.write_bytes(copy.read_bytes()[:-4096])
    for file, words in (
        (foreign, "another program"),
        (newer, "no seal"),
        (plain, "no seal"),
        (cut, "no seal"),
    ):
        assert words in run("database", "restore", file, "--replace", fails=6).stderr
    assert "newer than" in run("database", "restore", newer, "--replace", "--unsealed", fails=6).stderr
    assert every_row(Path(run.database)) == before
    run("database", "restore", plain, "--replace", "--unsealed")
    run("database", "restore", copy, "--database", foreign, "--replace", fails=6)


def test_no_flipped_bit_gets_past_the_seal(run: Runner, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    run("database", "backup", copy)
    require_seal(copy)
    whole = copy.read_bytes()
    chosen = random.Random(20261129)
    places = [chosen.randrange(8 * len(whole)) for _ in range(300)] + [
        8 * (len(whole) - 1 - i) for i in range(100)
    ]
    flipped = tmp_path / "flipped.sqlite"
    for place in places:
        content = bytearray(whole)
        content[place // 8] ^= 1 << (place % 8)
        flipped.write_bytes(content)
        with pytest.raises(StoreUnready):
            require_seal(flipped)
    with closing(sqlite3.connect(f"{copy.as_uri()}?mode=ro", uri=True)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == (
            "ok",
        )  # a sealed copy is a database


def test_a_damaged_database_is_kept_aside(run: Runner, tmp_path: Path) -> None:
    copy, database = tmp_path / "copy.sqlite", Path(run.database)
    run("database", "backup", copy)
    database.write_bytes(b"ruined" * 1000)
    kept = put_back(copy, database, replace=True)
    assert kept is not None
    assert kept.read_bytes().startswith(b"ruined")
    assert len(fish_of(run.database)) == 2
    with pytest.raises(Refused, match="say --replace"):
        put_back(copy, database, replace=False)


@pytest.mark.skipif(sys.platform == "win32", reason="a file that is open cannot be renamed there")
def test_a_damaged_database_that_another_program_has_open_is_left_alone(run: Runner, tmp_path: Path) -> None:
    database, copy = Path(run.database), tmp_path / "copy.sqlite"
    run("database", "backup", copy)
    database.write_bytes(b"x" * 10_000)
    hold = (
        "import fcntl, sys; file = open(sys.argv[1], 'rb+');"
        " fcntl.lockf(file, fcntl.LOCK_EX, 1, 0x40000002); print('held', flush=True); sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", hold, database], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == b"held\n"
        assert "another program has" in run("database", "restore", copy, "--replace", fails=4).output
        assert database.read_bytes() == b"x" * 10_000
        other.communicate()
    run("database", "restore", copy, "--replace")
    assert len(fish_of(run.database)) == 2


def test_a_log_that_is_lost_costs_no_fish(run: Runner, tmp_path: Path) -> None:
    """What is committed is in the file itself, also while a program that was killed has left its log behind."""
    engine = open_engine(database_url(run.database))
    with one_transaction(engine) as session:
        a_survey(session, "HERON-LAST", n_vials=0)
    alone = tmp_path / "alone.sqlite"
    shutil.copy(run.database, alone)  # without -wal and -shm, while they are in use
    engine.dispose()
    assert {row[2] for row in every_row(alone)["survey"]} == {"HERON-2026", "HERON-LAST"}


def test_copies_of_one_second_have_names_of_their_own(run: Runner) -> None:
    assert len({copy_beside(Path(run.database), "r0001") for _ in range(3)}) == 3
