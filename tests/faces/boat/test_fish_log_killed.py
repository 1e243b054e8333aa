"""Pulling the plug at any moment loses at most the line being typed."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from forked_support import Forked
from survey_support import codes, fish_of, prepared

N_LINES = 60
N_KILLS = 5  # of one log, one after the other


@pytest.mark.parametrize("seed", range(2))
def test_every_acknowledged_fish_survives_a_kill(sqlite_database: str, tmp_path: Path, seed: int) -> None:
    """A real process is killed (SIGKILL) at a seeded moment, started again on the same log, and killed again.

    Of the first log every process is started by itself; those of the other are forked, which costs no start.
    """
    killed_and_finished(sqlite_database, tmp_path, seed, Forked if seed else subprocess.Popen)


def killed_and_finished(
    sqlite_database: str, tmp_path: Path, seed: int, start: Callable[..., Any] = subprocess.Popen
) -> None:
    """Log 60 lines, killed five times on the way. start: makes a process, as subprocess.Popen does."""
    prepared(sqlite_database, n_vials=N_LINES)
    moments = random.Random(seed)
    vials = codes(N_LINES)
    log = [f"{vials[i]} {10 + i / 10:.1f}" if i % 3 else f"{8 + i / 10:.1f} x2" for i in range(N_LINES)]
    command = [
        sys.executable,
        "-c",
        "import sys; from geneticlog.faces.app.cli import main; sys.exit(main())",
        "fish",
        "log",
        "HERON-2026",
    ]
    environment = {**os.environ, "GENETICLOG_DATABASE": sqlite_database, "GENETICLOG_PERSON": "Ada Test"}
    acknowledged = 0

    def started() -> Any:
        process = start(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            text=True, cwd=tmp_path, env=environment,
        )  # fmt: skip
        process.stdin.write("\n".join(log) + "\n")
        process.stdin.flush()
        return process

    for _ in range(N_KILLS):
        process = started()
        wanted = moments.randrange(1, N_LINES - 5)
        heard = [process.stdout.readline() for _ in range(wanted)]
        process.send_signal(signal.SIGKILL)
        rest = process.stdout.read().splitlines()
        process.stdin.close()
        process.stdout.close()
        assert process.wait() == -signal.SIGKILL
        assert all(line.startswith(f"line {at}: ") for at, line in enumerate(heard, start=1))
        acknowledged = max(acknowledged, wanted + len([line for line in rest if line.startswith("line ")]))
        # all that was said to be stored is there, in order, and at most the one line in hand beside it
        stored = fish_of(sqlite_database)
        assert [row[0] for row in stored] == list(range(1, len(stored) + 1))
        assert acknowledged <= len(stored) <= acknowledged + 1
    finished = started()
    finished.stdin.close()
    finished.stdout.read()
    finished.stdout.close()
    assert finished.wait() == 0
    stored = fish_of(sqlite_database)
    assert len(stored) == N_LINES
    assert [row[1] for row in stored] == [1 if i % 3 else 2 for i in range(N_LINES)]
    assert [row[5] for row in stored] == [(vials[i],) if i % 3 else () for i in range(N_LINES)]
