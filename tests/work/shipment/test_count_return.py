"""Counting returns of several files, and random returns read through the real reader."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from office_support import NOW, a_return, a_shipment, swabbed
from reconcile_support import assert_it_adds_up
from sqlalchemy import func, select
from sqlalchemy.orm import Session
from survey_support import a_survey

from geneticlog.errors import SheetFault
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import ALPHABET
from geneticlog.store.tables import Finding, ReturnRow
from geneticlog.work.finding.reconcile import reconcile
from geneticlog.work.lab_return.kept_layout import layout_for
from geneticlog.work.lab_return.read_return import LabFile, read_return
from geneticlog.work.shipment.count_return import returned_of


def test_a_later_file_takes_over_row_by_row(session: Session) -> None:
    one, two, three = swabbed(session, a_survey(session), 3)
    shipment = a_shipment(session, [one, two, three])
    a_return(session, shipment, [{"vial": one, "outcome": "failed"}, {"vial": two, "q": 0.2}, {"code": "X9"}])
    before = returned_of(session, shipment).counts
    assert (before.failed, before.missing, before.unexpected) == (1, 1, 1)
    a_return(session, shipment, [{"vial": one, "q": 0.4}, {"code": "x9 "}], days=30, name="again.csv")
    after = returned_of(session, shipment).counts
    assert (after.matched, after.failed, after.missing, after.unexpected, after.duplicate_rows) == (
        2,
        0,
        1,
        1,
        0,
    )


def test_a_vial_of_ours_from_another_shipment_is_unexpected(session: Session) -> None:
    one, two = swabbed(session, a_survey(session), 2)
    shipment = a_shipment(session, [one])
    a_shipment(session, [two], code="SHIP-2", lab=shipment.lab)
    a_return(session, shipment, [{"vial": one, "q": 0.1}, {"vial": two, "outcome": "unexpected"}])
    counts = returned_of(session, shipment).counts
    assert (counts.sent, counts.matched, counts.unexpected) == (1, 1, 1)


def spoiled(code: str, chance: random.Random) -> str:
    at = chance.randrange(len(code))
    return code[:at] + chance.choice(ALPHABET + "?*") + code[at + 1 :]


@pytest.mark.parametrize("seed", range(8))
def test_whatever_comes_back_the_counts_add_up(session: Session, seed: int) -> None:
    chance = random.Random(seed)
    vials = swabbed(session, a_survey(session), 12, seconds=2)
    # the numbers of loci are made up, so the shares fit none: that question is answered beforehand
    layout = replace(
        layout_for(session, a_shipment(session, vials)), harmless=frozenset({"not whole numbers"})
    )
    for number in range(2):
        rows = [
            [vial.code, f"{chance.randrange(77) / 76:.6f}", chance.choice(["38", "37", ""])] for vial in vials
        ]
        rows = chance.sample(rows, chance.randrange(len(rows) + 1)) + chance.choices(
            rows, k=chance.randrange(6)
        )
        for row in rows:
            if chance.random() < 0.2:
                row[0] = spoiled(row[0], chance)
            if number == 0 and chance.random() < 0.3:
                row[1] = chance.choice(
                    ["", "ND", "failed", "1.7", "-0.1", "4S", "nan", "0.5", "#N/A", "3/4/25"]
                )
        lines = ["Sample ID,Florida proportion,Loci scored", *(",".join(row) for row in rows)]
        n_rows = session.scalar(select(func.count()).select_from(ReturnRow)) or 0
        try:
            read_return(
                session,
                LabFile("\n".join(lines).encode(), f"r{number}.csv"),
                "SHIP-1",
                stamp=Stamp(NOW, "Ada Test"),
                layout=layout,
            )
        except SheetFault:
            assert (session.scalar(select(func.count()).select_from(ReturnRow)) or 0) == n_rows
        told = reconcile(session, "SHIP-1", stamp=Stamp(NOW, "Ada Test"))
        assert_it_adds_up(told.counts, told.n_rows)
        if told.n_files:
            kinds = [finding.kind for finding in told.findings if finding.decision is None]
            assert kinds.count("missing") == told.counts.missing
    assert told.n_files  # at least one of the two files could be read
    numbers = list(session.scalars(select(Finding.number).order_by(Finding.number)))
    assert numbers == list(range(1, len(numbers) + 1))
