"""What counts: the results and fish that every count, mean, plan and report takes, each condition written once.

A result counts for its fish when it is current, typed and has a q, and is the one chosen for that fish
(`counted_result` settles
which one of several does). It is in the numbers when the fish is of the species its survey was made for; means are over
one pair of taxa, that of most results of the species in the lake.
"""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import ColumnElement, and_, func, or_, select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.taxa import DEFAULT_PAIR, Pair, main_pair
from geneticlog.rules.lab_return.result_states import Outcome, ResultStanding
from geneticlog.store.tables import Fish, Panel, Result, Survey


def usable() -> ColumnElement[bool]:
    """Return the condition that a result could count: current, typed, with a q."""
    return and_(
        Result.standing == ResultStanding.CURRENT, Result.outcome == Outcome.TYPED, Result.q.is_not(None)
    )


def in_force() -> ColumnElement[bool]:
    """Return the condition that a result is in force: no later file replaced it, and its reading was not withdrawn.

    What is not in force is no outcome of its vial: neither a value nor a failure.
    """
    return Result.standing != ResultStanding.SUPERSEDED


def counted() -> ColumnElement[bool]:
    """Return the condition that a result is the one that counts for its fish; join it by ``Result.fish_id``."""
    return and_(Result.fish_id.is_not(None), Result.outcome == Outcome.TYPED, Result.q.is_not(None))


def of_its_species() -> ColumnElement[bool]:
    """Return the condition that a fish is of the species its survey was made for; needs Fish and Survey."""
    return Fish.species == Survey.species


def in_the_numbers() -> ColumnElement[bool]:
    """Return the condition that a result is in the numbers of its survey; needs Result, Fish and Survey."""
    return and_(counted(), of_its_species())


def of_pair(pair: Pair) -> ColumnElement[bool]:
    """Return the condition that a result was typed for a pair of taxa; one without a panel is taken as of it."""
    return or_(
        Result.panel_id.is_(None),
        Result.panel_id.in_(
            select(Panel.id).where(Panel.taxon == pair.taxon, Panel.other_taxon == pair.other_taxon)
        ),
    )


def pairs_of_lakes(session: Session, which: ColumnElement[bool]) -> Mapping[tuple[int, str], Pair]:
    """Return the pair of taxa that the numbers of each species in each lake are about, by lake id and species.

    which
        The surveys, as a condition on Survey. A species without a result that names a panel is absent.
    """
    rows = session.execute(
        select(Survey.lake_id, Survey.species, Panel.taxon, Panel.other_taxon, func.count())
        .join(Fish, Fish.survey_id == Survey.id)
        .join(Result, Result.fish_id == Fish.id)
        .join(Panel, Panel.id == Result.panel_id)
        .where(which, in_the_numbers())
        .group_by(Survey.lake_id, Survey.species, Panel.taxon, Panel.other_taxon)
    )
    counts: dict[tuple[int, str], dict[Pair, int]] = {}
    for lake_id, species, taxon, other, n in rows:
        counts.setdefault((lake_id, species), {})[Pair(taxon, other)] = n
    return {key: main_pair(held) for key, held in counts.items()}


def pair_of(session: Session, lake_id: int, species: str) -> Pair:
    """Return the pair of taxa that the numbers of a species in a lake are about; without any result the usual one."""
    return pairs_of_lakes(session, Survey.lake_id == lake_id).get((lake_id, species), DEFAULT_PAIR)


def n_of_other_pairs(session: Session, survey: Survey, pair: Pair) -> int:
    """Return how many results of a survey's fish were typed for another pair of taxa, and so are left out."""
    n = session.scalar(
        select(func.count())
        .select_from(Result)
        .join(Fish, Fish.id == Result.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Survey.id == survey.id, in_the_numbers(), ~of_pair(pair))
    )
    return n or 0
