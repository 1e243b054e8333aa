"""A disk that is full and a medium that is only read: what is stored is said exactly, and the rest is not lost."""

from __future__ import annotations

import json
import os
import re
import resource
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from conftest import Runner
from survey_support import fish_of, prepared

N_LINES = 24
OBEY_PERMISSIONS = [
    "setpriv",
    "--bounding-set",
    "-dac_override,-dac_read_search",
]  # of root, who else need not


def run_apart(
    database: Path, folder: Path, *words: str, given: str = "", largest: int | None = None
) -> tuple[int, str, str]:
    """Run the program on its own; ``largest``: bytes to which a file may grow, as on a disk that has no more."""
    return apart([sys.executable, "-m", "geneticlog", *words], database, folder, given=given, largest=largest)


def apart(
    command: list[str], database: Path, folder: Path, *, given: str = "", largest: int | None = None
) -> tuple[int, str, str]:
    """Run a program that obeys permissions; its exit code, what it prints and its faults."""
    if os.geteuid() == 0 and largest is None:
        command = [*OBEY_PERMISSIONS, *command]

    def no_larger() -> None:
        if largest is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))

    where = {**os.environ, "GENETICLOG_DATABASE": str(database), "GENETICLOG_TRACEBACK": "", "NO_COLOR": "1"}
    where["PYTHONPATH"] = os.pathsep.join(
        filter(None, [str(Path(__file__).parents[2]), where.get("PYTHONPATH")])
    )
    done = subprocess.run(
        command, input=given, capture_output=True, text=True, cwd=folder, env=where, check=False, preexec_fn=no_larger
    )  # fmt: skip
    return done.returncode, done.stdout, done.stderr


def all_apart(database: Path, folder: Path, *commands: list[str]) -> list[tuple[int, str]]:
    """Run commands one after the other in one program of its own; the exit code and the faults of each."""
    run = (
        "import json, sys; from click.testing import CliRunner; from geneticlog.faces.app.cli import cli; "
        "done = [CliRunner().invoke(cli, words) for words in json.loads(sys.argv[1])]; "
        "print(json.dumps([(one.exit_code, one.stderr) for one in done]))"
    )
    _, out, fault = apart([sys.executable, "-c", run, json.dumps(commands)], database, folder)
    assert out, fault
    return [(code, said) for code, said in json.loads(out)]


@pytest.mark.parametrize("kept", [True, False])
def test_a_pipe_on_a_full_disk_loses_no_line(kept: bool, run_on_sqlite: Runner, tmp_path: Path) -> None:
    prepared(run_on_sqlite.database, n_vials=1)
    database = Path(run_on_sqlite.database)
    lines = "".join(f"{8 + i / 10:.1f} in with a remark\n" for i in range(N_LINES)).replace(
        " with a remark", ""
    )
    folder = tmp_path if kept else Path("/proc")  # where no file can be made at all
    largest = database.stat().st_size + 16_000
    code, out, fault = run_apart(database, folder, "fish", "log", "HERON-2026", given=lines, largest=largest)
    answered = re.findall(r"^line (\d+): fish", out, re.MULTILINE)
    stored = fish_of(run_on_sqlite.database)
    assert (code, len(stored)) == (6, len(answered)), fault
    assert 0 < len(stored) < N_LINES
    assert f"lines 1 to {len(stored)} of {N_LINES} are stored" in fault
    rest = (tmp_path / "HERON-2026.rest.txt").read_text() if kept else out
    assert rest.endswith(lines)
    run_on_sqlite("fish", "log", "HERON-2026", input=lines)
    assert len(fish_of(run_on_sqlite.database)) == N_LINES
    run_on_sqlite("database", "check")


def test_a_copy_on_a_full_disk_is_whole_or_not_there(run_on_sqlite: Runner, tmp_path: Path) -> None:
    prepared(run_on_sqlite.database, n_vials=1)
    there = {one.name for one in tmp_path.iterdir()}
    for words in (["backup", "copy.sqlite"], ["copy", run_on_sqlite.database, "copy.sqlite"]):
        code, _, fault = run_apart(
            Path(run_on_sqlite.database), tmp_path, "database", *words, largest=100_000
        )
        assert code in (1, 6), fault
        assert "fault of geneticlog" not in fault
        assert {one.name for one in tmp_path.iterdir()} == there
    run_on_sqlite("database", "check")


