"""The command line as other machines run it: code pages, byte-order marks, odd names of folders, files held open."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from geneticlog.faces.app.cli import said_of_the_disk
from geneticlog.store.writing import write_whole

START = [sys.executable, "-c", "from geneticlog.faces.app.cli import main; raise SystemExit(main())"]


def run(
    folder: Path,
    *words: str,
    encoding: str = "cp1252",
    database: str = "bass.sqlite",
    locale: str = "C.UTF-8",
) -> subprocess.CompletedProcess[bytes]:
    """Run the program with its console in a code page, as on Windows; in locale C, files too have no encoding."""
    environment = {
        **os.environ,
        "GENETICLOG_DATABASE": database,
        "GENETICLOG_PERSON": "Ada Test",
        "PYTHONIOENCODING": encoding,
        "PYTHONUTF8": "0",
        "LC_ALL": locale,
    }
    done = subprocess.run([*START, *words], cwd=folder, env=environment, capture_output=True)
    assert b"Traceback" not in done.stderr, done.stderr.decode(errors="replace")
    return done


# characters that mean something in a URL, and names as people give them
NAMES = ["two words", "étang du héron", "a#b&c=d", "x" * 180]


@pytest.mark.parametrize("name", NAMES)
def test_the_database_asked_for_is_the_one_that_is_opened(tmp_path: Path, name: str) -> None:
    folder = tmp_path / name
    folder.mkdir()
    database = str(folder / "lake 100%.sqlite")
    assert run(tmp_path, "database", "upgrade", encoding="utf-8", database=database).returncode == 0
    assert sorted(file.name for file in folder.iterdir()) == ["lake 100%.sqlite"]
    assert [one.name for one in tmp_path.iterdir()] == [name]
    run(tmp_path, "lake", "add", "HERON", "Heron", encoding="utf-8", database=database)
    shown = run(tmp_path, "status", "--json", encoding="utf-8", database=database)
    found = json.loads(shown.stdout)
    assert (found["database"], found["n_lakes"]) == (database, 1)


def test_a_code_page_console_gets_every_word_or_an_escape(tmp_path: Path) -> None:
    assert run(tmp_path, "database", "upgrade").returncode == 0
    done = run(tmp_path, "lake", "add", "HERON", "Héron – ≥ 5 ha")
    assert done.returncode == 0, done.stderr
    shown = run(tmp_path, "lake", "show", "HERON", "--json")
    assert json.loads(shown.stdout.decode("cp1252"))["lake"] == "HERON"
    for words in (["lake", "list"], ["status"], ["plan", "HERON", "--look"], ["--help"], ["label", "stocks"]):
        done = run(tmp_path, *words)
        assert done.returncode == 0, (words, done.stderr)
        done.stdout.decode("cp1252")


def test_files_read_and_written_do_not_depend_on_the_locale(tmp_path: Path) -> None:
    run(tmp_path, "database", "upgrade")
    run(tmp_path, "lake", "add", "HERON", "Heron")
    run(tmp_path, "survey", "open", "HERON", "2026-05-12", "--code", "HERON-2026")
    sheet = "fish,length,remarks\n1,16.5,ragged fin – héron\n".encode()
    (tmp_path / "sheet.csv").write_bytes(sheet)
    done = run(tmp_path, "fish", "read", "HERON-2026", "sheet.csv", locale="C")
    assert done.returncode == 0, done.stderr.decode(errors="replace")
    listed = run(tmp_path, "fish", "list", "HERON-2026", "--json", encoding="utf-8")
    assert "ragged fin – héron" in json.loads(listed.stdout)["fish"][0]["remarks"]
    assert run(tmp_path, "fieldsheet", "HERON-2026", locale="C").returncode == 0
    assert run(tmp_path, "report", "export", "--out", "open data %", locale="C").returncode == 0
    assert (tmp_path / "open data %").is_dir()


def test_a_file_that_another_program_holds_is_named_and_the_old_one_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # what Windows answers while a spreadsheet program shows the file; here by the same error of the system call
    target = tmp_path / "report.xlsx"
    target.write_bytes(b"old")

    def held(self: Path, _target: Path) -> Path:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "replace", held)
    with pytest.raises(PermissionError) as fault:
        write_whole(target, b"new")
    assert said_of_the_disk(fault.value) == (
        f"{target}: permission denied; close it in the spreadsheet or viewer, or check its permissions"
    )
    assert [file.name for file in tmp_path.iterdir()] == ["report.xlsx"]
    assert target.read_bytes() == b"old"


def test_an_argument_that_is_no_text_is_named(tmp_path: Path) -> None:
    done = subprocess.run(
        [*START, b"lake", b"add", b"HERON", b"H\xe9ron"],
        cwd=tmp_path,
        env={**os.environ, "LC_ALL": "C.UTF-8"},
        capture_output=True,
    )
    assert done.returncode == 2
    assert done.stderr.decode() == (
        "geneticlog: argument 4, 'H\\xe9ron', is not text in the encoding of this terminal (utf-8); type it again,"
        " or set the terminal to UTF-8\n"
    )
