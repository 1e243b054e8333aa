"""How much of reading a return with genotypes goes into looking for the same fish twice.

Run it from the repository: python tests/benchmarks/same_fish.py [ROWS [SURVEYS]]. Fish of a hybrid swarm, 38 loci,
parted evenly over the surveys; SQLite. It prints the processor seconds of the whole reading, those of the search, their
ratio, the pairs found (each survey holds one fish twice) and the memory of the process.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from datetime import UTC, date, datetime
from pathlib import Path

from geneticlog.rules.stamp import Stamp

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

N = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
N_SURVEYS = int(sys.argv[2]) if len(sys.argv) > 2 else 100
N_LOCI = 38


def main() -> None:
    import numpy as np
    from return_support import MOMENT, a_shipment, csv_file
    from sqlalchemy import insert, text
    from sqlalchemy.orm import Session

    from geneticlog.store.engine import one_transaction, open_engine
    from geneticlog.store.migrate import upgrade
    from geneticlog.store.tables import Survey
    from geneticlog.work.lab_return import read_return as reading

    folder = Path(tempfile.mkdtemp())
    engine = open_engine(f"sqlite:///{folder / 'shipped.sqlite'}", enforce_links=False)
    upgrade(engine)
    with Session(engine) as session:
        codes = a_shipment(session, N, panel_loci=N_LOCI)
        first = session.query(Survey).one()
        if N_SURVEYS > 1:
            session.execute(
                insert(Survey),
                [
                    {
                        "uid": f"s{i}", "code": f"S{i}", "lake_id": first.lake_id, "surveyed_on": date(2026, 5, 1),
                        "gear": first.gear, "species": first.species, "length_unit": "mm", "weight_unit": "g",
                        "scheme": first.scheme, "opened_at": MOMENT, "opened_by": "Ada",
                    }
                    for i in range(1, N_SURVEYS)
                ],
            )  # fmt: skip
        session.execute(text("UPDATE fish SET survey_id = 1 + number % :n"), {"n": N_SURVEYS})
        session.commit()
    chance = np.random.default_rng(3)
    x = chance.binomial(2, chance.beta(6, 14, N)[:, None], (N, N_LOCI))
    x[-N_SURVEYS:] = x[:N_SURVEYS] if N % N_SURVEYS == 0 else x[-N_SURVEYS:]
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
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{N} rows, {N_SURVEYS} surveys: {whole:.2f} s, of which {spent[0]:.2f} s search"
        f" ({spent[0] / whole:.0%}); {pairs} pairs; {memory:.0f} MB"
    )
    print(
        "\nHow often a pair is found, and how often two fish of few broods are taken for one, is in broods.md."
    )


if __name__ == "__main__":
    from results import kept

    with kept("same_fish"):
        main()
