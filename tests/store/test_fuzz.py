"""A thousand seeded inputs over all readers and the command line; tests/benchmarks/fuzz.py tries many more."""

from __future__ import annotations

from pathlib import Path

from conftest import Runner
from fuzz_support import KINDS, prepared_for, try_inputs

SEED, N = 20261129, 1_000


def test_whatever_is_given_ends_in_a_result_or_a_sentence(sqlite_database: str, tmp_path: Path) -> None:
    fuzz = prepared_for(tmp_path, sqlite_database, SEED)
    try_inputs(fuzz, N)
    assert fuzz.faults == []
    assert sum(fuzz.n.values()) == N
    assert len(fuzz.n) == len(KINDS)
    for kind in ("returns", "field sheets", "pipes", "carry files", "command line"):
        assert fuzz.codes[kind, 0] > 0 or kind == "pipes", kind  # some is read; of a pipe some line never is
        assert sum(n for (of, code), n in fuzz.codes.items() if of == kind and code) > 0, kind
    Runner(sqlite_database)("database", "check")
