"""How far the samples of each survey have come: the counts behind the state of a lake, in one statement for all.

What counts and what may still come of a vial are the conditions of `work/result`.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, case, func, or_, select, true
from sqlalchemy.orm import Session, aliased

from geneticlog.rules.lakes.state import Progress
from geneticlog.settings import local_day
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Fish, Result, Shipment, ShipmentPosition, Survey, ToldSurvey, Vial
from geneticlog.work.carry.vial_fates import told_counts, told_standing
from geneticlog.work.result.in_the_numbers import counted, numbers_of_lakes, of_its_species
from geneticlog.work.result.vial_outcome import (
    arrived_gone,
    has_an_outcome,
    has_left,
    in_hand,
    is_expected,
    may_still_come,
    waits_for_a_decision,
)

MANY = 200  # surveys from which the pairs of taxa of all lakes are looked up at once


def progress_of_surveys(session: Session, survey_ids: Collection[int] | None = None) -> dict[int, Progress]:
    """Return the progress of each survey by its id, of all surveys where none is named; one without swabs is absent.

    Where the shipments of a survey are in another database, by what that one said.
    """
    numbers = numbers_of_lakes(session, _lakes_of(survey_ids))
    progress: dict[int, Progress] = {}
    if survey_ids is None:
        progress = _swabs(session, numbers)
    else:
        for chunk in in_chunks(survey_ids):
            progress |= _swabs(session, numbers, Fish.survey_id.in_(chunk))
    for chunk in in_chunks([key for key, one in progress.items() if one.n_resulted < one.n_swabbed]):
        query = _by_survey(_of_fish(Fish.survey_id.in_(chunk), ~_has_result(numbers)))
        for key, others in _counted(session, query).items():
            progress[key] = _together(progress[key], others)
    for survey in session.scalars(select(Survey).join(ToldSurvey, ToldSurvey.survey_id == Survey.id)):
        if survey.id in progress:
            progress[survey.id] = _as_told(session, survey, progress[survey.id])
    return progress


def _lakes_of(survey_ids: Collection[int] | None) -> ColumnElement[bool]:
    if survey_ids is None or len(survey_ids) > MANY:
        return true()
    named = aliased(Survey)
    return Survey.lake_id.in_(select(named.lake_id).where(named.id.in_(survey_ids)))


def progress_of(session: Session, survey: Survey) -> Progress:
    """Return the progress of one survey."""
    return progress_of_surveys(session, [survey.id]).get(survey.id, Progress())


def _as_told(session: Session, survey: Survey, here: Progress) -> Progress:
    """Return the progress by what the database with the shipments said; what is known here where this is that one."""
    elsewhere = told_standing(session, [survey])
    if elsewhere is None:
        return here
    counts = told_counts(session, [survey], elsewhere).values()
    n_sent, n_typed = sum(one.n_shipped for one in counts), sum(one.n_typed for one in counts)
    n_failed = sum(one.n_failed for one in counts)
    return Progress(
        n_swabbed=here.n_swabbed,
        n_in_hand=here.n_in_hand,
        n_in_store=max(0, here.n_swabbed - n_sent),
        n_sent=n_sent,
        n_returned=n_typed + n_failed,
        n_waiting=max(0, n_sent - n_typed - n_failed),
        n_resulted=n_typed,
    )


def progress_of_lakes(session: Session) -> dict[int, tuple[int, Progress]]:
    """Return by lake the id of its latest survey with a swab and that survey's progress; a lake without is absent."""
    with_swab = (
        select(Fish.id)
        .join(Vial, Vial.fish_id == Fish.id)
        .where(Fish.survey_id == Survey.id, of_its_species())
        .correlate(Survey)
        .exists()
    )
    last: dict[int, int] = {}
    for lake_id, survey_id in session.execute(
        select(Survey.lake_id, Survey.id).where(with_swab).order_by(Survey.surveyed_on, Survey.id)
    ):
        last[lake_id] = survey_id
    every = progress_of_surveys(session, list(last.values()))
    return {lake_id: (survey_id, every[survey_id]) for lake_id, survey_id in last.items()}


