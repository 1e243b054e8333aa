"""Fish found by their number, and what keeps an office from being removed."""

from __future__ import annotations

import pytest
from lakes_support import add_fish
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import NOW, a_survey

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Office
from geneticlog.work.catalogue.remove import remove_office
from geneticlog.work.events import find_fish

STAMP = Stamp(NOW, "Ada")


def test_a_fish_is_found_within_its_survey_and_the_last_number_is_of_that_survey(session: Session) -> None:
    first, second = a_survey(session), a_survey(session, "HERON-2027", n_vials=0)
    fish = [add_fish(session, first, 10.0 + n) for n in range(3)]
    other = add_fish(session, second, 9.0)
    session.flush()
    assert find_fish(session, first, fish[0].number) is fish[0]
    assert find_fish(session, second, other.number) is other
    with pytest.raises(NotFound, match="HERON-2026 has no fish 9; its fish are numbered up to 3"):
        find_fish(session, first, 9)
    with pytest.raises(NotFound, match="HERON-2027 has no fish 9; its fish are numbered up to 1"):
        find_fish(session, second, 9)


def test_an_office_without_a_code_is_removed_and_one_with_codes_is_not(session: Session) -> None:
    new, used = Office(prefix="NW", name="New"), Office(prefix="US", name="Used", next_serial=4)
    session.add_all([new, used])
    session.flush()
    with pytest.raises(Refused, match="3 vial codes"):
        remove_office(session, used, stamp=STAMP, why="a mistake")
    remove_office(session, new, stamp=STAMP, why="a mistake")
    assert session.scalars(select(Office.prefix).where(Office.prefix.in_(["NW", "US"]))).all() == ["US"]
