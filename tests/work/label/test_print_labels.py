"""Minting under load: programs that print at the same moment never get the same code."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import one_transaction
from geneticlog.store.tables import Office, PrintRun, Vial
from geneticlog.work.label.print_labels import Labels, LabelSheet, next_labels, print_labels

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


@pytest.mark.parametrize(("meanwhile", "first"), [("BG", "BG000004"), ("TH", "BG000001")])
def test_labels_looked_at_ahead_are_made_anew_where_somebody_printed_meanwhile(
    sqlite_session: Session, meanwhile: str, first: str
) -> None:
    session, sheet, stamp = sqlite_session, LabelSheet("letter-wrap", "wrap"), Stamp(NOW, "Ada Test")
    session.add_all([Office(prefix="BG"), Office(prefix="TH")])
    session.flush()
    ready = next_labels(session, 3, survey=None, office="BG")
    print_labels(session, 3, sheet, survey=None, office=meanwhile, stamp=stamp)
    labels = print_labels(session, 3, sheet, survey=None, office="BG", stamp=stamp, ready=ready)
    assert (labels.run, labels.codes[0][:-1]) == (2, first)  # another run, and no code of before
    again = next_labels(session, 2, survey=None, office="BG")
    assert print_labels(session, 2, sheet, survey=None, office="BG", stamp=stamp, ready=again) is again
