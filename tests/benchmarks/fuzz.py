"""Random and hostile input over all readers and the command line, as many as asked for.

Run: python tests/benchmarks/fuzz.py [inputs] [seed]
Each ends in a result or in one sentence with one of the seven exit codes; "fault of geneticlog itself", a raw database
message, another exception or an exit without a word counts as a fault. Ctrl-C ends it and says what was tried.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from fuzz_support import KINDS, Fuzz, prepared_for, try_inputs

from geneticlog.rules.sentences import n_of
from geneticlog.store.check import look_over
from geneticlog.store.engine import open_engine
from geneticlog.store.migrate import upgrade

AT_A_TIME = 5_000  # inputs on one office, so that none grows without end


def one_office(seed: int, n: int) -> tuple[Fuzz, list[str]]:
    """Try n inputs on a new office; what came of it, and what a check of the database finds afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "office.sqlite"
        engine = open_engine(f"sqlite:///{database}", enforce_links=False)
        upgrade(engine)
        fuzz = prepared_for(Path(folder), str(database), seed)
        try_inputs(fuzz, n)
        unsound = look_over(engine).faults
        engine.dispose()
    return fuzz, unsound


def main(n: int = 100_000, seed: int = 1) -> None:
    start = time.process_time()
    done: dict[str, int] = {}
    codes: dict[str, dict[int, int]] = {}
    faults: list[str] = []
    for number in range(0, n, AT_A_TIME):
        try:
            fuzz, unsound = one_office(seed * 1_000_000 + number, min(AT_A_TIME, n - number))
        except KeyboardInterrupt:
            break
        faults += fuzz.faults + unsound
        for kind, times in fuzz.n.items():
            done[kind] = done.get(kind, 0) + times
        for (kind, code), times in fuzz.codes.items():
            of = codes.setdefault(kind, {})
            of[code] = of.get(code, 0) + times
        print(f"{number + AT_A_TIME:,} inputs, {n_of(len(faults), 'fault')}", file=sys.stderr, flush=True)
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss >> 10
    print(f"{sum(done.values()):,} inputs of {len(KINDS)} kinds, {n_of(len(faults), 'fault')};", end=" ")
    print(f"{time.process_time() - start:,.0f} s of one processor, {own} MB at most.\n")
    print("| calls and commands | a result | a sentence | of these by exit code |\n|---|---|---|---|")
    for kind, of in sorted(codes.items()):
        bad = {code: times for code, times in sorted(of.items()) if code}
        said = ", ".join(f"{code}: {times:,}" for code, times in bad.items())
        print(f"| {kind} | {of.get(0, 0):,} | {sum(bad.values()):,} | {said} |")
    for fault in faults[:20]:
        print(f"\n- {fault[:500]}")


if __name__ == "__main__":
    from results import kept

    with kept("fuzz"):
        main(*(int(argument) for argument in sys.argv[1:]))
