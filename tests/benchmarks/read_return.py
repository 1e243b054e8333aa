"""Reading a return of 100,000 rows, against pandas reading the same file as text and one executemany of its
rows.

Run it from the repository: python tests/benchmarks/read_return.py [ROWS]. It prints the seconds, their ratio
(the goal is at most 4) and the memory of the reading process (the goal is below 400 MB). Each side runs in a
process of its own, three times; the quickest counts.
"""

from __future__ import annotations

import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from geneticlog.rules.stamp import Stamp

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

N = int(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1].isdigit() else 100_000
TIMES = 3


def prepare(folder: Path) -> None:
    """Make a migrated database with a shipment of N vials, and the lab's file."""
    from return_support import a_shipment, csv_file
    from sqlalchemy.orm import Session

    from geneticlog.store.engine import open_engine
    from geneticlog.store.migrate import upgrade

    engine = open_engine(f"sqlite:///{folder / 'shipped.sqlite'}", enforce_links=False)
    upgrade(engine)
    with Session(engine) as session:
        codes = a_shipment(session, N, panel_loci=38)
        session.commit()
    with engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    engine.dispose()
    rows: list[list[object]] = [["Sample ID", "% Florida", "% Northern", "Het", "Loci scored", "Class"]]
    chance = random.Random(1)  # a pattern that comes again would rightly be held as copied
    for i, code in enumerate(codes):
        k = round(76 * chance.betavariate(2, 4))  # no lake has as many fish of every share
        mixed = min(k, 76 - k) if i % 3 else k % 2
        q = f"{100 * k / 76:.2f}"
        rows.append([code, q, f"{100 - 100 * k / 76:.2f}", f"{mixed / 38:.4f}", 38, ""])
    (folder / "return.csv").write_bytes(csv_file(rows))


def baseline(folder: Path) -> float:
    """pandas reads the file as text; sqlite3 stores the same rows with one executemany, committed."""
    import sqlite3

    import pandas as pd

    start = time.process_time()
    table = pd.read_csv(folder / "return.csv", dtype=str, keep_default_na=False)
    connection = sqlite3.connect(folder / "copy.sqlite")
    columns = ", ".join(f"c{i} TEXT" for i in range(table.shape[1]))
    connection.execute(f"CREATE TABLE rows (id INTEGER PRIMARY KEY, {columns})")
    marks = ", ".join("?" * table.shape[1])
    connection.executemany(
        f"INSERT INTO rows VALUES (NULL, {marks})", table.itertuples(index=False, name=None)
    )
    connection.commit()
    seconds = time.process_time() - start
    connection.close()
    (folder / "copy.sqlite").unlink()
    return seconds


def same_tables(folder: Path) -> float:
    """pandas reads the file as text; one executemany fills return_row, one result, in our own database."""
    import shutil

    import pandas as pd

    from geneticlog.store.engine import open_engine

    shutil.copy(folder / "shipped.sqlite", folder / "work.sqlite")
    engine = open_engine(f"sqlite:///{folder / 'work.sqlite'}")
    start = time.process_time()
    table = pd.read_csv(folder / "return.csv", dtype=str, keep_default_na=False)
    with engine.begin() as connection:
        connection.exec_driver_sql(
            "INSERT INTO return_file (id, shipment_id, sha256, name, content, reading, n_rows, read_at, read_by)"
            " VALUES (1, 1, 'x', 'x', x'00', '{}', 1, '2026-01-01 00:00:00', 'x')"
        )
        stored = connection.exec_driver_sql("SELECT code, id FROM vial").all()
        ids = {row[0]: row[1] for row in stored}
        rows = list(table.itertuples(index=False, name=None))
        connection.exec_driver_sql(
            "INSERT INTO return_row (id, return_file_id, row_number, code_as_written, cells, vial_id, outcome)"
            " VALUES (?, 1, ?, ?, ?, ?, 'typed')",
            [(i, i, row[0], ",".join(row), ids[row[0]]) for i, row in enumerate(rows, start=1)],
        )
        connection.exec_driver_sql(
            "INSERT INTO result (vial_id, return_row_id, outcome, standing, q, other_q, heterozygosity, n_loci)"
            " VALUES (?, ?, 'typed', 'current', ?, ?, ?, ?)",
            [
                (ids[row[0]], i, float(row[1]) / 100, float(row[2]) / 100, float(row[3]), int(row[4]))
                for i, row in enumerate(rows, start=1)
            ],
        )
    seconds = time.process_time() - start
    engine.dispose()
    for file in folder.glob("work.sqlite*"):
        file.unlink()
    return seconds


def ours(folder: Path) -> float:
    """read_return on a copy of the database, committed."""
    import shutil
    from datetime import UTC, datetime

    from geneticlog.store.engine import one_transaction, open_engine
    from geneticlog.work.lab_return.read_return import LabFile, read_return

    shutil.copy(folder / "shipped.sqlite", folder / "work.sqlite")
    engine = open_engine(f"sqlite:///{folder / 'work.sqlite'}")
    with engine.connect() as connection:
        connection.exec_driver_sql("SELECT count(*) FROM vial").all()
    start = time.process_time()
    with one_transaction(engine) as session:
        content = (folder / "return.csv").read_bytes()
        read = read_return(
            session, LabFile(content, "return.csv"), "SH-1", stamp=Stamp(datetime.now(UTC), "Ada")
        )
    seconds = time.process_time() - start
    engine.dispose()
    for file in folder.glob("work.sqlite*"):
        file.unlink()
    if read.n_typed != N:
        raise SystemExit(f"{read.n_typed} of {N} rows were stored")
    return seconds


def main() -> None:
    if len(sys.argv) > 3:
        side, folder = sys.argv[2], Path(sys.argv[3])
        seconds = {"bare": baseline, "tables": same_tables, "ours": ours}[side](folder)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(json.dumps([seconds, peak]))
        return
    with tempfile.TemporaryDirectory() as name:
        prepare(Path(name))
        best: dict[str, list[float]] = {}
        for side in ("bare", "tables", "ours"):
            runs = []
            for _ in range(TIMES):
                call = [sys.executable, __file__, str(N), side, name]
                runs.append(
                    json.loads(subprocess.run(call, check=True, capture_output=True, text=True).stdout)
                )
            best[side] = min(runs)
        size = (Path(name) / "return.csv").stat().st_size / 1e6
    (bare, _), (tables, _), (own, peak) = best["bare"], best["tables"], best["ours"]
    print(f"{N} rows, {size:.1f} MB, processor seconds")
    print(f"return read                                        {own:6.2f}")
    print(f"pandas as text + executemany, bare table of text   {bare:6.2f}   ratio {own / bare:.1f}")
    print(f"pandas as text + executemany, the same two tables  {tables:6.2f}   ratio {own / tables:.1f}")
    print(f"memory of return read                              {peak:6.0f} MB")


if __name__ == "__main__":
    from results import kept

    with kept("return"):
        main()
