"""What is kept with a finding, a plan and a lake as JSON: read back it is the same, and texts of before are read."""

from __future__ import annotations

import json

import pytest

from geneticlog.rules.finding.finding_data import KEPT, FindingData, Matched, vials_named
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.plan.plan_inputs import PlanInputs
from geneticlog.rules.result.result_states import Outcome
from geneticlog.rules.schemes import OwnSchemes, SchemeError, five_length

WHOLE = FindingData(
    facts={"vial": "A", "other_vial": "B", "vials": ["C"], "q": 0.5},
    reason=FindingKind.UNREADABLE_CODE,
    row=7,
    about=("A",),
    before=({"result": 3, "q": 0.25},),
    replaced=(1,),
    brought_back=(2,),
    matched=Matched(4, "A", None, Outcome.UNEXPECTED, 9),
    unmatched=(5,),
    answered=True,
    answered_by=6,
)


def test_the_data_of_a_finding_are_the_same_when_read_back() -> None:
    assert FindingData.from_json(WHOLE.to_json()) == WHOLE
    assert set(json.loads(WHOLE.to_json())) == KEPT | WHOLE.facts.keys()
    assert FindingData().to_json() == "{}"
    assert WHOLE.vials == vials_named(WHOLE.facts) == {"A", "B", "C"}


def test_data_as_they_were_kept_before_are_read() -> None:
    old = FindingData.from_json(
        '{"about": "A", "answered": false, "brought_back": [], "q": 0.5, "row": null}'
    )
    assert old == FindingData({"q": 0.5}, about=("A",))
    assert FindingData.from_json('{"about": null}') == FindingData()


def test_a_fact_cannot_hide_a_decision() -> None:
    with pytest.raises(ValueError, match="facts of a finding cannot be named matched"):
        FindingData({"matched": "yes"})


def test_the_inputs_of_a_plan_are_the_same_when_read_back() -> None:
    inputs = PlanInputs({"fish": 30}, "the lab's list", {"stock": 0.1}, {"stock": "default"}, ("a note",))
    assert PlanInputs.from_json(inputs.to_json()) == inputs
    assert PlanInputs.from_json("{}") == PlanInputs()


def test_the_own_schemes_of_a_lake_are_kept_as_one_or_a_list() -> None:
    bass, spotted = five_length("largemouth_bass"), five_length("spotted_bass")
    one, both = OwnSchemes({bass.species: bass}), OwnSchemes({bass.species: bass, spotted.species: spotted})
    assert one.to_json() == bass.to_json()
    assert OwnSchemes.from_json(one.to_json()) == one
    assert OwnSchemes.from_json(both.to_json()) == both
    for text in ("x", "[1]", "{}"):
        with pytest.raises(SchemeError):
            OwnSchemes.from_json(text)
