"""What the next survey of a lake would take: fish, likely catch and cost, by the same planner as ``plan``."""

from __future__ import annotations

from functools import cached_property

from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.report.comparability import nears_nothing
from geneticlog.store.tables import Lake
from geneticlog.work.plan.evidence import DEFAULT, POOLED
from geneticlog.work.plan.make_plan import Ground, Plan, ground_of, plan_on
from geneticlog.work.plan.wishes import Wishes
from geneticlog.work.report.facts import Change, SurveyFacts
from geneticlog.work.report.next_facts import FishToSee, NextPlan, NextTime, PlannedSize

LAKE_HALF_WIDTH = 0.05  # of the lake's mean: what an owner is asked to pay for; a choice


class Planner:
    """The planner as a report asks it: nothing is stored, and what the surveys showed is gathered once."""

    def __init__(self, session: Session, lake: Lake, species: str) -> None:
        self._session, self._lake, self._species = session, lake, species

    @cached_property
    def _ground(self) -> Ground:
        return ground_of(self._session, self._lake, self._species)

    def plan(self, wishes: Wishes) -> Plan | None:
        """Return a plan; None where there are no size classes, or no survey could fill the wish."""
        try:
            return plan_on(self._session, self._ground, wishes, stamp=None, curve=False)
        except Refused:
            return None


def next_plan(planner: Planner, *, with_result: bool, half_width: float = LAKE_HALF_WIDTH) -> NextPlan | None:
    """Return the plan for the next survey, None where the planner refuses; nothing is stored.

    It is the plan of ``geneticlog plan --lake-half-width``. Size classes of which no survey of the lake ever caught a
    fish come as they come. Without a result there is no spread to plan with: then it is eight fish a class.
    """
    wishes = Wishes(lake_half_width=half_width) if with_result else Wishes()
    plan = planner.plan(wishes)
    if plan is None:
        return None
    return NextPlan(
        n_fish=plan.n_fish,
        n_likely=plan.n_likely,
        cost=plan.cost,
        half_width=half_width if with_result else None,
        classes=tuple(
            PlannedSize(one.size_class, one.target, one.likely_catch, one.half_width, one.cost)
            for one in plan.classes
        ),
        alike_sites=plan.alike_sites,
    )


def next_time(planner: Planner, main: SurveyFacts, half_width: float) -> tuple[NextTime, ...]:
    """Return the fish each class needs for the wanted half-width of its own mean, as ``geneticlog plan --half-width``.

    Nothing where the planner refuses, or the lake has other size classes by now.
    """
    plan = planner.plan(Wishes(half_width=half_width))
    if plan is None or [one.size_class for one in plan.classes] != [row.size_class for row in main.classes]:
        return ()
    return tuple(
        NextTime(
            row.size_class,
            row.n_resulted,
            (row.high - row.low) / 2 if row.low is not None and row.high is not None else None,
            spread_of.spread,
            spread_of.spread_from == DEFAULT or spread_of.spread_from.endswith(POOLED),
            None if spread_of.as_they_come else spread_of.target,
        )
        for row, spread_of in zip(main.classes, plan.classes, strict=True)
    )


def fish_to_see(planner: Planner, main: SurveyFacts, change: Change | None, matters: float) -> FishToSee:
    """Return the fish that would show the difference that matters where the survey leaves it open, as `plan` has it.

    change
        From the survey before to the main one; None without.
    """

    def fish(low: float | None, high: float | None, wishes: Wishes) -> int | None:
        if low is None or high is None or not low <= 0 <= high or nears_nothing(low, high, matters):
            return None
        plan = planner.plan(wishes)
        return None if plan is None else plan.n_fish

    contrast = main.young_minus_adult
    return FishToSee(
        fish(contrast.low, contrast.high, Wishes(young_adult=matters)),
        None if change is None else fish(change.low, change.high, Wishes(change=matters)),
    )
