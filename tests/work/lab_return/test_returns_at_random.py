"""Whatever is done to a lab's file, it is stored whole or not at all, and nothing is counted twice or
lost."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from return_support import MOMENT, a_shipment, csv_file
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import GeneticlogError
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import open_engine
from geneticlog.store.tables import Event, Finding, Result, ReturnFile, ReturnRow, Vial
from geneticlog.work.lab_return.read_return import LabFile, read_return

N = 12
JUNK = [
    "",
    "ND",
    "1.7",
    "-3",
    "45%",
    "0,5",
    "nan",
    "=1/2",
    "x" * 300,
    "0.5",
    "1",
    "é\u0000",
    "1e999",
    "4-Mar",
    "\u2212",
]


@pytest.fixture(scope="module")
def shipped(sqlite_template: Path) -> Iterator[tuple[Path, list[str]]]:
    folder = Path(tempfile.mkdtemp())
    file = folder / "shipped.sqlite"
    shutil.copy(sqlite_template, file)
    engine = open_engine(f"sqlite:///{file}")
    with Session(engine) as session:
        codes = a_shipment(session, N, panel_loci=38, duplicates=1, blanks=1)
        session.commit()
    engine.dispose()
    yield file, codes
    shutil.rmtree(folder)


@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(
    seed=st.integers(0, 2**32 - 1),
    n_doubled=st.integers(0, 5),
    n_lost=st.integers(0, 10),
    n_junk=st.integers(0, 6),
    cut=st.booleans(),
    encoding=st.sampled_from(["utf-8", "utf-16", "cp1252"]),
    flips=st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 255)), max_size=3),
)
def test_a_file_shuffled_doubled_cut_and_spoiled_is_stored_whole_or_not_at_all(
    shipped: tuple[Path, list[str]],
    seed: int,
    n_doubled: int,
    n_lost: int,
    n_junk: int,
    cut: bool,
    encoding: str,
    flips: list[tuple[int, int]],
) -> None:
    database, codes = shipped
    chance = random.Random(seed)
    rows = [[code, f"{k / 76:.4f}", f"{1 - k / 76:.4f}", "38"] for k, code in enumerate(codes)]
    rows += [list(chance.choice(rows)) for _ in range(n_doubled)]
    chance.shuffle(rows)
    rows = rows[n_lost:]
    for _ in range(n_junk if rows else 0):
        chance.choice(rows)[chance.randrange(4)] = chance.choice(JUNK)
    table = csv_file([["Vial", "Florida", "Northern", "Loci scored"], *rows])
    content = bytearray(table.decode().encode(encoding, errors="replace"))
    for place, value in flips:
        content[place % len(content)] = value
    if cut:
        content = content[: chance.randrange(len(content) + 1)]
    engine = open_engine(f"sqlite:///{database}")
    with engine.connect() as connection, Session(connection) as session:
        refusal: list[str] = []
        try:
            read = read_return(
                session, LabFile(bytes(content), "return.csv"), "SH-1", stamp=Stamp(MOMENT, "Ada")
            )
        except GeneticlogError as refused:
            refusal.append(str(refused))
            session.rollback()
        if refusal:
            assert all(line.strip() for line in refusal[0].split("\n"))  # a line a question
            assert all(
                session.scalar(select(func.count()).select_from(table_)) == 0
                for table_ in (ReturnFile, ReturnRow, Result, Finding, Event)
            )
            return
        outcomes = list(session.scalars(select(ReturnRow.outcome)))
        results = session.execute(
            select(Result.vial_id, Result.standing, Result.q, Result.fish_id, Vial.fish_id, Vial.role).join(
                Vial
            )
        ).all()
        fish = [speaks for _, _, _, speaks, _, _ in results if speaks is not None]
        session.rollback()
    engine.dispose()
    assert len(outcomes) == read.n_rows
    without_result = outcomes.count("unexpected") + outcomes.count("duplicate")
    assert len(results) == read.n_rows - without_result
    assert (read.n_unexpected, read.n_duplicate_rows) == (
        outcomes.count("unexpected"),
        outcomes.count("duplicate"),
    )
    assert read.n_typed + read.n_failed + read.n_held == len(results)
    assert len(fish) == len(set(fish))
    current = [vial_id for vial_id, standing, *_ in results if standing == "current"]
    assert len(current) == len(set(current)), "two results of one vial stand"
    for _, standing, q, speaks, of_vial, role in results:
        assert q is None or 0 <= q <= 1
        if speaks is not None:
            assert standing == "current"
            assert q is not None
            assert (speaks, role != "blank") == (of_vial, True)
