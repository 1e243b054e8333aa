"""The fish of one survey, one by one, with all that their loci carry."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.rule_set import RuleSet
from geneticlog.store.tables import Fish, Survey, Vial
from geneticlog.work.catalogue.rule_sets import chosen_rule_set
from geneticlog.work.events import find_survey
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.lake_taxa import n_of_other_taxa, taxa_of
from geneticlog.work.report.survey_numbers import fish_results


@dataclass(frozen=True)
class EveryFish:
    """The fish of a survey with a result in the numbers, the rule set that names them, and who is not among them."""

    survey: str
    surveyed_on: date
    lake: str
    lake_name: str
    unit: str
    taxon: str
    other_taxon: str
    rule_set: RuleSet
    fish: tuple[FishResult, ...]
    n_swabbed: int
    n_left_out: int


def gather_every_fish(session: Session, survey_code: str, rule_set_name: str | None = None) -> EveryFish:
    """Return the fish of a survey one by one, in the words of the taxa most of them were typed for.

    Raises NotFound for a survey or a rule set that is not there.
    """
    survey = find_survey(session, survey_code)
    rule_set = chosen_rule_set(session, rule_set_name)
    taxa = taxa_of(session, Survey.id == survey.id)
    fish, _ = fish_results(session, survey, taxa, rule_set)
    swabbed = session.scalar(
        select(func.count(Vial.fish_id.distinct()))
        .join(Fish, Fish.id == Vial.fish_id)
        .where(Fish.survey_id == survey.id, Fish.species == survey.species)
    )
    return EveryFish(
        survey=survey.code,
        surveyed_on=survey.surveyed_on,
        lake=survey.lake.code,
        lake_name=survey.lake.name,
        unit=survey.length_unit,
        taxon=taxa[0],
        other_taxon=taxa[1],
        rule_set=rule_set,
        fish=fish,
        n_swabbed=swabbed or 0,
        n_left_out=n_of_other_taxa(session, Survey.id == survey.id, taxa),
    )
