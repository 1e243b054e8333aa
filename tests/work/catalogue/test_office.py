"""An office is entered, renamed and found; its station stays once a code is minted."""

from __future__ import annotations

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import NOW

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Event, Office
from geneticlog.work.catalogue.office import find_office, offices, set_office

STAMP = Stamp(NOW, "Ada")


def written(session: Session) -> list[str]:
    return list(session.scalars(select(Event.verb).where(Event.subject_kind == "office").order_by(Event.id)))


def test_an_office_is_entered_and_changed_in_what_is_said_alone(session: Session) -> None:
    office = set_office(session, "nw", name="North", station=None, stamp=STAMP)
    assert (office.prefix, office.name, office.station) == ("NW", "North", 0)
    set_office(session, "NW", name=None, station=None, stamp=STAMP)
    assert (office.name, office.station) == ("North", 0)
    set_office(session, "NW", name="North West", station=None, stamp=STAMP)
    assert (office.name, office.station) == ("North West", 0)
    set_office(session, "NW", name=None, station=3, stamp=STAMP)
    assert (office.name, office.station) == ("North West", 3)
    assert written(session) == [
        "entered",
        "corrected",
        "corrected",
    ]  # nothing is written where nothing changed


def test_the_station_stays_once_a_code_is_minted(session: Session) -> None:
    office = set_office(session, "NW", name="North", station=2, stamp=STAMP)
    office.next_serial = 1
    set_office(session, "NW", name=None, station=3, stamp=STAMP)
    office.next_serial = 2
    with pytest.raises(Refused, match="minted codes at station 3"):
        set_office(session, "NW", name=None, station=4, stamp=STAMP)
    set_office(session, "NW", name=None, station=3, stamp=STAMP)  # the same
    assert office.station == 3


def test_the_only_office_needs_no_name(session: Session) -> None:
    for office in session.scalars(select(Office)):
        session.delete(office)
    session.flush()
    with pytest.raises(NotFound, match="no office is entered yet"):
        find_office(session)
    first = set_office(session, "NW", name="North", station=None, stamp=STAMP)
    assert find_office(session) is first
    second = set_office(session, "SE", name="South", station=None, stamp=STAMP)
    with pytest.raises(NotFound, match=r"several offices \(NW, SE\)"):
        find_office(session)
    assert find_office(session, " se ") is second
    with pytest.raises(NotFound, match="no office 'XX'; there are: NW, SE"):
        find_office(session, "XX")
    assert offices(session) == {"NW", "SE"}
