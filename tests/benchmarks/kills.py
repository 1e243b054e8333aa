"""Processes killed (SIGKILL) in the middle of a log, restarted on the same log and killed again.

Run: python tests/benchmarks/kills.py [logs]
Each log of 60 lines is killed five times at seeded moments and then finished. After each kill every fish that was
answered is there, in order, with at most the one in hand beside it; at the end each is there once.

Each is a process of its own, forked from one that has loaded the program and opened nothing, so that what is measured
is not its start.
"""

from __future__ import annotations

import os
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Mapping
from pathlib import Path
from typing import NoReturn

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "faces" / "boat"))

from test_fish_log_killed import N_KILLS, N_LINES, killed_and_finished

import geneticlog.faces.boat.pipe
import geneticlog.faces.commands.fish  # noqa: F401 - loaded once, before the forks
from geneticlog.faces.app.cli import main as program
from geneticlog.store.check import look_over
from geneticlog.store.engine import open_engine
from geneticlog.store.migrate import upgrade


class Forked:
    """A process of the program as subprocess.Popen makes one, as far as a log that is killed needs it."""

    def __init__(self, command: list[str], *, cwd: Path, env: Mapping[str, str], **_pipes: object) -> None:
        given, to_give = os.pipe()
        told, to_tell = os.pipe()
        sys.stdout.flush()
        self.pid = os.fork()
        if not self.pid:
            os.close(to_give)
            os.close(told)
            self._run(command[3:], given, to_tell, cwd, env)
        os.close(given)
        os.close(to_tell)
        self.stdin = os.fdopen(to_give, "w")
        self.stdout = os.fdopen(told)

    def _run(self, words: list[str], given: int, to_tell: int, cwd: Path, env: Mapping[str, str]) -> NoReturn:
        code = 70
        try:
            os.dup2(given, 0)
            os.dup2(to_tell, 1)
            os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
            sys.stdin, sys.stdout, sys.stderr = os.fdopen(0), os.fdopen(1, "w"), os.fdopen(2, "w")
            os.chdir(cwd)
            os.environ.update(env)
            sys.argv = ["geneticlog", *words]
            code = program()
        except SystemExit as left:
            code = left.code if isinstance(left.code, int) else 0 if left.code is None else 1
        except BaseException:
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            os._exit(code)

    def send_signal(self, number: signal.Signals) -> None:
        os.kill(self.pid, number)

    def wait(self) -> int:
        return os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])


def main(n_logs: int = 40) -> None:
    start, lost, unsound = time.monotonic(), 0, 0
    for seed in range(n_logs):
        with tempfile.TemporaryDirectory() as folder:
            database = Path(folder) / "boat.sqlite"
            engine = open_engine(f"sqlite:///{database}", enforce_links=False)
            upgrade(engine)
            try:
                killed_and_finished(str(database), Path(folder), seed, Forked)
            except AssertionError as fault:
                lost += 1
                print(f"log {seed}: {fault}")
            unsound += bool(look_over(engine).faults)
            engine.dispose()
        print(f"{seed + 1} logs", file=sys.stderr, flush=True)
    print("| logs | lines | kills | logs with a promise broken | databases that do not hold | seconds |")
    print("|---|---|---|---|---|---|")
    took = time.monotonic() - start
    print(f"| {n_logs} | {n_logs * N_LINES:,} | {n_logs * N_KILLS} | {lost} | {unsound} | {took:.0f} |")


if __name__ == "__main__":
    from results import kept

    with kept("kills"):
        main(*(int(argument) for argument in sys.argv[1:]))
