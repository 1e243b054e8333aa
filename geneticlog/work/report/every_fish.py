"""The fish of one survey, one by one, with all that their loci carry."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from geneticlog.rules.genetics.rule_set import RuleSet
from geneticlog.store.tables import Survey
from geneticlog.work.catalogue.rule_sets import chosen_rule_set
from geneticlog.work.events import find_survey
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.survey_numbers import fish_results
from geneticlog.work.result.count_fish import caught_and_swabbed
from geneticlog.work.result.in_the_numbers import n_of_other_pairs, pair_of
from geneticlog.work.result.panel_error import panel_errors


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
    """Return the fish of a survey one by one, in the words of the pair of taxa that its lake's report is about.

    Raises NotFound for a survey or a rule set that is not there.
    """
    survey = find_survey(session, survey_code)
    rule_set = chosen_rule_set(session, rule_set_name)
    pair = pair_of(session, survey.lake_id, survey.species)
    fish, _ = fish_results(session, survey, pair, rule_set, panel_errors(session))
    _, n_swabbed = caught_and_swabbed(session, Survey.id == survey.id).get(survey.id, (0, 0))
    return EveryFish(
        survey=survey.code,
        surveyed_on=survey.surveyed_on,
        lake=survey.lake.code,
        lake_name=survey.lake.name,
        unit=survey.length_unit,
        taxon=pair.taxon,
        other_taxon=pair.other_taxon,
        rule_set=rule_set,
        fish=fish,
        n_swabbed=n_swabbed,
        n_left_out=n_of_other_pairs(session, survey, pair),
    )
