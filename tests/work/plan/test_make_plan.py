"""A plan: the fish wanted of each size class, what they rest on, and what is refused."""

from __future__ import annotations

import math
from datetime import date

import pytest
from lakes_support import NOW, add_catch, add_lake, add_panel, add_survey
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.work.plan.make_plan import Plan, make_plan, stored_plan
from geneticlog.work.plan.wishes import Wishes

ADA = Stamp(NOW, "Ada Test")
CLASSES = ("substock", "stock", "quality", "preferred", "memorable", "trophy")


def targets(plan: Plan) -> dict[str, int]:
    return {one.size_class: one.target for one in plan.classes}


def test_a_lake_never_surveyed_gets_eight_of_each_class(sqlite_session: Session) -> None:
    session = sqlite_session
    lake = add_lake(session)
    plan = make_plan(session, lake, Wishes(), stamp=ADA, curve=False)
    wanted = {name: n for name, n in targets(plan).items() if n}
    assert set(wanted.values()) == {8}
    assert (plan.n_fish, plan.n_likely, plan.fee, plan.cost) == (sum(wanted.values()), None, None, None)
    assert all(one.spread_from == "default" and one.likely_catch is None for one in plan.classes)
    # 8 fish miss a kind that is 31 % of the class one time in twenty: (1 - .3123)^8 = .05
    assert plan.classes[0].unseen == pytest.approx(1 - 0.05 ** (1 / 8))
    asked = Wishes(carrier_frequency=0.1, chance=0.95)
    carriers = make_plan(session, lake, asked, stamp=ADA, store=False, curve=False)
    assert carriers.fish_for_carrier == math.ceil(math.log(0.05) / math.log(0.9)) == 29
    assert carriers.number is None
    assert stored_plan(session, lake).targets == targets(plan)


def test_a_plan_rests_on_the_last_survey_and_costs_the_fee(sqlite_session: Session) -> None:
    session = sqlite_session
    lake = add_lake(session)
    survey = add_survey(session, lake, "HERON-2024", date(2024, 5, 1))
    few, many = [10, 12, 14, 16, 18], [2, 20, 38, 56, 74]
    add_catch(session, survey, {9.0: (40, few), 13.0: (20, many), 16.0: (10, few)}, add_panel(session))
    plan = make_plan(session, lake, Wishes(fish=40, fee=25.0), stamp=ADA, curve=False)
    assert (plan.number, plan.n_fish, plan.cost) == (1, 40, 1000.0)
    of = {one.size_class: one for one in plan.classes}
    assert [of[name].likely_catch for name in CLASSES] == [0, 40, 20, 10, 0, 0]
    assert list(targets(plan).values()) == [7, 7, 7, 7, 6, 6]
    assert any("Never caught here" in note and "substock, memorable, trophy" in note for note in plan.notes)
    assert [of[name].n_typed for name in CLASSES] == [0, 5, 5, 5, 0, 0]
    assert {of[name].spread_from for name in CLASSES[1:4]} == {"HERON-2024"}
    assert of["trophy"].spread_from == "HERON-2024, all classes"
    assert of["quality"].spread > of["stock"].spread
    assert plan.n_likely == 7 + 7 + 7  # of the classes that were caught
    without = make_plan(session, lake, Wishes(fish=30, without=("stock",)), stamp=ADA, curve=False)
    assert (without.number, targets(without)["stock"], without.n_fish) == (2, 0, 30)
    assert any("--without" in note and "stock" in note for note in without.notes)


@pytest.mark.parametrize(
    ("wishes", "why"),
    [
        (Wishes(budget=500.0), "a budget needs the lab's fee"),
        (
            Wishes(budget=30.0, fee=25.0),
            "pays for 1 fish at \\$25.00 each, but the least of 5 in each of 3 size classes",
        ),
        (Wishes(without=("whopper",)), "no size class here is called so"),
        (Wishes(half_width=0.0), "a half-width of 0 cannot be used for a plan"),
    ],
)
def test_wishes_that_cannot_be_are_refused_and_nothing_is_stored(
    sqlite_session: Session, wishes: Wishes, why: str
) -> None:
    lake = add_lake(sqlite_session)
    survey = add_survey(sqlite_session, lake)
    add_catch(
        sqlite_session,
        survey,
        {length: (9, [10, 40, 60]) for length in (9.0, 13.0, 16.0)},
        add_panel(sqlite_session),
    )
    with pytest.raises(Refused, match=why):
        make_plan(sqlite_session, lake, wishes, stamp=ADA, curve=False)
    with pytest.raises(NotFound, match="has no sampling plan"):
        stored_plan(sqlite_session, lake)
