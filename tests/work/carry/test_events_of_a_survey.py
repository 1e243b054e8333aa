"""The events that a carry file takes along: each of them once, however many vials there are."""

from __future__ import annotations

from return_support import MOMENT
from sqlalchemy.orm import Session

from geneticlog.rules.stamp import Stamp
from geneticlog.work.carry.carry_out import events_about
from geneticlog.work.events import record_all


def test_every_event_of_a_vial_is_taken_along_once(sqlite_session: Session) -> None:
    codes = [f"TH{at:06}J" for at in range(5_001)]  # more than are asked for at a time
    record_all(sqlite_session, "filled", "vial", codes, stamp=Stamp(MOMENT, "Ada Test"))
    assert sorted(event.subject for event in events_about(sqlite_session, [], [], codes)) == codes
