"""The two taxa a lake's numbers are about, where its results were typed for more than one pair."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from geneticlog.store.tables import Fish, Panel, Result, Survey

DEFAULT_TAXA = ("Florida", "northern")


def main_taxa(n_results: Mapping[tuple[str, str], int]) -> tuple[str, str]:
    """Return the pair of taxa with most results, of equal ones the first by name; without any, the usual pair."""
    return min(n_results, key=lambda taxa: (-n_results[taxa], taxa)) if n_results else DEFAULT_TAXA


def taxa_of(session: Session, surveys: ColumnElement[bool]) -> tuple[str, str]:
    """Return the two taxa most of the results of some surveys were typed for; fish of other species do not count."""
    rows = session.execute(
        select(Panel.taxon, Panel.other_taxon, func.count())
        .join(Result, Result.panel_id == Panel.id)
        .join(Fish, Fish.id == Result.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(surveys, *_in_the_numbers())
        .group_by(Panel.taxon, Panel.other_taxon)
    )
    return main_taxa({(taxon, other): n for taxon, other, n in rows})


def n_of_other_taxa(session: Session, surveys: ColumnElement[bool], taxa: tuple[str, str]) -> int:
    """Return how many results of some surveys were typed for another pair of taxa, and so are left out."""
    found = session.scalar(
        select(func.count())
        .select_from(Result)
        .join(Panel, Panel.id == Result.panel_id)
        .join(Fish, Fish.id == Result.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(surveys, *_in_the_numbers(), (Panel.taxon != taxa[0]) | (Panel.other_taxon != taxa[1]))
    )
    return found or 0


def of_taxa(taxa: tuple[str, str]) -> ColumnElement[bool]:
    """Return the condition that a result was typed for a pair of taxa; one without a panel is taken as of it."""
    return Result.panel_id.is_(None) | Result.panel_id.in_(
        select(Panel.id).where(Panel.taxon == taxa[0], Panel.other_taxon == taxa[1])
    )


def _in_the_numbers() -> tuple[ColumnElement[bool], ...]:
    return (Fish.species == Survey.species, Result.outcome == "typed", Result.q.is_not(None))
