"""What counts: the results and fish that every count, mean, plan and report takes, each condition written once.

A result counts for its fish when it is current, typed and has a q, and is the one chosen for that fish
(`counted_result` settles which one of several does). It is in the numbers when the fish is of the species its survey
was made for, and it was typed for the pair of taxa that the lake's numbers of that species are about: the one of most
of its results.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlalchemy import ColumnElement, and_, func, or_, select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.taxa import DEFAULT_PAIR, Pair, main_pair
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.store.tables import Fish, Panel, Result, ShipmentPosition, Survey, Vial


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


def is_of_its_species(species: str, survey: Survey) -> bool:
    """Return `of_its_species` of a fish that is not stored yet, or was read already."""
    return species == survey.species


@dataclass(frozen=True)
class LakePairs:
    """The pair of taxa that the numbers of each species in each lake are about, by lake id and species.

    pairs: of lakes with a result that names a panel; mixed: those among them that have results for another pair too.
    """

    pairs: Mapping[tuple[int, str], Pair] = field(default_factory=dict)
    mixed: frozenset[tuple[int, str]] = frozenset()

    def of(self, lake_id: int, species: str) -> Pair:
        """Return the pair of a species in a lake; without any result the usual one."""
        return self.pairs.get((lake_id, species), DEFAULT_PAIR)


def in_the_numbers(pairs: Pair | LakePairs) -> ColumnElement[bool]:
    """Return the condition that a result is in the numbers of its survey; needs Result, Fish and Survey.

    pairs
        the pair of taxa of the one lake and species that is looked at, or those of all lakes looked at.
    """
    if isinstance(pairs, Pair):
        return and_(counted(), of_its_species(), of_pair(pairs))
    lakes: dict[tuple[str, Pair], list[int]] = defaultdict(list)
    for lake_id, species in sorted(pairs.mixed):
        lakes[species, pairs.of(lake_id, species)].append(lake_id)
    of_pairs = [
        or_(Survey.species != species, Survey.lake_id.not_in(ids), of_pair(pair))
        for (species, pair), ids in lakes.items()
    ]
    return and_(counted(), of_its_species(), *of_pairs)


def of_pair(pair: Pair) -> ColumnElement[bool]:
    """Return the condition that a result was typed for a pair of taxa; one without a panel is taken as of it.

    For this room alone: a reader asks for `in_the_numbers`, which holds it.
    """
    return or_(
        Result.panel_id.is_(None),
        Result.panel_id.in_(
            select(Panel.id).where(Panel.taxon == pair.taxon, Panel.other_taxon == pair.other_taxon)
        ),
    )


def pairs_of_lakes(session: Session, which: ColumnElement[bool]) -> LakePairs:
    """Return the pair of taxa that the numbers of each species in each lake are about.

    which
        The surveys, as a condition on Survey.
    """
    rows = session.execute(
        select(Survey.lake_id, Survey.species, Panel.taxon, Panel.other_taxon, func.count())
        .join(Fish, Fish.survey_id == Survey.id)
        .join(Result, Result.fish_id == Fish.id)
        .join(Panel, Panel.id == Result.panel_id)
        .where(which, counted(), of_its_species())
        .group_by(Survey.lake_id, Survey.species, Panel.taxon, Panel.other_taxon)
    )
    counts: dict[tuple[int, str], dict[Pair, int]] = {}
    for lake_id, species, taxon, other, n in rows:
        counts.setdefault((lake_id, species), {})[Pair(taxon, other)] = n
    return LakePairs(
        {key: main_pair(n_results) for key, n_results in counts.items()},
        frozenset(key for key, n_results in counts.items() if len(n_results) > 1),
    )


def pair_of(session: Session, lake_id: int, species: str) -> Pair:
    """Return the pair of taxa that the numbers of a species in a lake are about; without any result the usual one."""
    return pairs_of_lakes(session, Survey.lake_id == lake_id).of(lake_id, species)


def numbers_of_lakes(session: Session, which: ColumnElement[bool]) -> ColumnElement[bool]:
    """Return `in_the_numbers` of some whole lakes; results are looked through only where panels are of several pairs.

    which
        The lakes' surveys, as a condition on Survey.
    """
    return in_the_numbers(pairs_of_lakes(session, which) if panels_of_several_pairs(session) else LakePairs())


def panels_of_several_pairs(session: Session) -> bool:
    """Whether the panels known here are of more than one pair of taxa; else every result is of the one pair."""
    pairs_of_panels = select(Panel.taxon, Panel.other_taxon).distinct().limit(2)
    return len(session.execute(pairs_of_panels).all()) > 1


def n_vials_of_other_pairs(session: Session, shipment_id: int) -> int:
    """Return how many vials of a shipment have a result that could count, but for another pair of taxa than the numbers
    of their fish's lake and species are about: it is in none of them.
    """
    if not panels_of_several_pairs(session):
        return 0
    typed = (
        select(Vial.id)
        .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .join(Result, Result.vial_id == Vial.id)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(ShipmentPosition.shipment_id == shipment_id, usable(), of_its_species())
    )
    of_lakes = session.execute(typed.with_only_columns(Survey.lake_id, Survey.species).distinct()).all()
    pairs = pairs_of_lakes(session, Survey.lake_id.in_({lake_id for lake_id, _ in of_lakes}))
    n = 0
    for lake_id, species in of_lakes:
        here = and_(Survey.lake_id == lake_id, Survey.species == species)
        others = typed.where(here, ~of_pair(pairs.of(lake_id, species)))
        n += session.scalar(others.with_only_columns(func.count(Vial.id.distinct()))) or 0
    return n


def n_of_other_pairs(session: Session, survey: Survey, pair: Pair) -> int:
    """Return how many results of a survey's fish were typed for another pair of taxa, and so are left out."""
    n = session.scalar(
        select(func.count())
        .select_from(Result)
        .join(Fish, Fish.id == Result.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Survey.id == survey.id, counted(), of_its_species(), ~of_pair(pair))
    )
    return n or 0
