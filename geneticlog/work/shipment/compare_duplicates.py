"""Compare the two vials of one fish: in q, in alleles and, where the lab gave genotypes, call by call."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.shipment.duplicates import Calls, compare_calls, error_below, proportions_apart
from geneticlog.store.tables import Fish, Genotype, Result, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.events import fish_name
from geneticlog.work.result.in_the_numbers import usable


@dataclass(frozen=True)
class Pair:
    """Two typed vials of one fish, both reported; ``n_compared`` and ``n_different`` are calls at single loci."""

    fish: str
    vial: str
    other_vial: str
    q: float
    other_q: float
    difference: float
    n_alleles: float | None
    disagree: bool
    n_compared: int
    n_different: int


@dataclass(frozen=True)
class Compared:
    """The pairs of a shipment, and what their calls show of the lab's error.

    ``verdict``: good, review, ask the lab, or nothing to compare. ``error_below``: only where no call differs,
    the error rate that many comparisons rule out at 95 %; a comparison is a call of one locus.
    """

    pairs: tuple[Pair, ...]
    n_compared: int
    n_different: int
    verdict: str
    error_below: float | None


def compare_duplicates(session: Session, shipment: Shipment) -> Compared:
    """Return the pairs of current typed results of one fish of which at least one vial is in this shipment."""
    fish_here = (
        select(Vial.fish_id)
        .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .where(ShipmentPosition.shipment_id == shipment.id, Vial.fish_id.is_not(None))
    )
    twice = select(Vial.fish_id).where(Vial.fish_id.in_(fish_here), Vial.role == VialRole.BLIND_DUPLICATE)
    by_fish: dict[int, list[tuple[Result, str, str]]] = defaultdict(list)
    for result, code, survey, number, fish_id in session.execute(
        select(Result, Vial.code, Survey.code, Fish.number, Fish.id)
        .join(Vial, Vial.id == Result.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Fish.id.in_(twice), usable())
        .order_by(Survey.code, Fish.number, Vial.role.desc(), Vial.id)
    ):
        by_fish[fish_id].append((result, code, fish_name(survey, number)))
    pairs = []
    for results in by_fish.values():
        (first, vial, fish), *others = results
        for second, other_vial, _ in others:
            pairs.append(_pair(session, fish, vial, first, other_vial, second))
    calls = Calls(sum(pair.n_compared for pair in pairs), sum(pair.n_different for pair in pairs))
    return Compared(
        pairs=tuple(pairs),
        n_compared=calls.n_compared,
        n_different=calls.n_different,
        verdict=calls.verdict,
        error_below=error_below(calls.n_compared) if not calls.n_different else None,
    )


def _pair(session: Session, fish: str, vial: str, first: Result, other_vial: str, second: Result) -> Pair:
    apart = proportions_apart(first.q or 0.0, second.q or 0.0, first.n_loci, second.n_loci)
    calls = compare_calls(_calls(session, first), _calls(session, second))
    return Pair(
        fish=fish,
        vial=vial,
        other_vial=other_vial,
        q=first.q or 0.0,
        other_q=second.q or 0.0,
        difference=apart.difference,
        n_alleles=apart.n_alleles,
        disagree=apart.disagree,
        n_compared=calls.n_compared,
        n_different=calls.n_different,
    )


def _calls(session: Session, result: Result) -> dict[str, int | None]:
    there = session.scalars(select(Genotype).where(Genotype.result_id == result.id))
    return {call.marker: call.n_alleles for call in there}
