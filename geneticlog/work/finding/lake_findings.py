"""Which findings concern which survey, and how many of a lake wait for a decision: one rule for every report."""

from __future__ import annotations

from sqlalchemy import Select, func, select, union
from sqlalchemy.orm import Session

from geneticlog.store.tables import Finding, Fish, ShipmentPosition, Survey, Vial


def concerned(*, only_open: bool = False) -> Select[tuple[int, int]]:
    """Return the query of pairs, each once: the survey and the finding (their ids) that concerns it.

    A finding concerns the survey it names, the survey of its fish, and the survey of its vial's fish. One about no
    fish of anybody's (a row that nobody sent, a repeated row, a blank) concerns every survey with a vial in its
    shipment.
    """
    waiting = [Finding.decision.is_(None)] if only_open else []
    named = select(Finding.survey_id.label("survey_id"), Finding.id.label("finding_id")).where(
        Finding.survey_id.is_not(None), *waiting
    )
    of_fish = (
        select(Fish.survey_id, Finding.id).join(Finding, Finding.fish_id == Fish.id).where(*waiting)
    )  # fmt: skip
    of_vial = (  # outer joins: from the few findings to their fish, never from all fish to a finding
        select(Fish.survey_id, Finding.id)
        .select_from(Finding)
        .outerjoin(Vial, Vial.id == Finding.vial_id)
        .outerjoin(Fish, Fish.id == Vial.fish_id)
        .where(Finding.vial_id.is_not(None), *waiting)
    )
    of_nobody = (
        select(Finding.id, Finding.shipment_id)
        .outerjoin(Vial, Vial.id == Finding.vial_id)
        .where(
            Finding.shipment_id.is_not(None),
            Finding.survey_id.is_(None),
            Finding.fish_id.is_(None),
            Vial.fish_id.is_(None),
            *waiting,
        )
        .subquery()
    )
    about = (
        select(ShipmentPosition.shipment_id, Fish.survey_id)
        .join(Vial, Vial.id == ShipmentPosition.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .where(ShipmentPosition.shipment_id.in_(select(of_nobody.c.shipment_id)))
        .distinct()
        .subquery()
    )
    of_shipment = select(about.c.survey_id, of_nobody.c.id).join(
        of_nobody, of_nobody.c.shipment_id == about.c.shipment_id
    )
    pairs = union(named, of_fish, of_vial, of_shipment).subquery()
    return select(pairs.c.survey_id, pairs.c.finding_id).where(pairs.c.survey_id.is_not(None))


def open_findings_of_lakes(session: Session, lake_id: int | None = None) -> dict[int, int]:
    """Return how many findings that concern a survey of a lake wait for a decision, by the lake's id; of one lake
    where it is given. A lake without one is absent.
    """
    pairs = concerned(only_open=True).subquery()
    query = (
        select(Survey.lake_id, func.count(pairs.c.finding_id.distinct()))
        .join(pairs, pairs.c.survey_id == Survey.id)
        .group_by(Survey.lake_id)
    )
    if lake_id is not None:
        query = query.where(Survey.lake_id == lake_id)
    return {lake: int(n) for lake, n in session.execute(query)}
