"""Two vials of a fish in hand at the most: those lost or broken take no place."""

from __future__ import annotations

import pytest
from office_support import NOW, swabbed
from sqlalchemy.orm import Session
from survey_support import a_survey

from geneticlog.errors import Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.work.boat.correct import FishChange, VialChange, correct_fish
from geneticlog.work.boat.fill_vial import VialRefused, fill_vial
from geneticlog.work.shipment.gone_vials import record_gone


def test_a_broken_vial_makes_room_for_another_and_has_none_itself_then(sqlite_session: Session) -> None:
    session, said = sqlite_session, {"stamp": Stamp(NOW, "Ada Test"), "why": "cracked"}
    survey = a_survey(session)
    first, second = swabbed(session, survey, 1, seconds=1)
    fish = first.fish
    assert fish is not None
    free = [vial for vial in first.print_run.vials if vial.standing == "printed"]  # type: ignore[union-attr]
    with pytest.raises(VialRefused, match="has two vials already"):
        fill_vial(session, fish, free[0], stamp=Stamp(NOW, "Ada Test"))
    assert record_gone(session, first, "broken", **said).n_in_hand == 1
    fill_vial(session, fish, free[0], stamp=Stamp(NOW, "Ada Test"))
    session.refresh(fish, ["vials"])
    with pytest.raises(Refused, match="has 2 other vials by now"):
        record_gone(session, first, "found", **said)
    assert record_gone(session, second, "lost", **said).n_in_hand == 1
    # a correction replaces the vial in hand; those that are gone stay on their fish
    correct_fish(session, survey, 1, FishChange({}, VialChange(add=free[1].code)), **said)
    session.refresh(fish, ["vials"])
    assert {vial.code: vial.standing for vial in fish.vials} == {
        first.code: "broken", second.code: "lost", free[1].code: "filled",
    }  # fmt: skip
    assert free[0].standing == "printed"
