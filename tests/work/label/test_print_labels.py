"""Minting under load: programs that print at the same moment never get the same code."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import one_transaction
from geneticlog.store.tables import Office, PrintRun, Vial
from geneticlog.work.label.print_labels import Labels, LabelSheet, print_labels

NOW = datetime(2026, 5, 12, 15, 30, tzinfo=UTC)


def test_print_runs_made_at_the_same_moment_share_no_code_and_no_number(engine: Engine) -> None:
    with Session(engine) as session:
        session.add(Office(prefix="BG"))
        session.commit()

    def one_run(n_labels: int) -> Labels:
        with one_transaction(engine, writes=True) as session:
            return print_labels(
                session,
                n_labels,
                LabelSheet("letter-wrap", "wrap"),
                survey=None,
                office=None,
                stamp=Stamp(NOW, "Ada Test"),
            )

    with ThreadPoolExecutor(4) as boats:
        runs = list(boats.map(one_run, [5, 9, 3, 7, 1, 8, 2, 6]))
    codes = [code for run in runs for code in run.codes]
    assert len(set(codes)) == len(codes) == 41
    assert sorted(run.run or 0 for run in runs) == list(range(1, 9))
    with Session(engine) as session:
        assert session.scalar(select(func.count()).select_from(Vial)) == 41
        assert session.scalar(select(func.count()).select_from(PrintRun)) == 8
