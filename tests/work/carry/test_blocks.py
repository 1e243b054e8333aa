"""Blocks of vial codes that an office gives to the databases of its boats."""

from __future__ import annotations

import pytest
from return_support import MOMENT, a_shipment
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Office, Survey
from geneticlog.work.carry.carry_out import carry_out
from geneticlog.work.carry.vial_fates import ALL_MINTED

STAMP = Stamp(MOMENT, "Ada")


@pytest.mark.parametrize(
    ("office", "given"),
    [
        ({"next_station": 7}, 7),
        ({"next_station": 1023}, 1023),
        ({"next_station": 1024}, "has given all its blocks of codes away"),
        ({"station": 3}, "this database has station 3 of office BG"),
        ({"next_serial": ALL_MINTED}, "has no block of codes of office BG of its own"),
        ({"station": 3, "next_serial": ALL_MINTED}, "this database has station 3 of office BG"),
    ],
)
def test_the_first_database_alone_gives_each_block_once(
    sqlite_session: Session, office: dict[str, int], given: int | str
) -> None:
    a_shipment(sqlite_session, 1)
    sqlite_session.add(Office(prefix="BG", name="An invented office", **office))
    surveys = sqlite_session.scalars(select(Survey)).all()
    if isinstance(given, str):
        with pytest.raises(Refused, match=given):
            carry_out(sqlite_session, surveys, stamp=STAMP, for_boat=" bg ")
        return
    assert carry_out(sqlite_session, surveys, stamp=STAMP, for_boat=" bg ").station == given
    assert sqlite_session.scalars(select(Office.next_station)).one() == given + 1
    assert carry_out(sqlite_session, surveys, stamp=STAMP).station is None


def test_a_block_is_of_an_office_that_is_here(sqlite_session: Session) -> None:
    a_shipment(sqlite_session, 1)
    with pytest.raises(Refused, match="there is no office 'XX' here"):
        carry_out(sqlite_session, sqlite_session.scalars(select(Survey)).all(), stamp=STAMP, for_boat="XX")
