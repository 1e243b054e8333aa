"""Reading a return of 100,000 rows, against pandas reading the same file as text and one executemany of its
rows.

Run it from the repository: python tests/benchmarks/read_return.py [ROWS]. It prints the seconds, their ratio
(the goal is at most 4) and the memory of the reading process (the goal is below 400 MB). Each side runs in a
process of its own, three times; the quickest counts.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

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
    for i, code in enumerate(codes):
        k = (7 * i) % 77
        mixed = min(k, 76 - k) if i % 3 else k % 2
        q = f"{100 * k / 76:.2f}"
        rows.append([code, q, f"{100 - 100 * k / 76:.2f}", f"{mixed / 38:.4f}", 38, ""])
    (folder / "return.csv").write_bytes(csv_file(rows))


def baseline(folder: Path) -> float:
    """pandas reads the file as text; sqlite3 stores the same rows with one executemany, committed."""
    import sqlite3

    import pandas as pd

    start = time.perf_counter()
    table = pd.read_csv(folder / "return.csv", dtype=str, keep_default_na=False)
    connection = sqlite3.connect(folder / "copy.sqlite")
    columns = ", ".join(f"c{i} TEXT" for i in range(table.shape[1]))
    connection.execute(f"CREATE TABLE rows (id INTEGER PRIMARY KEY, {columns})")
    marks = ", ".join("?" * table.shape[1])
    connection.executemany(
        f"INSERT INTO rows VALUES (NULL, {marks})", table.itertuples(index=False, name=None)
    )
    connection.commit()
    seconds = time.perf_counter() - start
    connection.close()
    (folder / "copy.sqlite").unlink()
    return seconds


def ours(folder: Path) -> float:
    """read_return on a copy of the database, committed."""
    import shutil
    from datetime import UTC, datetime

    from geneticlog.store.engine import one_transaction, open_engine
    from geneticlog.work.read_return import read_return

    shutil.copy(folder / "shipped.sqlite", folder / "work.sqlite")
    engine = open_engine(f"sqlite:///{folder / 'work.sqlite'}")
    with engine.connect() as connection:
        connection.exec_driver_sql("SELECT count(*) FROM vial").all()
    start = time.perf_counter()
    with one_transaction(engine) as session:
        content = (folder / "return.csv").read_bytes()
        read = read_return(session, content, "return.csv", "SH-1", now=datetime.now(UTC), by="Ada")
    seconds = time.perf_counter() - start
    engine.dispose()
    for file in folder.glob("work.sqlite*"):
        file.unlink()
    if read.n_typed != N:
        raise SystemExit(f"{read.n_typed} of {N} rows were stored")
    return seconds


def main() -> None:
    if len(sys.argv) > 3:
        side, folder = sys.argv[2], Path(sys.argv[3])
        seconds = {"baseline": baseline, "ours": ours}[side](folder)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(json.dumps([seconds, peak]))
        return
    with tempfile.TemporaryDirectory() as name:
        prepare(Path(name))
        best: dict[str, list[float]] = {}
        for side in ("baseline", "ours"):
            runs = []
            for _ in range(TIMES):
                call = [sys.executable, __file__, str(N), side, name]
                runs.append(
                    json.loads(subprocess.run(call, check=True, capture_output=True, text=True).stdout)
                )
            best[side] = min(runs)
        size = (Path(name) / "return.csv").stat().st_size / 1e6
    (base, _), (own, peak) = best["baseline"], best["ours"]
    print(f"{N} rows, {size:.1f} MB")
    print(f"pandas as text + executemany  {base:6.2f} s")
    print(f"return read                   {own:6.2f} s   ratio {own / base:.2f} (goal 4)")
    print(f"memory of return read         {peak:6.0f} MB (goal 400)")


if __name__ == "__main__":
    main()