def test_a_report_that_is_not_kept_in_the_record_is_not_there(run_on_sqlite: Runner, tmp_path: Path) -> None:
    """The entry of the journal is the last that is stored: what fails there comes after the files are placed."""
    prepared(run_on_sqlite.database, n_vials=1)
    run_on_sqlite("fish", "log", "HERON-2026", input="9 in\n14 in\n")
    out = tmp_path / "report"
    with sqlite3.connect(run_on_sqlite.database) as database:
        database.execute(
            "CREATE TRIGGER full BEFORE INSERT ON journal BEGIN SELECT RAISE(ABORT, 'full'); END"
        )
    database.close()
    run_on_sqlite("report", "lake", "HERON", "--out", out, fails=4)
    assert not out.exists()
    code, _, fault = run_apart(
        Path(run_on_sqlite.database), tmp_path, "report", "lake", "HERON", "--out", "data", largest=40_000
    )
    assert (code, "make room there, or name another place" in fault) == (1, True)
    assert not (tmp_path / "data").exists()


def test_answers_that_nobody_can_read_are_no_loss(run_on_sqlite: Runner, tmp_path: Path) -> None:
    prepared(run_on_sqlite.database, n_vials=1)
    where = {**os.environ, "GENETICLOG_DATABASE": run_on_sqlite.database, "GENETICLOG_TRACEBACK": ""}
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "geneticlog", "fish", "log", "HERON-2026"], input="8 in\n9 in\n10 in\n",
            stdout=full, stderr=subprocess.PIPE, text=True, cwd=tmp_path, env=where, check=False,
        )  # fmt: skip
    assert done.returncode == 1
    assert "line 1 of 3 is stored" in done.stderr
    assert (tmp_path / "HERON-2026.rest.txt").read_text() == "8 in\n9 in\n10 in\n"
    assert len(fish_of(run_on_sqlite.database)) == 1


@pytest.mark.skipif(
    os.geteuid() == 0 and not shutil.which("setpriv"),
    reason="root obeys no permission, and there is no setpriv",
)
def test_a_medium_that_is_only_read(run_on_sqlite: Runner, tmp_path: Path) -> None:
    prepared(run_on_sqlite.database, n_vials=1, targets={"stock": 2})
    run_on_sqlite("fish", "log", "HERON-2026", input="9 in\n14 in\n")
    medium, out = tmp_path / "medium", tmp_path / "out"
    medium.mkdir()
    out.mkdir()
    database = medium / "bass.sqlite"
    shutil.copy(run_on_sqlite.database, database)
    database.chmod(0o444)
    medium.chmod(0o555)
    try:
        read = (
            ["lake", "list"], ["coverage", "HERON-2026"], ["inbox"], ["status"], ["database", "check"],
            ["report", "lake", "HERON", "--out", "report"], ["report", "lakes", "--out", "lakes"],
            ["database", "backup", "copy.sqlite"],
        )  # fmt: skip
        write = (
            ["lake", "add", "WILLET", "Willet"],
            ["database", "restore", "copy.sqlite", "--replace"],
        )
        told = all_apart(database, out, *read, *write)
        for words, (code, fault) in zip(read, told, strict=False):
            assert code == 0, (words, fault)
        assert "not kept in the record" in told[5][1]
        for words, (code, fault) in zip(write, told[len(read) :], strict=True):
            assert code in (1, 6), (words, fault)
            assert "fault of geneticlog" not in fault
        code, _, fault = run_apart(database, out, "fish", "log", "HERON-2026", given="7 in\n8 in\n")
        assert (code, "no line of 2 is stored" in fault) == (6, True)
        assert (out / "HERON-2026.rest.txt").read_text() == "7 in\n8 in\n"
        assert sorted(one.name for one in medium.iterdir()) == ["bass.sqlite"]
    finally:
        medium.chmod(0o755)
