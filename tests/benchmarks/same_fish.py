"""How much of reading a return with genotypes goes into looking for the same fish twice.

Run it from the repository: python tests/benchmarks/same_fish.py [ROWS ...]. Fish of a hybrid swarm, 38 loci, a hundred
a survey; SQLite. For each number of rows, the fewest first: the processor seconds of the whole reading, those of the
search, their ratio, the pairs found (each survey holds one fish twice), the memory of the process so far, and the
exponent of the growth of either time since the fewest rows (1: in proportion).
"""

from __future__ import annotations

import os
import resource
import sys
import tempfile
import time
from datetime import UTC, date, datetime
from math import log
from pathlib import Path

from geneticlog.rules.stamp import Stamp

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

FISH_A_SURVEY = 100
N_LOCI = 38


def read(n_rows: int) -> tuple[float, float, int]:
    """Return processor seconds of a whole reading and of the search, and the pairs found."""
    import numpy as np
    from return_support import MOMENT, a_shipment, csv_file
    from sqlalchemy import insert, text
    from sqlalchemy.orm import Session

    from geneticlog.store.engine import one_transaction, open_engine
    from geneticlog.store.migrate import upgrade
    from geneticlog.store.tables import Survey
    from geneticlog.work.lab_return import read_return as reading

    n_surveys = n_rows // FISH_A_SURVEY
    folder = Path(tempfile.mkdtemp())
    engine = open_engine(f"sqlite:///{folder / 'shipped.sqlite'}", enforce_links=False)
    upgrade(engine)
    with Session(engine) as session:
        codes = a_shipment(session, n_rows, panel_loci=N_LOCI)
        first = session.query(Survey).one()
        if n_surveys > 1:
            session.execute(
                insert(Survey),
                [
                    {
                        "uid": f"s{i}", "code": f"S{i}", "lake_id": first.lake_id, "surveyed_on": date(2026, 5, 1),
                        "gear": first.gear, "species": first.species, "length_unit": "mm", "weight_unit": "g",
                        "scheme": first.scheme, "opened_at": MOMENT, "opened_by": "Ada",
                    }
                    for i in range(1, n_surveys)
                ],
            )  # fmt: skip
        session.execute(text("UPDATE fish SET survey_id = 1 + number % :n"), {"n": n_surveys})
        session.commit()
    chance = np.random.default_rng(3)
    x = chance.binomial(2, chance.beta(6, 14, n_rows)[:, None], (n_rows, N_LOCI))
    x[-n_surveys:] = x[:n_surveys]  # each survey's first fish again
    heading = ["Sample ID", *[f"L{i:02d}" for i in range(1, N_LOCI + 1)]]
    content = csv_file([heading, *([code, *calls] for code, calls in zip(codes, x.tolist(), strict=True))])
    spent = [0.0]
    search = reading.find_same_fish

    def timed(*arguments: object) -> list[object]:
        start = time.process_time()
        found = search(*arguments)  # type: ignore[arg-type]
        spent[0] += time.process_time() - start
        return found

    reading.find_same_fish = timed  # type: ignore[assignment]
    start = time.process_time()
    with one_transaction(engine) as session:
        from dataclasses import replace

        from geneticlog.work.events import find_shipment

        layout = replace(
            reading.layout_for(session, find_shipment(session, "SH-1")), counted="Florida", coding="counts"
        )
        told = reading.read_return(
            session,
            reading.LabFile(content, "r.csv"),
            "SH-1",
            stamp=Stamp(datetime.now(UTC), "Ada"),
            layout=layout,
        )
    whole = time.process_time() - start
    pairs = sum(kind == "same_genotype" for _, kind, _ in told.findings)
    return whole, spent[0], pairs


def main() -> None:
    sizes = sorted(int(word) for word in sys.argv[1:]) or [10_000]
    os.environ["GENETICLOG_READ_CELLS"] = str(
        2 * N_LOCI * max(sizes)
    )  # 100,000 rows are past what is read unasked
    print("| rows | whole reading | search | pairs | memory | growth of the reading | of the search |")
    print("|---|---|---|---|---|---|---|")
    first = None
    for n_rows in sizes:
        whole, search, pairs = read(n_rows)
        first = first or (n_rows, whole, search)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        growth = "- | -"
        if n_rows > first[0]:
            powers = (
                log(now / then) / log(n_rows / first[0])
                for now, then in zip((whole, search), first[1:], strict=True)
            )
            growth = " | ".join(f"n^{power:.2f}" for power in powers)
        print(
            f"| {n_rows:,} | {whole:.1f} s | {search:.2f} s ({search / whole:.0%})"
            f" | {pairs:,} | {memory:.0f} MB | {growth} |",
            flush=True,
        )
    print(
        "\nHow often a pair is found, and how often two fish of few broods are taken for one, is in broods.md."
    )


if __name__ == "__main__":
    from results import kept

    with kept("same_fish"):
        main()
