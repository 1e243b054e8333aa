"""How far the samples of each survey have come: the counts behind the state of a lake, in one statement for all."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, case, func, or_, select
from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.decision import Decision
from geneticlog.rules.lab_return.result_states import ResultStanding
from geneticlog.rules.label.vial_states import VialStanding
from geneticlog.rules.lakes.state import Progress
from geneticlog.rules.shipment.custody import AWAY, GONE, ShipmentStanding
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import (
    Finding,
    Fish,
    Result,
    Shipment,
    ShipmentPosition,
    Survey,
    ToldSurvey,
    Vial,
)
from geneticlog.work.carry.vial_fates import told_counts, told_standing
from geneticlog.work.result.in_the_numbers import in_force
from geneticlog.work.result.vial_outcome import in_hand


def progress_of_surveys(session: Session, survey_ids: Collection[int] | None = None) -> dict[int, Progress]:
    """Return the progress of each survey by its id, of all surveys where none is named; one without swabs is absent.

    Where the shipments of a survey are in another database, by what that one said.
    """
    progress: dict[int, Progress] = {}
    if survey_ids is None:
        progress = _swabs(session)
    else:
        for chunk in in_chunks(survey_ids):
            progress |= _swabs(session, Fish.survey_id.in_(chunk))
    for chunk in in_chunks([key for key, one in progress.items() if one.n_resulted < one.n_swabbed]):
        for key, others in _counted(
            session, _by_survey(_of_fish(Fish.survey_id.in_(chunk), ~_resulted()))
        ).items():
            progress[key] = _together(progress[key], others)
    for survey in session.scalars(select(Survey).join(ToldSurvey, ToldSurvey.survey_id == Survey.id)):
        if survey.id in progress:
            progress[survey.id] = _as_told(session, survey, progress[survey.id])
    return progress


def progress_of(session: Session, survey: Survey) -> Progress:
    """Return the progress of one survey."""
    return progress_of_surveys(session, [survey.id]).get(survey.id, Progress())


def _as_told(session: Session, survey: Survey, here: Progress) -> Progress:
    """Return the progress by what the database with the shipments said; what is known here where this is that one."""
    elsewhere = told_standing(session, [survey])
    if elsewhere is None:
        return here
    counts = told_counts(session, [survey], survey.species, elsewhere).values()
    n_sent, n_typed, n_failed = (sum(one[at] for one in counts) for at in range(3))
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
        .where(Fish.survey_id == Survey.id, Fish.species == Survey.species)
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


def _swabs(session: Session, *of: ColumnElement[bool]) -> dict[int, Progress]:
    """Return by survey its swabbed fish, and of these alone that have the result that counts how far they came: that
    they were sent and returned needs no looking up.
    """
    rows = session.execute(
        select(
            Fish.survey_id,
            func.count(Fish.id.distinct()),
            func.count(case((in_hand(), Fish.id)).distinct()),
            func.count(Result.fish_id.distinct()),
        )
        .join(Survey, and_(Survey.id == Fish.survey_id, Survey.species == Fish.species))
        .join(Vial, Vial.fish_id == Fish.id)
        .outerjoin(Result, Result.fish_id == Fish.id)
        .where(*of)
        .group_by(Fish.survey_id)
    )
    return {
        key: Progress(
            n_swabbed=n_swabbed,
            n_in_hand=n_in_hand,
            n_sent=n_resulted,
            n_returned=n_resulted,
            n_resulted=n_resulted,
        )
        for key, n_swabbed, n_in_hand, n_resulted in rows
    }


def _resulted() -> ColumnElement[bool]:
    return select(Result.id).where(Result.fish_id == Fish.id).correlate(Fish).exists()


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
    """Return a row for each swabbed fish without a result that counts: where its vials have got to, as 0 and 1."""
    left = Shipment.standing != ShipmentStanding.PACKED
    owed = select(Finding.id).where(Finding.vial_id == Vial.id, Finding.decision == Decision.RESAMPLE)
    is_held = Result.standing == ResultStanding.HELD
    at_the_lab = and_(
        Result.id.is_(None),
        Shipment.standing.in_(AWAY),
        Vial.standing == VialStanding.FILLED,
        or_(ShipmentPosition.arrival.is_(None), ShipmentPosition.arrival.not_in(GONE)),
        ~owed.correlate(Vial).exists(),
    )

    def any_of(condition: ColumnElement[bool]) -> ColumnElement[int]:
        return func.max(case((condition, 1), else_=0))

    return (
        select(
            Fish.survey_id.label("survey_id"),
            any_of(and_(Vial.standing == VialStanding.FILLED, or_(Shipment.id.is_(None), ~left))).label(
                "in_store"
            ),
            any_of(left).label("sent"),
            any_of(and_(Vial.standing == VialStanding.FILLED, Shipment.id.is_(None))).label("unpacked"),
            any_of(Shipment.id.is_not(None)).label("packed"),
            any_of(and_(Shipment.standing.in_(AWAY), ShipmentPosition.arrival.in_(GONE))).label("gone"),
            any_of(Result.id.is_not(None)).label("returned"),
            any_of(is_held).label("held"),
            any_of(at_the_lab).label("at_the_lab"),
            func.min(case((at_the_lab, Shipment.sent_at))).label("since"),
        )
        .join(Survey, and_(Survey.id == Fish.survey_id, Survey.species == Fish.species))
        .join(Vial, Vial.fish_id == Fish.id)
        .outerjoin(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .outerjoin(Shipment, Shipment.id == ShipmentPosition.shipment_id)
        .outerjoin(Result, and_(Result.vial_id == Vial.id, in_force()))
        .where(*of)
        .group_by(Fish.survey_id, Fish.id)
    )


def _by_survey(of_fish: Select[*tuple[Any, ...]]) -> Select[*tuple[Any, ...]]:
    fish = of_fish.subquery()
    waiting = or_(fish.c.held == 1, fish.c.at_the_lab == 1)

    def count(condition: ColumnElement[bool]) -> ColumnElement[int]:
        return func.sum(case((condition, 1), else_=0))

    return select(
        fish.c.survey_id,
        count(and_(fish.c.in_store == 1, fish.c.sent == 0)),
        func.sum(fish.c.sent),
        func.sum(fish.c.returned),
        count(waiting),
        func.sum(fish.c.held),
        count(and_(fish.c.unpacked == 1, fish.c.packed == 0, fish.c.returned == 0)),
        count(and_(fish.c.gone == 1, fish.c.returned == 0, fish.c.at_the_lab == 0, fish.c.unpacked == 0)),
        func.min(case((waiting, fish.c.since))),
    ).group_by(fish.c.survey_id)


def _counted(session: Session, query: Select[*tuple[Any, ...]]) -> dict[int, Progress]:
    names = ("n_in_store", "n_sent", "n_returned", "n_waiting", "n_held", "n_unpacked", "n_gone")
    rows: Iterable[Any] = session.execute(query)
    by_survey = {}
    for survey_id, *counts, since in rows:
        values: dict[str, Any] = dict(zip(names, map(int, counts), strict=True))
        by_survey[survey_id] = Progress(**values, waiting_since=since.date() if since else None)
    return by_survey
