"""Files read, decided on, read again and taken back in any order: nothing counts twice, and nothing is left behind."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace

import pytest
from reconcile_support import assert_it_adds_up
from return_support import MOMENT, a_shipment, csv_file
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused, SheetFault
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Finding, Result, ReturnFile, Shipment, Vial
from geneticlog.work.finding.decide import decide
from geneticlog.work.finding.may_decide import Asked
from geneticlog.work.finding.reconcile import reconcile
from geneticlog.work.lab_return.kept_layout import layout_for
from geneticlog.work.lab_return.read_return import LabFile, read_return
from geneticlog.work.lab_return.withdraw_return import withdraw_return
from geneticlog.work.shipment.count_return import returned_of

ACTIONS = ("accept", "reject", "resample", "close", "match")
N_STEPS = 14


def a_file(chance: random.Random, vials: list[str]) -> bytes:
    """A return of some vials: few or many digits, failures, what cannot be, strangers, repeats."""
    rows = []
    for vial in vials:
        if chance.random() < 0.2:
            continue
        share = f"{chance.choice([10, 10, 20, 30]) / 76:.{chance.choice([3, 6])}f}"
        said = chance.choice([share] * 6 + ["ND", "1.7"])
        code = vial if chance.random() > 0.05 else vial[:-1] + "*"
        rows += [[code, said, chance.choice(["38", "30"])]] * (1 + (chance.random() < 0.1))
    if chance.random() < 0.3:
        rows.append([chance.choice(vials), "0.5", "38"])
    if chance.random() < 0.3:
        rows.append(["XX", "0.5", "38"])
    return csv_file([["Sample ID", "Florida proportion", "Loci scored"], *rows])


def check(session: Session) -> None:
    """What must hold whatever happened."""
    session.flush()
    session.expire_all()
    for shipment in session.scalars(select(Shipment)):
        returned = returned_of(session, shipment)
        assert_it_adds_up(returned.counts, len(returned.rows))
    current = Counter(session.scalars(select(Result.vial_id).where(Result.standing == "current")))
    assert all(n == 1 for n in current.values()), "two results of a vial count"
    for result in session.scalars(select(Result)):
        row = result.return_row
        assert row is not None
        if row.return_file.withdrawn_at is not None:
            assert result.standing == "superseded", "a result of a withdrawn reading counts"
        assert (result.fish_id is not None) <= (result.standing == "current" and result.q is not None)
    speaking = Counter(session.scalars(select(Result.fish_id).where(Result.fish_id.is_not(None))))
    typed = select(Vial.fish_id).join(Result, Result.vial_id == Vial.id).where(
        Result.standing == "current", Result.q.is_not(None)
    )  # fmt: skip
    assert set(speaking) == set(session.scalars(typed)), (
        "a fish with a result that counts has none that speaks"
    )


def step(session: Session, chance: random.Random, vials: list[str], number: int) -> None:
    kind = chance.choice(["read", "read", "decide", "decide", "decide", "withdraw", "reconcile"])
    if kind == "read":
        shipment = session.scalars(select(Shipment)).one()
        layout = replace(layout_for(session, shipment), harmless=frozenset({"not whole numbers"}))
        read_return(
            session,
            LabFile(a_file(chance, vials), f"r{number}.csv"),
            "SH-1",
            stamp=Stamp(MOMENT, "Ada"),
            layout=layout,
        )
    elif kind == "withdraw":
        files = list(session.scalars(select(ReturnFile).where(ReturnFile.withdrawn_at.is_(None))))
        if files:
            withdraw_return(session, chance.choice(files).sha256, why="w", stamp=Stamp(MOMENT, "Ada"))
    elif kind == "reconcile":
        reconcile(session, "SH-1", stamp=Stamp(MOMENT, "Ada"))
    else:
        findings = list(session.scalars(select(Finding)))
        if not findings:
            return
        finding, action = chance.choice(findings), chance.choice(ACTIONS)
        about = [chance.choice(vials)] if action == "match" else []
        row = chance.choice([None, *finding.rows]) if finding.kind == "conflicting" else None
        decide(
            session,
            f"F{finding.number}",
            Asked(action, "d", list(session.scalars(select(Vial).where(Vial.code.in_(about)))), row),
            stamp=Stamp(MOMENT, "Ada"),
        )


@pytest.mark.parametrize("seed", [0, 1, 2, 3, 147, 179])  # the last two once found a value counted twice
def test_whatever_is_read_decided_and_taken_back(sqlite_session: Session, seed: int) -> None:
    session, chance = sqlite_session, random.Random(seed)
    vials = a_shipment(session, 6, panel_loci=38)
    for number in range(N_STEPS):
        try:
            with session.begin_nested():
                step(session, chance, vials, number)
        except (Refused, SheetFault):
            pass  # refused is a fine answer; half done is not, and is looked for below
        check(session)
    # everything can be taken back, the last first, and then nothing is left
    while files := list(
        session.scalars(
            select(ReturnFile).where(ReturnFile.withdrawn_at.is_(None)).order_by(ReturnFile.id.desc())
        )
    ):
        withdraw_return(session, files[0].sha256, why="all of it", stamp=Stamp(MOMENT, "Ada"))
        check(session)
    assert not session.scalars(select(Result).where(Result.standing != "superseded")).all()
    assert not session.scalars(select(Finding).where(Finding.decision.is_(None))).all()
