"""Offices that a carry file brings: their block of codes, and whose UUID counts."""

from __future__ import annotations

from typing import Any

import pytest
from return_support import MOMENT
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Office
from geneticlog.work.carry.carry_in_places import take_places
from geneticlog.work.carry.carry_merge import Merge
from geneticlog.work.carry.vial_fates import ALL_MINTED

THEIRS, OWN = "f" * 32, "0" * 32
BLOCK = {"station": 5, "office": "BG"}


@pytest.mark.parametrize(
    ("here", "head", "after"),
    [
        (None, {}, (0, ALL_MINTED, THEIRS)),
        (None, BLOCK, (5, 1, THEIRS)),
        (None, {"station": 5, "office": "XX"}, (0, ALL_MINTED, THEIRS)),
        ((0, 9), {}, (0, 9, OWN)),  # the office's own database
        ((0, 9), BLOCK, (0, 9, OWN)),
        ((3, 9), {}, (3, 9, THEIRS)),  # a boat whose office was entered by hand
        ((3, 9), BLOCK, (3, 9, THEIRS)),
        ((0, ALL_MINTED), {}, (0, ALL_MINTED, THEIRS)),  # a guest, until it gets a block
        ((0, ALL_MINTED), BLOCK, (5, 1, THEIRS)),
        ((3, ALL_MINTED), BLOCK, (3, ALL_MINTED, THEIRS)),
    ],
)
def test_an_office_that_is_here_keeps_its_block_and_the_first_database_its_own_uuid(
    sqlite_session: Session, here: tuple[int, int] | None, head: dict[str, Any], after: tuple[int, int, str]
) -> None:
    if here is not None:
        sqlite_session.add(
            Office(prefix="BG", name="An office", uid=OWN, station=here[0], next_serial=here[1])
        )
        sqlite_session.flush()
    line = {"table": "office", "prefix": "BG", "name": "An office", "uid": THEIRS}
    merge = Merge(sqlite_session, {"surveys": [], **head}, [line], Stamp(MOMENT, "Ada"))
    take_places(merge)
    office = sqlite_session.scalars(select(Office)).one()
    assert (office.station, office.next_serial, office.uid) == after
    assert (merge.did.n_new, merge.did.n_taken) == (
        int(here is None),
        int(here is not None and after[2] == THEIRS),
    )
    assert merge.did.station == (5 if after[0] == 5 else None)


def test_a_file_of_an_older_program_tells_no_uuid(sqlite_session: Session) -> None:
    take_places(
        Merge(
            sqlite_session,
            {"surveys": []},
            [{"table": "office", "prefix": "BG", "name": "An office"}],
            Stamp(MOMENT, "Ada"),
        )
    )
    assert len(sqlite_session.scalars(select(Office.uid)).one()) == 32
