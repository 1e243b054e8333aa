"""No name commands a terminal, and no slip of the keyboard is a fault of the program."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pexpect
import pytest
from conftest import Runner
from survey_support import prepared

from geneticlog.faces.app.plain_terminal import shown

ESCAPES = "Heron \x1b[2J\x1b[31mred\x9b1m\x07\u202e"
HIDING = ("\x1b[8m", "\x1b[0;7m", "\x1b[30;40m", "\x1b[38;5;0m")  # what may not even pass as a colour
WORDS = (  # what is typed -> the exit code, part of the sentence
    (["lake", "add", "B", "Heron \x1b[31mred"], 2, "holds a control character"),
    (["lake", "add", "B", "x\udcffy"], 2, "is not UTF-8"),
    (["lake", "show", "\udcff\udcfe"], 2, "is not UTF-8"),
    (["history", "\udcff"], 2, "is not UTF-8"),
    (["status", "--by", "a\x1b"], 2, "holds a control character"),
    (["lake", "list", "--database", "\udcff"], 2, "is not UTF-8"),
    (["\x1b[2J"], 2, "there is no command"),
    (["correct", "fish", "HERON-2026", "9" * 25, "--length", "9", "--why", "x"], 2, "too large a number"),
    (["decide", "F" + "9" * 25, "accept", "--why", "x"], 3, "no finding"),
    (["label", "print", "-n", "9" * 20], 2, "too large a number"),
    (["label", "print", "-n", "1", "--stock", "nowhere"], 3, "no label stock"),
    (["serve", "--port", "eight"], 2, "is not a valid integer"),
    (["serve", "--port", "99999999"], 2, "is not in the range"),
    (["return", "preview", "{lab}", "--column", "q=FL"], 5, "no column headed 'FL'"),
    (["return", "preview", "{lab}", "--column", "q"], 2, "q"),
    (["lab", "add", "Q", "Quill", "--layout", "{lab}"], 5, "lab.csv"),
    (["label", "stocks", "--stocks", "{lab}"], 1, "this is not TOML"),
    (["reconcile", "SENT", "--out", "a\0b"], 2, "is not the name of a file"),
    (["return", "preview", "{escape}"], 3, "there is no such file"),
)


@pytest.fixture
def run(run_on_sqlite: Runner) -> Runner:
    prepared(run_on_sqlite.database, n_vials=1)
    return run_on_sqlite


@pytest.mark.parametrize(("words", "code", "said"), WORDS)
def test_a_slip_is_a_sentence(words: list[str], code: int, said: str, run: Runner, tmp_path: Path) -> None:
    lab = tmp_path / "lab.csv"
    lab.write_text("Sample,Florida\nBG000001J,0.25\n")
    named = {"{lab}": str(lab), "{escape}": "o\x1b[31m"}
    result = run.tried(*(named.get(word, word) for word in words))
    assert result.exit_code == code, result.output
    assert said.format(lab=lab) in " ".join(result.output.split())
    assert "fault of geneticlog" not in result.output
    assert "\x1b" not in result.output


def test_a_file_name_in_a_fault_sets_no_colour_at_a_terminal(run: Runner) -> None:
    command = pexpect.spawn(
        sys.executable, ["-m", "geneticlog", "return", "preview", "lab\x1b[31m.csv"], encoding="utf-8",
        env={**os.environ, "GENETICLOG_DATABASE": run.database},
    )  # fmt: skip
    seen = command.read()
    command.wait()
    assert "lab\\u001b[31m.csv" in seen
    assert "\x1b" not in seen
    assert all("\x1b" not in shown(one) for one in HIDING)
    assert shown("\x1b[1;31mx\x1b[0m") == "\x1b[1;31mx\x1b[0m"


def test_a_name_that_came_in_before_is_shown_and_not_obeyed(run: Runner) -> None:
    with closing(sqlite3.connect(run.database)) as connection:
        connection.execute("UPDATE lake SET name = ?", (ESCAPES,))
        connection.commit()
    environment = {**os.environ, "GENETICLOG_DATABASE": run.database, "COLUMNS": "200"}
    every = (
        "import sys\n"
        "from geneticlog.faces.app.cli import main\n"
        "for words in ('lake list', 'lake show HERON', 'survey list'):\n"
        "    sys.argv[1:] = words.split()\n"
        "    try: main()\n"
        "    except SystemExit as end: print('===== exit', end.code)"
    )
    command = pexpect.spawn(
        sys.executable, ["-c", every], env=environment, encoding="utf-8", dimensions=(40, 200)
    )  # fmt: skip
    seen = command.read()
    command.wait()
    assert seen.count("===== exit 0") + seen.count("===== exit None") == 3
    assert "Heron" in seen
    assert not [one for one in ("\x1b[2J", "\x9b", "\x07", "\u202e") if one in seen]
    assert json.loads(run("lake", "list", "--json").stdout)["lakes"][0]["name"] == ESCAPES
    piped = subprocess.run(
        [sys.executable, "-m", "geneticlog", "lake", "list"], env=environment, capture_output=True, check=True
    )
    assert b"\\u001b[2J" in piped.stdout
    assert b"\x1b" not in piped.stdout
