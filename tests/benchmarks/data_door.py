"""How long the data door takes for many fish, against pandas reading one bare table of the same database.

python tests/benchmarks/data_door.py [FISH=500000] [--write]
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import pandas as pd
from results import save
from sqlalchemy import text

import geneticlog
from geneticlog.store.engine import open_engine
from geneticlog.store.migrate import upgrade

SURVEYS = 1000


def fill(file: Path, n: int) -> None:
    """Fill a database with invented surveys and fish, half of them swabbed and typed."""
    engine = open_engine(f"sqlite:///{file}", enforce_links=False)
    upgrade(engine)
    scheme = "{}"
    from geneticlog.rules.schemes import five_length

    scheme = five_length("largemouth_bass").to_json()
    with engine.begin() as connection:
        run = connection.exec_driver_sql
        run(
            "INSERT INTO panel (id, code, name, taxon, other_taxon) VALUES (1, 'P', 'Panel', 'Florida', 'northern')"
        )
        for lake in range(1, 101):
            run(
                "INSERT INTO lake (id, uid, code, name, added_at, added_by)"
                f" VALUES ({lake}, 'l{lake}', 'L{lake:03}', 'Lake {lake}', '2026-01-01', 'Ada')"
            )
        connection.execute(
            text(
                "INSERT INTO survey (id, uid, code, lake_id, surveyed_on, gear, species, length_unit, weight_unit,"
                " scheme, opened_at, opened_by) VALUES (:id, :uid, :code, :lake, '2026-05-12', 'boat electrofishing',"
                " 'largemouth_bass', 'mm', 'g', :scheme, '2026-05-12', 'Ada')"
            ),
            [
                {"id": s, "uid": f"s{s}", "code": f"S{s:04}", "lake": s % 100 + 1, "scheme": scheme}
                for s in range(1, SURVEYS + 1)
            ],
        )
        run(
            "INSERT INTO fish (id, uid, survey_id, number, n_fish, species, length, length_unit, length_mm, weight,"
            " weight_unit, weight_g, size_class, relative_weight, logged_at, logged_by)"
            f" WITH RECURSIVE k(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM k WHERE i < {n})"
            f" SELECT i, 'f' || i, i % {SURVEYS} + 1, i / {SURVEYS} + 1, 1, 'largemouth_bass', 150 + i % 400, 'mm',"
            " 150 + i % 400, 100 + i % 900, 'g', 100 + i % 900, 'stock', 95, '2026-05-12', 'Ada' FROM k"
        )
        run(
            "INSERT INTO vial (id, code, standing, role, fish_id, fish_n)"
            " SELECT id, 'V' || id, 'filled', 'sample', id, 1 FROM fish WHERE id % 2 = 0"
        )
        run(
            "INSERT INTO result (id, vial_id, panel_id, outcome, standing, q, heterozygosity, n_loci, fish_id)"
            " SELECT id, id, 1, 'typed', 'current', (id % 77) / 76.0, 0.2, 38, id FROM vial"
        )
    engine.dispose()


def seconds(run: object) -> float:
    start = time.process_time()
    run()  # type: ignore[operator]
    return time.process_time() - start


def main() -> None:
    n = next((int(word) for word in sys.argv[1:] if word.isdigit()), 500_000)
    file = Path(tempfile.mkdtemp()) / "many.sqlite"
    fill(file, n)
    engine = open_engine(f"sqlite:///{file}")
    with engine.connect() as connection:
        bare = min(seconds(lambda: pd.read_sql(text("SELECT * FROM fish"), connection)) for _ in range(2))
    with geneticlog.open(file) as log:
        ours = min(seconds(log.fish) for _ in range(2))
        results = min(seconds(log.results) for _ in range(2))
    lines = [
        f"{n:,} fish in {SURVEYS:,} surveys, half of them typed; SQLite, the better of two runs; seconds of the"
        " processor, so that other work on the machine does not count.",
        "",
        "| what | CPU seconds | against the bare table |",
        "|---|---|---|",
        f"| pd.read_sql of the table fish | {bare:.2f} | 1 |",
        f"| log.fish() | {ours:.2f} | {ours / bare:.2f} |",
        f"| log.results() | {results:.2f} | {results / bare:.2f} |",
    ]
    save("data_door", lines)


if __name__ == "__main__":
    main()
