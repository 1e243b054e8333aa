"""List the fish that shipments lost to the numbers: what the next survey of a lake owes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.shipment.custody import GONE, NOT_IN_HAND, ShipmentStanding
from geneticlog.store.tables import Fish, Result, Shipment, Survey, Vial
from geneticlog.work.catalogue.lake_plans import targets_of
from geneticlog.work.events import fish_name
from geneticlog.work.result.count_fish import FishCounts, count_fish, swabbed
from geneticlog.work.result.in_the_numbers import LakePairs, in_the_numbers, of_its_species, pairs_of_lakes
from geneticlog.work.shipment.count_return import returned_of
from geneticlog.work.shipment.manifest import in_order


@dataclass(frozen=True)
class Lost:
    """Fish of one size class of one survey that were sent and are not in its numbers: what the next survey owes."""

    survey: str
    size_class: str | None
    n_sent: int
    n_resulted: int
    n_lost: int
    n_never_sent: int  # of those lost: their vials were gone before they could be sent
    target: int | None
    short_by: int | None
    fish: tuple[str, ...]
    vials: tuple[str, ...]


@dataclass
class _Owed:
    """A fish of a shipment, the codes of its vials, and whether any of them left for a lab."""

    fish: Fish
    vials: list[str]
    sent: bool


def resample_list(
    session: Session, shipments: list[Shipment], *, with_never_sent: bool = False
) -> list[Lost]:
    """Return, by survey and size class, the fish of these shipments that were lost to the numbers.

    with_never_sent
        Fish whose vials were all lost or broken before they were sent are among them.

    A fish of its survey's species is lost when no result of it is in the numbers, though one of its vials was sent: it
    failed, went missing, was typed for another pair of taxa, or its result was rejected or waits for a decision. A
    shipment without a return has lost nothing yet but the vials that arrived missing or broken; once it is closed,
    everything that has not come back. ``n_resulted`` counts the whole survey, so that ``short_by`` is what the plan
    still lacks.
    """
    owed = _owed(session, shipments, with_never_sent=with_never_sent)
    ids = {one.fish.survey_id for one in owed.values()}
    surveys = list(session.scalars(select(Survey).where(Survey.id.in_(ids)).order_by(Survey.code)))
    pairs = pairs_of_lakes(session, Survey.lake_id.in_({survey.lake_id for survey in surveys}))
    ours, with_result = _of_the_species(session, ids), _with_result(session, ids, pairs)
    groups: dict[tuple[int, str | None], list[_Owed]] = defaultdict(list)
    for fish_id in owed.keys() & ours:
        one = owed[fish_id]
        groups[one.fish.survey_id, one.fish.size_class].append(one)
    lost = []
    for survey in surveys:
        targets = targets_of(survey.sampling_plan) if survey.sampling_plan is not None else {}
        counts = count_fish(session, [survey], pairs.of(survey.lake_id, survey.species))
        for name in (*survey.scheme.classes, None):
            group = sorted(groups.get((survey.id, name), []), key=lambda one: one.fish.number)
            gone = [one for one in group if one.fish.id not in with_result]
            if not gone:
                continue
            target = targets.get(name or "")
            n_resulted = counts.get(name, FishCounts()).n_resulted
            lost.append(
                Lost(
                    survey=survey.code,
                    size_class=name,
                    n_sent=sum(one.sent for one in group),
                    n_resulted=n_resulted,
                    n_lost=len(gone),
                    n_never_sent=sum(not one.sent for one in gone),
                    target=target,
                    short_by=None if target is None else max(0, target - n_resulted),
                    fish=tuple(fish_name(survey.code, one.fish.number) for one in gone),
                    vials=tuple(code for one in gone for code in one.vials),
                )
            )
    return lost


def _owed(session: Session, shipments: list[Shipment], *, with_never_sent: bool) -> dict[int, _Owed]:
    """Return the fish, by id, whose vials a lab has spoken of or will not speak of any more."""
    owed: dict[int, _Owed] = {}
    for shipment in shipments:
        settled = shipment.standing == ShipmentStanding.CLOSED or bool(returned_of(session, shipment).n_files)
        for at in in_order(session, shipment):
            fish = at.vial.fish
            if fish is not None and (settled or at.arrival in GONE):
                owed.setdefault(fish.id, _Owed(fish, [], sent=True)).vials.append(at.vial.code)
    for vial in _never_sent(session) if with_never_sent else []:
        if vial.fish is not None:
            one = owed.setdefault(vial.fish.id, _Owed(vial.fish, [], sent=False))
            one.sent = False
            one.vials.append(vial.code)
    return owed


def _of_the_species(session: Session, survey_ids: Collection[int]) -> set[int]:
    query = select(Fish.id).join(Survey, Survey.id == Fish.survey_id)
    return set(session.scalars(query.where(Survey.id.in_(survey_ids), of_its_species())))


def _with_result(session: Session, survey_ids: Collection[int], pairs: LakePairs) -> set[int]:
    query = (
        select(Fish.id)
        .join(Survey, Survey.id == Fish.survey_id)
        .join(Result, Result.fish_id == Fish.id)
        .where(Survey.id.in_(survey_ids), in_the_numbers(pairs))
    )
    return set(session.scalars(query))


def _never_sent(session: Session) -> list[Vial]:
    """Return the vials, lost or broken, of fish that have no vial in hand."""
    return list(
        session.scalars(
            select(Vial)
            .join(Fish, Fish.id == Vial.fish_id)
            .where(Vial.standing.in_(NOT_IN_HAND), ~swabbed())
            .order_by(Fish.survey_id, Fish.number, Vial.id)
        )
    )
