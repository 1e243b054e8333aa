"""How quickly the program starts, against the bare libraries it cannot do without, in one run.

Run: python tests/benchmarks/start_up.py [runs]
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path


def seconds(command: list[str], folder: Path) -> float:
    environment = {**os.environ, "GENETICLOG_DATABASE": "heron.sqlite"}
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, cwd=folder, env=environment)
    return time.perf_counter() - start


def ratio(ours: list[str], bare: list[str], folder: Path, runs: int) -> tuple[float, float, float]:
    """Return the medians of both, run in turn, and the median ratio pair by pair."""
    pairs = [(seconds(ours, folder), seconds(bare, folder)) for _ in range(runs + 1)][1:]
    return (
        statistics.median(a for a, _ in pairs),
        statistics.median(b for _, b in pairs),
        statistics.median(a / b for a, b in pairs),
    )


def main(runs: int = 15) -> None:
    program = [sys.executable, "-m", "geneticlog"]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        subprocess.run([*program, "demo", "out"], check=True, capture_output=True, cwd=folder)
        cases = {
            "geneticlog --help / import click": (["--help"], "import click"),
            "geneticlog coverage / import sqlalchemy.orm": (
                ["coverage", "HERON-2026"],
                "import sqlalchemy.orm",
            ),
            "geneticlog coverage --json / import sqlalchemy.orm": (
                ["coverage", "HERON-2026", "--json"],
                "import sqlalchemy.orm",
            ),
        }
        print("| ratio | ours, ms | bare, ms | ratio |\n|---|---|---|---|")
        for said, (arguments, bare) in cases.items():
            ours, theirs, found = ratio(
                [*program, *arguments], [sys.executable, "-c", bare], folder / "out", runs
            )
            print(f"| {said} | {ours * 1000:.0f} | {theirs * 1000:.0f} | {found:.2f} |")


if __name__ == "__main__":
    from results import kept

    with kept("start_up"):
        main(*(int(argument) for argument in sys.argv[1:]))
