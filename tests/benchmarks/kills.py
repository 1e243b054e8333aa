"""Processes killed (SIGKILL) in the middle of a log, restarted on the same log and killed again.

Run: python tests/benchmarks/kills.py [logs]
Each log of 60 lines is killed five times at seeded moments and then finished. After each kill every fish that was
answered is there, in order, with at most the one in hand beside it; at the end each is there once.

Each is a process of its own, forked from one that has loaded the program and opened nothing, so that what is measured
is not its start.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "faces" / "boat"))

from forked_support import Forked
from test_fish_log_killed import N_KILLS, N_LINES, killed_and_finished

from geneticlog.store.check import look_over
from geneticlog.store.engine import open_engine
from geneticlog.store.migrate import upgrade


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
