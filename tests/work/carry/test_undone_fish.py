"""Fish that were taken out of the log of the other database: out here too, but where they are carried again."""

from __future__ import annotations

import json
from typing import Any

import pytest
from lakes_support import add_fish
from sqlalchemy.orm import Session
from survey_support import NOW, a_survey

from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Fish
from geneticlog.work.carry.carry_in_fish import remove_undone_fish
from geneticlog.work.carry.carry_merge import Merge


@pytest.mark.parametrize(
    ("verb", "kind", "named", "carried", "removed"),
    [
        ("undone", "fish", True, False, 1),
        ("undone", "fish", True, True, 0),  # it is in the other log again
        ("corrected", "fish", True, False, 0),
        ("undone", "vial", True, False, 0),
        ("undone", "fish", False, False, 0),  # an event that names no fish
    ],
)
def test_fish_that_were_undone_there(
    session: Session, verb: str, kind: str, named: bool, carried: bool, removed: int
) -> None:
    fish = add_fish(session, a_survey(session, n_vials=0), 12.0)
    session.flush()
    identity = fish.id
    old = json.dumps({"uid": fish.uid}) if named else None
    event: dict[str, Any] = {
        "table": "event", "uid": "an event", "subject_kind": kind, "subject": fish.uid, "verb": verb, "old": old,
        "new": None, "at": NOW, "by": "Bea",
    }  # fmt: skip
    lines = [event, *([{"table": "fish", "uid": fish.uid}] if carried else [])]
    merge = Merge(session, {"surveys": []}, lines, Stamp(NOW, "Ada"))
    merge.theirs = {("fish", fish.uid): {"an event"}}
    remove_undone_fish(merge)
    assert merge.did.n_removed == removed
    assert (session.get(Fish, identity) is None) == bool(removed)
