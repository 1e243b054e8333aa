"""Files about the same vials, one after another: what counts after each is what a careful person would count."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from return_support import MOMENT, a_shipment, csv_file
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import GeneticlogError
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import open_engine
from geneticlog.store.tables import Finding, Result, Vial
from geneticlog.work.lab_return.read_return import LabFile, read_return
from geneticlog.work.lab_return.withdraw_return import withdraw_return

STAMP = Stamp(MOMENT, "Ada")
N, LOCI, N_SEQUENCES = 12, 38, 12
WAYS = {
    "fraction": ("Florida share", "fraction", lambda k: f"{k / (2 * LOCI):.4f}"),
    "percent": ("Florida (%)", "percent", lambda k: f"{100 * k / (2 * LOCI):.2f}"),
    "count": ("Florida alleles", "count", str),
    "ratio": ("Florida alleles", "fraction", lambda k: f"{k}/{2 * LOCI}"),
}  # how a lab writes a share: heading, unit, cell


@dataclass(frozen=True)
class Known:
    """What a careful person knows of a vial: alleles that count, and alleles that the lab doubts."""

    counts: int | None = None
    doubted: int | None = None
    first: bool = False  # something was said of it already


@dataclass(frozen=True)
class Row:
    """What one file says of a vial, in alleles of 2 x LOCI."""

    alleles: int
    is_doubted: bool


def after(known: Known, row: Row, *, can_doubt: bool) -> Known:
    """Return what a careful person holds of a vial once a further file says something of it."""
    if row.is_doubted:
        counts = None if known.counts == row.alleles else known.counts
        return Known(counts, row.alleles, True)
    if row.alleles == known.doubted and row.alleles != known.counts and not can_doubt:
        return replace(known, first=True)  # the doubt was only left out
    return Known(row.alleles, None, True)


def a_file(
    chance: random.Random, vials: Sequence[str], truth: Sequence[int]
) -> tuple[bytes, Layout, dict[int, Row], bool]:
    """Draw a file: some vials left out, a few with another value, some doubted where it has a column for it."""
    heading, unit, cell = WAYS[chance.choice(list(WAYS))]
    can_doubt = chance.random() < 0.5
    further = [name for name in ("Heterozygosity", "Loci scored", "Plate") if chance.random() < 0.5]
    said = {}
    for i in range(N):
        if chance.random() < 0.06:
            continue
        changed = truth[i] + chance.choice((-9, 9)) if chance.random() < 0.08 else truth[i]
        said[i] = Row(changed, can_doubt and chance.random() < 0.12)
    order = list(said)
    chance.shuffle(order)
    beside = {"Heterozygosity": lambda i: f"{(2 + said[i].alleles % 2) / LOCI:.4f}",
              "Loci scored": lambda i: LOCI, "Plate": lambda i: "P1"}  # fmt: skip
    rows: list[list[Any]] = [["Sample ID", heading, *further, *(["Remarks"] if can_doubt else [])]]
    for i in order:
        remark = [chance.choice(("contaminated", "do not use"))] if said[i].is_doubted else ["pass"]
        values = [beside[name](i) for name in further]
        rows.append([vials[i], cell(said[i].alleles), *values, *(remark if can_doubt else [])])
    return csv_file(rows), Layout(units={ColumnRole.Q: unit}), said, can_doubt


@pytest.fixture(scope="module")
def shipped(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Session, list[str]]]:
    file = tmp_path_factory.mktemp("later") / "shipped.sqlite"
    shutil.copy(sqlite_template, file)
    engine = open_engine(f"sqlite:///{file}")
    with Session(engine) as session:
        vials = a_shipment(session, N, panel_loci=LOCI)
        session.commit()
    with Session(engine) as session:
        yield session, vials
    engine.dispose()


def what_counts(session: Session, vials: Sequence[str]) -> list[int | None]:
    """Return the alleles that count of each vial, of 2 x LOCI; None for nothing."""
    found = session.execute(
        select(Vial.code, Result.q).join(Vial, Vial.id == Result.vial_id).where(Result.standing == "current")
    ).all()
    alleles = {code: round(q * 2 * LOCI) for code, q in found}
    assert len(alleles) == len(found), "two values of one vial count"
    return [alleles.get(vial) for vial in vials]


@pytest.mark.parametrize("seed", range(N_SEQUENCES))
def test_what_counts_after_each_of_several_files(shipped: tuple[Session, list[str]], seed: int) -> None:
    session, vials = shipped
    chance = random.Random(seed)
    truth = [chance.randint(12, 64) for _ in range(N)]
    known = [Known()] * N
    n_read = 0
    try:
        for number in range(3):
            content, layout, said, can_doubt = a_file(chance, vials, truth)
            with session.begin_nested() as step:
                try:
                    read_return(
                        session, LabFile(content, f"{number}.csv"), "SH-1", stamp=STAMP, layout=layout
                    )
                except GeneticlogError:
                    step.rollback()
                    continue
            n_read += 1
            before, known = known, [
                after(known[i], said[i], can_doubt=can_doubt) if i in said else known[i] for i in range(N)
            ]  # fmt: skip
            assert what_counts(session, vials) == [one.counts for one in known], (number, content)
            replaced = {
                vials[i] for i in said
                if before[i].counts is not None and known[i].counts not in (None, before[i].counts)
            }  # fmt: skip
            found = session.execute(
                select(Vial.code)
                .join(Finding, Finding.vial_id == Vial.id)
                .where(Finding.kind == "reissue_changed")
            ).scalars()
            assert replaced <= set(found), (number, content)
            if chance.random() < 0.25:
                withdraw_return(session, f"{number}.csv", why="another file was meant", stamp=STAMP)
                known = before
                assert what_counts(session, vials) == [one.counts for one in known], (number, "withdrawn")
    finally:
        session.rollback()
    assert n_read >= 2
