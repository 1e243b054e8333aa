"""What the next survey of a lake would take: fish, likely catch and cost, by the same planner as ``plan``."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Lake
from geneticlog.work.catalogue.places import scheme_of
from geneticlog.work.plan.evidence import evidence
from geneticlog.work.plan.make_plan import make_plan
from geneticlog.work.plan.wishes import WANTED_A_CLASS, Wishes
from geneticlog.work.report.facts import NextPlan, PlannedSize

LAKE_HALF_WIDTH = 0.05  # of the lake's mean: what an owner is asked to pay for; a choice


def next_plan(
    session: Session,
    lake: Lake,
    species: str,
    *,
    with_result: bool,
    now: datetime,
    half_width: float = LAKE_HALF_WIDTH,
) -> NextPlan | None:
    """Return the plan for the next survey, None where the planner refuses; nothing is stored.

    Size classes of which no survey of the lake ever caught a fish are not asked for. Without a result there is no
    spread to plan with: then it is eight fish a class.
    """
    try:
        scheme = scheme_of(lake, species)
        never = evidence(session, lake, scheme, species).never_caught
        without = never if len(never) < len(scheme.classes) else ()
        wishes = (
            Wishes(lake_half_width=half_width, without=without)
            if with_result
            else Wishes(wanted=WANTED_A_CLASS, without=without)
        )
        plan = make_plan(session, lake, wishes, stamp=Stamp(now, ""), species=species, store=False)
    except Refused:  # no size classes for this species, or a wish that no survey could fill
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
    )
