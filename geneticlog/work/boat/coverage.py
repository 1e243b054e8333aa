"""Coverage: fish per size class against the wish, before and after the lab."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.boat.class_standing import ClassStanding, class_standing, covering, short_by
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.species import SPECIES
from geneticlog.settings import local_day
from geneticlog.store.tables import Lake, SamplingPlan, Survey
from geneticlog.work.carry.vial_fates import shipments_elsewhere, told_counts, told_standing
from geneticlog.work.catalogue.lake_plans import targets_of
from geneticlog.work.result.count_fish import FishCounts, count_fish, n_other_species, n_with_gone_vials
from geneticlog.work.result.in_the_numbers import pair_of


@dataclass(frozen=True)
class ClassCoverage:
    """One size class. All counts are fish; a tally counts in full.

    n_failed: swabbed fish that no longer cover anything: every vial of theirs failed at the lab, was rejected by a
    decision, is to be sampled again, or came to the lab missing or broken.
    target, short_by: None where there is no sampling plan, or the plan takes the class as it comes.
    """

    size_class: str
    n_caught: int
    n_swabbed: int
    n_shipped: int
    n_resulted: int
    n_failed: int
    target: int | None
    short_by: int | None
    standing: ClassStanding

    @property
    def n_covering(self) -> int:
        return covering(self.n_swabbed, self.n_failed)


@dataclass(frozen=True)
class Coverage:
    """Coverage of one survey, or of several surveys of a lake together."""

    named: str
    lake: str
    surveys: tuple[str, ...]
    scheme: str
    plan: int | None  # number of the sampling plan the targets come from
    classes: tuple[ClassCoverage, ...]
    n_unmeasured: int  # fish without a length, so without a class
    n_unmeasured_swabbed: int
    n_lost: int  # fish that were swabbed, and whose vials are all lost or broken: not swabbed any more
    n_other_species: int  # on the same surveys, and counted nowhere else here
    told_at: (
        datetime | None
    )  # when another database told what became of the vials; None where nothing was told
    shipments_elsewhere: bool  # the survey came by carry, and no shipment of its vials is known here


def of_survey(session: Session, survey: Survey) -> Coverage:
    """Return the coverage of a survey by its own scheme and sampling plan."""
    scheme = survey.scheme
    return _coverage(session, survey.code, [survey], scheme, survey.species, survey.sampling_plan)


def of_lake(
    session: Session, lake: Lake, since: date, until: date, species: str = "largemouth_bass"
) -> Coverage:
    """Return the coverage of a lake over the surveys of a season, by the plan of that season.

    That is the newest plan for these size classes made by the last day of the season; without one, the newest that
    a survey of the season was opened with.
    Raises NotFound when there is no survey in that season, Refused when they were judged by different classes.
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
            .order_by(Survey.surveyed_on, Survey.id)
        )
    )
    if not surveys:
        last = session.scalar(
            select(func.max(Survey.surveyed_on)).where(Survey.lake_id == lake.id, Survey.species == species)
        )
        hint = f"its last was on {last}: --since {last.year}-01-01" if last else "see: geneticlog survey list"
        raise NotFound(
            f"lake {lake.code} has no survey of {SPECIES[species].printed} from {since} to {until}; {hint}"
        )
    scheme = surveys[-1].scheme
    other = [survey.code for survey in surveys if not survey.scheme.judges_like(scheme)]
    if other:
        raise Refused(
            f"the surveys {', '.join(other)} were judged by other size classes than {surveys[-1].code}; "
            "look at each on its own: geneticlog coverage SURVEY"
        )
    plans = [
        plan
        for plan in session.scalars(
            select(SamplingPlan).where(SamplingPlan.lake_id == lake.id).order_by(SamplingPlan.number)
        )
        if plan.scheme.judges_like(scheme)
    ]
    own = {survey.sampling_plan_id for survey in surveys}
    of_season = [plan for plan in plans if local_day(plan.made_at) <= until] or [
        plan for plan in plans if plan.id in own
    ]
    return _coverage(session, lake.code, surveys, scheme, species, of_season[-1] if of_season else None)


def _coverage(
    session: Session,
    named: str,
    surveys: Sequence[Survey],
    scheme: Scheme,
    species: str,
    plan: SamplingPlan | None,
) -> Coverage:
    pair = pair_of(session, surveys[0].lake_id, species)
    counts = count_fish(session, surveys, pair)
    elsewhere = told_standing(session, surveys)
    if elsewhere is not None:  # no shipment is known here: what came with the survey is all there is
        for size_class, as_told in told_counts(session, surveys, elsewhere).items():
            counts[size_class] = replace(
                counts[size_class],
                n_shipped=as_told.n_shipped,
                n_resulted=as_told.n_typed,
                n_failed=as_told.n_failed,
            )
    targets = targets_of(plan) if plan is not None else None
    classes = []
    for name in scheme.classes:
        n = counts.get(name, FishCounts())
        target = targets.get(name) if targets is not None else None
        n_covering = covering(n.n_swabbed, n.n_failed)
        classes.append(
            ClassCoverage(
                size_class=name,
                n_caught=n.n_caught,
                n_swabbed=n.n_swabbed,
                n_shipped=n.n_shipped,
                n_resulted=n.n_resulted,
                n_failed=n.n_failed,
                target=target,
                short_by=short_by(n_covering, target),
                standing=ClassStanding.AS_THEY_COME
                if targets is not None and target is None
                else class_standing(n.n_caught, n.n_swabbed, n_covering, target),
            )
        )
    unmeasured = counts.get(None, FishCounts())
    return Coverage(
        named=named,
        lake=surveys[0].lake.code,
        surveys=tuple(survey.code for survey in surveys),
        scheme=scheme.name,
        plan=plan.number if plan else None,
        classes=tuple(classes),
        n_unmeasured=unmeasured.n_caught,
        n_unmeasured_swabbed=unmeasured.n_swabbed,
        n_lost=n_with_gone_vials(session, surveys),
        n_other_species=n_other_species(session, surveys),
        told_at=elsewhere.at if elsewhere is not None else None,
        shipments_elsewhere=shipments_elsewhere(session, surveys),
    )