def _swabs(session: Session, numbers: ColumnElement[bool], *of: ColumnElement[bool]) -> dict[int, Progress]:
    """Return by survey its swabbed fish, and of these alone that are in the numbers how far they came: that they were
    sent and returned needs no looking up.
    """
    rows = session.execute(
        select(
            Fish.survey_id,
            func.count(Fish.id.distinct()).label("n_swabbed"),
            func.count(case((in_hand(), Fish.id)).distinct()).label("n_in_hand"),
            func.count(Result.fish_id).label("n_resulted"),
        )
        .join(Survey, and_(Survey.id == Fish.survey_id, of_its_species()))
        .join(Vial, Vial.fish_id == Fish.id)
        .outerjoin(Result, and_(Result.fish_id == Fish.id, Result.vial_id == Vial.id, numbers))
        .where(*of)
        .group_by(Fish.survey_id)
    )
    return {
        row.survey_id: Progress(
            n_swabbed=row.n_swabbed,
            n_in_hand=row.n_in_hand,
            n_sent=row.n_resulted,
            n_returned=row.n_resulted,
            n_resulted=row.n_resulted,
        )
        for row in rows
    }


def _has_result(condition: ColumnElement[bool]) -> ColumnElement[bool]:
    return select(Result.id).where(Result.fish_id == Fish.id, condition).correlate(Fish, Survey).exists()


def _together(every: Progress, others: Progress) -> Progress:
    """Return the progress of a survey from all its fish and that of its fish without a result."""
    return replace(
        others,
        n_swabbed=every.n_swabbed,
        n_in_hand=every.n_in_hand,
        n_sent=every.n_sent + others.n_sent,
        n_returned=every.n_returned + others.n_returned,
        n_resulted=every.n_resulted,
    )


def _of_fish(*of: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    """Return a row for each swabbed fish that is not in the numbers: where its vials have got to, as 0 and 1."""
    at_the_lab = and_(in_hand(), is_expected(), may_still_come())

    def any_of(condition: ColumnElement[bool]) -> ColumnElement[int]:
        return func.max(case((condition, 1), else_=0))

    return (
        select(
            Fish.survey_id.label("survey_id"),
            any_of(and_(in_hand(), or_(Shipment.id.is_(None), ~has_left()))).label("in_store"),
            any_of(has_left()).label("sent"),
            any_of(and_(in_hand(), Shipment.id.is_(None))).label("unpacked"),
            any_of(Shipment.id.is_not(None)).label("packed"),
            any_of(arrived_gone()).label("gone"),
            any_of(has_an_outcome()).label("returned"),
            any_of(_has_result(counted())).label("other_pair"),
            any_of(waits_for_a_decision()).label("held"),
            any_of(at_the_lab).label("at_the_lab"),
            func.min(case((at_the_lab, Shipment.sent_at))).label("since"),
        )
        .join(Survey, and_(Survey.id == Fish.survey_id, of_its_species()))
        .join(Vial, Vial.fish_id == Fish.id)
        .outerjoin(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .outerjoin(Shipment, Shipment.id == ShipmentPosition.shipment_id)
        .where(*of)
        .group_by(Fish.survey_id, Fish.id)
    )


def _by_survey(of_fish: Select[*tuple[Any, ...]]) -> Select[*tuple[Any, ...]]:
    fish = of_fish.subquery()
    waiting = or_(fish.c.held == 1, fish.c.at_the_lab == 1)

    def count(condition: ColumnElement[bool]) -> ColumnElement[int]:
        return func.sum(case((condition, 1), else_=0))

    gone = and_(fish.c.gone == 1, fish.c.returned == 0, fish.c.at_the_lab == 0, fish.c.unpacked == 0)
    counts = {
        "n_in_store": count(and_(fish.c.in_store == 1, fish.c.sent == 0)),
        "n_sent": func.sum(fish.c.sent),
        "n_returned": func.sum(fish.c.returned),
        "n_waiting": count(waiting),
        "n_held": func.sum(fish.c.held),
        "n_unpacked": count(and_(fish.c.unpacked == 1, fish.c.packed == 0, fish.c.returned == 0)),
        "n_gone": count(gone),
        "n_other_pair": func.sum(fish.c.other_pair),
    }
    return select(
        fish.c.survey_id,
        *(counted_as.label(name) for name, counted_as in counts.items()),
        func.min(case((waiting, fish.c.since))).label("since"),
    ).group_by(fish.c.survey_id)


def _counted(session: Session, query: Select[*tuple[Any, ...]]) -> dict[int, Progress]:
    by_survey = {}
    for row in session.execute(query).mappings():
        since = row["since"]
        counts: dict[str, Any] = {name: int(row[name]) for name in row if name.startswith("n_")}
        by_survey[row["survey_id"]] = Progress(**counts, waiting_since=local_day(since) if since else None)
    return by_survey
