"""What a later line adds to a fish that is stored, and what it cannot add."""

from __future__ import annotations

import pytest
from office_support import NOW, swabbed
from sqlalchemy.orm import Session
from survey_support import a_survey

from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.stamp import Stamp
from geneticlog.work.boat.complete_fish import complete_fish
from geneticlog.work.boat.fish_doubts import FishRefused


def test_a_fish_takes_a_second_vial_and_no_third(sqlite_session: Session) -> None:
    session, stamp = sqlite_session, Stamp(NOW, "Ada Test")
    survey = a_survey(session)
    (first,) = swabbed(session, survey, 1)
    fish, run = first.fish, first.print_run
    assert fish is not None
    assert run is not None
    second, third = [vial for vial in run.vials if vial.standing == "printed"][:2]
    complete_fish(session, survey, 1, LogLine(second=second.code), stamp=stamp)
    session.refresh(fish, ["vials"])
    assert {(vial.code, vial.role) for vial in fish.vials} == {
        (first.code, "sample"),
        (second.code, "blind_duplicate"),
    }
    assert complete_fish(session, survey, 1, LogLine(second=second.code), stamp=stamp).already
    with pytest.raises(FishRefused, match="fish 1 has two vials already; a fish can have at most two"):
        complete_fish(session, survey, 1, LogLine(second=third.code), stamp=stamp)
    assert third.standing == "printed"
