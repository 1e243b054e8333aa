"""Coverage: fish per size class against the wish, before and after the lab."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.schemes import Scheme
from geneticlog.store.tables import Fish, Lake, Result, SamplingPlan, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.places import plan_in_force, scheme_of


@dataclass(frozen=True)
class ClassCoverage:
    """One size class. All counts are fish; a tally counts in full.

    n_failed: swabbed fish all of whose vials failed at the lab; they no longer cover anything.
    target, short_by: None where there is no sampling plan.
    """

    size_class: str
    n_caught: int
    n_swabbed: int
    n_shipped: int
    n_resulted: int
    n_failed: int
    target: int | None
    short_by: int | None
    standing: str


@dataclass(frozen=True)
class Coverage:
    """Coverage of one survey, or of several surveys of a lake together."""

    named: str
    surveys: tuple[str, ...]
    scheme: str
    plan: int | None  # number of the sampling plan the targets come from
    classes: tuple[ClassCoverage, ...]
    n_unmeasured: int  # fish without a length, so without a class


def standing(n_caught: int, n_swabbed: int, n_covering: int, target: int | None) -> str:
    """Return the word for how a class stands; ``n_covering`` are the swabbed fish that did not fail."""
    if target is None:
        return "no target"
    if n_covering > target:
        return "none wanted" if target == 0 else "more than wanted"
    if n_covering == target:
        return "none wanted" if target == 0 else "full"
    if n_caught == 0:
        return "none caught"
    if n_swabbed >= n_caught:
        return "all caught are swabbed"  # short, and the fish to fill it have not been caught
    return "short"


def of_survey(session: Session, survey: Survey) -> Coverage:
    """Return the coverage of a survey by its own scheme and sampling plan."""
    scheme = Scheme.from_json(survey.scheme)
    return _coverage(session, survey.code, [survey], scheme, survey.species, survey.sampling_plan)


def of_lake(
    session: Session, lake: Lake, since: date, until: date, species: str = "largemouth_bass"
) -> Coverage:
    """Return the coverage of a lake over the surveys of a season, by the plan in force now.

    Raises Refused when there is none in that season, or when they were judged by different size classes.
    """
    surveys = list(
        session.scalars(
            select(Survey)
            .where(
                Survey.lake_id == lake.id,
                Survey.species == species,
                Survey.surveyed_on >= since,
                Survey.surveyed_on <= until,
            )
            .order_by(Survey.surveyed_on)
        )
    )
    if not surveys:
        raise Refused(f"lake {lake.code} has no survey from {since} to {until}; see: geneticlog survey list")
    plan = plan_in_force(session, lake)
    if plan is not None and Scheme.from_json(plan.scheme).species != species:
        plan = None
    scheme = Scheme.from_json(plan.scheme) if plan is not None else scheme_of(lake, species)
    other = [survey.code for survey in surveys if Scheme.from_json(survey.scheme).classes != scheme.classes]
    if other:
        raise Refused(
            f"the surveys {', '.join(other)} were judged by other size classes than the lake has now; "
            "look at each by itself: geneticlog coverage SURVEY"
        )
    return _coverage(session, lake.code, surveys, scheme, species, plan)


def _coverage(
    session: Session,
    named: str,
    surveys: Sequence[Survey],
    scheme: Scheme,
    species: str,
    plan: SamplingPlan | None,
) -> Coverage:
    filled = select(Vial.fish_id).where(Vial.fish_id == Fish.id, Vial.standing == "filled").correlate(Fish)
    shipped = (
        filled.join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .join(Shipment, Shipment.id == ShipmentPosition.shipment_id)
        .where(Shipment.standing != "packed")
    )
    resulted = select(Result.id).where(Result.fish_id == Fish.id).correlate(Fish)
    hopeful = (  # a filled vial that has not failed: no result yet, or a typed one
        select(Vial.id)
        .where(
            Vial.fish_id == Fish.id,
            Vial.standing == "filled",
            ~select(Result.id)
            .where(Result.vial_id == Vial.id, Result.standing == "current", Result.outcome == "failed")
            .correlate(Vial)
            .exists(),
        )
        .correlate(Fish)
    )
    rows = session.execute(
        select(
            Fish.size_class,
            func.sum(Fish.n_fish),
            func.sum(case((filled.exists(), 1), else_=0)),
            func.sum(case((shipped.exists(), 1), else_=0)),
            func.sum(case((resulted.exists(), 1), else_=0)),
            func.sum(case((filled.exists() & ~hopeful.exists(), 1), else_=0)),
        )
        .where(Fish.survey_id.in_([survey.id for survey in surveys]), Fish.species == species)
        .group_by(Fish.size_class)
    )
    counted = {size_class: tuple(int(n) for n in counts) for size_class, *counts in rows}
    targets: Mapping[str, int] | None = None
    if plan is not None:
        targets = {row.size_class: row.target for row in plan.targets}
    classes = []
    for name in scheme.classes:
        caught, swabbed, sent, typed, failed = counted.get(name, (0, 0, 0, 0, 0))
        target = targets.get(name, 0) if targets is not None else None
        covering = swabbed - failed
        classes.append(
            ClassCoverage(
                size_class=name,
                n_caught=caught,
                n_swabbed=swabbed,
                n_shipped=sent,
                n_resulted=typed,
                n_failed=failed,
                target=target,
                short_by=None if target is None else max(0, target - covering),
                standing=standing(caught, swabbed, covering, target),
            )
        )
    codes = tuple(survey.code for survey in surveys)
    unmeasured = counted.get(None, (0,))[0]
    return Coverage(named, codes, scheme.name, plan.number if plan else None, tuple(classes), unmeasured)
