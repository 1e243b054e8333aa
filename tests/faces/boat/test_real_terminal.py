"""The prompt in a real terminal, with a scanner that types as scanners do: with Enter, with Tab, with nothing."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import pytest
from survey_support import codes, fish_of, prepared

if sys.platform == "win32":
    pytest.skip("no pseudo-terminal there", allow_module_level=True)
import pexpect

ONE, TWO = codes(2)
COMMAND = [
    "-c", "import sys; from geneticlog.faces.app.cli import main; sys.exit(main())", "fish", "log", "HERON-2026",
]  # fmt: skip


class Terminal:
    """A prompt in a pseudo-terminal, of so many columns."""

    def __init__(self, database: str, folder: Path, *options: str, columns: int = 80) -> None:
        environment = {
            **os.environ, "GENETICLOG_DATABASE": database, "GENETICLOG_PERSON": "Ada Test", "TERM": "xterm",
            "NO_COLOR": "1", "INPUTRC": "/dev/null",
        }  # fmt: skip
        self.child = pexpect.spawn(
            sys.executable, [*COMMAND, *options], env=environment, cwd=str(folder), encoding="utf-8",
            dimensions=(40, columns), timeout=60,
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a run in the background ignores Ctrl-C
        )  # fmt: skip
        self.columns = columns
        self.seen = ""

    def waits(self, prompt: str) -> str:
        """Wait for a prompt, and return what came before it."""
        self.child.expect_exact(prompt)
        said = str(self.child.before)
        self.seen += said + prompt
        return said

    def keys(self, text: str) -> None:
        self.child.send(text)

    def plain_lines(self) -> list[str]:
        import re

        plain = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]|\x07|\r", "", self.seen)
        return plain.splitlines()


@pytest.mark.parametrize("columns", [80, 60])
def test_a_scanner_in_a_real_terminal(sqlite_database: str, tmp_path: Path, columns: int) -> None:
    """A scanner that sends Enter after a code, then one that sends Tab, then one that sends nothing."""
    prepared(sqlite_database, n_vials=6, targets={"stock": 2, "quality": 1, "preferred": 3})
    boat = Terminal(sqlite_database, tmp_path, "--order", "vial,length", columns=columns)
    boat.waits("fish> ")
    vials = codes(6)
    for at, sends in enumerate(("\r", "\t", "")):
        for code, length in zip(vials[2 * at :], ("16.5", "12 1/2"), strict=False):
            shown = f"{code[:2]} {code[2:5]} {code[5:8]} {code[8]}"
            boat.keys(f"{code}{sends}")
            if sends == "\r":
                boat.waits(f"{shown}> ")  # the open card stands in the prompt
            boat.keys(f"{length}\r")
            said = boat.waits("fish> ")
            assert f"vial {shown}" in " ".join(said.split())
    boat.keys("12.1\r")  # measured only
    boat.waits("fish> ")
    boat.keys("help\r")
    boat.waits("fish> ")
    boat.keys("undo\r")
    boat.waits("fish> ")
    boat.keys("redo\r")
    boat.waits("fish> ")
    boat.keys("done\r")
    boat.child.expect(pexpect.EOF)
    assert "Stored in this sitting and not undone: 7 fish." in boat.child.before
    stored = [(row[2], row[5]) for row in fish_of(sqlite_database)]
    assert stored == [((16.5, 12.5)[at % 2], (code,)) for at, code in enumerate(vials)] + [(12.1, ())]
    assert max(map(len, boat.plain_lines())) <= columns


def test_the_battery_goes_flat_with_a_card_open(sqlite_database: str, tmp_path: Path) -> None:
    prepared(sqlite_database)
    boat = Terminal(sqlite_database, tmp_path)
    boat.waits("fish> ")
    for keys, prompt in (
        (f"{ONE}\r", "BG 000 001 J> "), ("16.5\r", "BG 000 001 J, 16.5 in> "), (f"{TWO}\r", "BG 000 002 H> "),
    ):  # fmt: skip
        boat.keys(keys)
        boat.waits(prompt)
    boat.child.kill(signal.SIGKILL)
    boat.child.wait()
    assert [(row[2], row[5]) for row in fish_of(sqlite_database)] == [(16.5, (ONE,))]
    again = Terminal(sqlite_database, tmp_path)
    said = again.waits("fish> ")
    assert "a card was left open at" in " ".join(said.split())
    again.keys("y\r")
    again.waits("BG 000 002 H> ")
    again.keys("12.5\r")
    again.waits("BG 000 002 H, 12.5 in> ")
    again.child.sendcontrol("c")  # as done: the open card is a fish, and is stored
    again.child.expect(pexpect.EOF)
    assert [(row[2], row[5]) for row in fish_of(sqlite_database)] == [(16.5, (ONE,)), (12.5, (TWO,))]
