"""Lab files in random shapes from a known truth, read without answering anything: how many are silently wrong.

Run it from the repository: python tests/benchmarks/generated_returns.py [--files 600] [--first 0] [--write]. With
--write the table goes to tests/benchmarks/results/generated_returns.md.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))


def main() -> None:
    from results import save
    from return_generator import a_plate_of_vials, read_unanswered
    from return_shapes import draw
    from sqlalchemy.orm import Session

    from geneticlog.store.engine import open_engine
    from geneticlog.store.migrate import upgrade

    parser = argparse.ArgumentParser()
    parser.add_argument("--files", type=int, default=600)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--show", action="store_true", help="print what came of each file without a trap")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        engine = open_engine(f"sqlite:///{folder}/shipped.sqlite", enforce_links=False)
        upgrade(engine)
        with Session(engine) as session:
            codes = a_plate_of_vials(session, 14)
        rows: Counter[tuple[str, str]] = Counter()
        with engine.connect() as connection, Session(connection) as session:
            for seed in range(asked.first, asked.first + asked.files):
                made = draw(seed, codes)
                came_to, wrong, said = read_unanswered(session, made)
                kind = "with a trap" if made.traps else "without a trap"
                rows[kind, "silently wrong" if wrong else came_to] += 1
                if wrong or (asked.show and not made.traps and came_to != "right"):
                    print(seed, made.shape, made.traps, came_to, wrong[:2], said[:700])
        engine.dispose()
    outcomes = ["right", "right, some held", "asked or refused", "silently wrong"]
    lines = [f"| files | n | {' | '.join(outcomes)} |", "|---|---:|" + "---:|" * len(outcomes)]
    for kind in ("without a trap", "with a trap"):
        counts = [rows[kind, outcome] for outcome in outcomes]
        lines.append(f"| {kind} | {sum(counts)} | {' | '.join(map(str, counts))} |")
    about = [
        "Each file is drawn from a known truth in a random shape: CSV, XLSX, XLS, ODS or a web page; percent,",
        "fraction, count or ratio; heads of several rows, keys, wells and plates, blocks with totals, kept layouts;",
        "columns and lines in random order. A trap is what a careful person would stop at: words or marks against a",
        "value, another share before the right one, exchanged samples, swapped columns, formulas never calculated;",
        "columns sorted alone, days, lengths and names of other fish, one far less sure, a third lineage, titles, keys",
        "and sheets whose words nobody reads, and an answer of a person that reaches further than was meant.",
        "Nothing is answered but what a file of wells, a kept layout or such an answer brings along. Silently wrong: a",
        "value counts that is not the truth, or that the lab took back, and nobody was asked.",
        "",
    ]
    save("generated_returns", [*about, *lines])


if __name__ == "__main__":
    main()
