"""Lakes against each other: their catch-weighted means, by the engine of every other difference."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import combinations

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.genetics.misread_mean import Readings
from geneticlog.rules.report.comparability import Aspect, same_classes
from geneticlog.rules.species import SPECIES
from geneticlog.rules.statistics.comparison import AS_SWABBED, Comparison, SurveySums, compare_surveys
from geneticlog.rules.statistics.contrast import Side, contrast
from geneticlog.rules.statistics.holm import holm_of
from geneticlog.rules.statistics.missed_kind import MissedKind, missed_kind
from geneticlog.store.tables import Lake, Survey
from geneticlog.work.events import find_lake
from geneticlog.work.report.facts import SurveyFacts
from geneticlog.work.report.lake_change import (
    ages_of,
    difference_of,
    differs_of,
    misread,
    read_as,
    sums_by_measured_length,
    survey_sums,
)
from geneticlog.work.report.number_facts import NO_DIFFERENCE, Difference, WeightedNumber
from geneticlog.work.report.survey_numbers import survey_facts
from geneticlog.work.result.in_the_numbers import pairs_of_lakes

OWN_CATCH = "each lake weighted to its own catch"


@dataclass(frozen=True)
class ComparedLake:
    """A lake with the survey that its report is about; catch_weighted: its leading mean, as its report gives it."""

    lake: str
    name: str
    survey: str
    surveyed_on: date
    species: str
    taxon: str
    other_taxon: str
    n_resulted: int
    catch_weighted: WeightedNumber


@dataclass(frozen=True)
class LakePair:
    """The second lake minus the first.

    difference to p: of the lakes as they are, each weighted to its own catch (basis says where that cannot be); p_holm:
    after Holm over all pairs. same_sizes: both weighted to one length frequency, which other sizes of fish in the two
    lakes cannot bring about; young, adult: of these size classes alone, p after Holm over both of all pairs. differs:
    what else differs between the surveys. missed: the kind of fish that could move the difference farthest unseen, its
    first group being the second lake. misreading_alone: misreading may be all that parts the two.
    """

    first: str
    second: str
    difference: float | None
    low: float | None
    high: float | None
    p: float | None
    p_holm: float | None
    n_first: int
    n_second: int
    basis: str
    guard: str
    same_sizes: Difference
    young: Difference
    adult: Difference
    differs: tuple[Aspect, ...]
    missed: MissedKind | None
    misreading_alone: bool


@dataclass(frozen=True)
class ComparedLakes:
    """Two lakes and more, in the order asked for, and every pair of them."""

    lakes: tuple[ComparedLake, ...]
    pairs: tuple[LakePair, ...]


def compare_lakes(session: Session, codes: Sequence[str]) -> ComparedLakes:
    """Return every two of some lakes compared on the surveys that their reports are about.

    raises
        NotFound for a lake that is not there, or without a result; Refused for fewer than two lakes, one named twice,
        or lakes whose surveys are of two species or two pairs of taxa.
    """
    lakes = [find_lake(session, code) for code in codes]
    if len({lake.code for lake in lakes}) < max(2, len(lakes)):
        raise Refused("name two lakes or more, each once")
    facts = [_reported(session, lake) for lake in lakes]
    _of_one_kind(lakes, facts)
    shown = tuple(
        ComparedLake(
            lake.code, lake.name, survey.survey, survey.surveyed_on, survey.species, survey.taxon, survey.other_taxon,
            survey.n_resulted, survey.catch_weighted,
        )
        for lake, survey in zip(lakes, facts, strict=True)
    )  # fmt: skip
    compared = [
        _pair((lakes[a].code, lakes[b].code), facts[a], facts[b])
        for a, b in combinations(range(len(lakes)), 2)
    ]
    adjusted, ages = (
        holm_of([one.p for one, *_ in compared]),
        ages_of([sizes for _, sizes, _ in compared], [read for *_, read in compared]),
    )
    pairs = [
        replace(pair, p_holm=p, young=young, adult=adult)
        for (pair, *_), p, (young, adult) in zip(compared, adjusted, ages, strict=True)
    ]
    return ComparedLakes(shown, tuple(pairs))


def _reported(session: Session, lake: Lake) -> SurveyFacts:
    from geneticlog.work.report.gather import reported_survey

    surveys = list(
        session.scalars(
            select(Survey).where(Survey.lake_id == lake.id).order_by(Survey.surveyed_on, Survey.id)
        )
    )
    pairs = pairs_of_lakes(session, Survey.lake_id == lake.id)
    facts = [survey_facts(session, one, pairs.of(lake.id, one.species)) for one in surveys]
    at = reported_survey(facts)
    if at is None or not facts[at].fish:
        raise NotFound(f"lake {lake.code} has no fish with a result yet, so it cannot be compared")
    return facts[at]


def _of_one_kind(lakes: Sequence[Lake], facts: Sequence[SurveyFacts]) -> None:
    first = facts[0]
    for lake, survey in zip(lakes[1:], facts[1:], strict=True):
        if survey.species != first.species:
            differing = [
                SPECIES[each].printed if each in SPECIES else each for each in (first.species, survey.species)
            ]
            raise Refused(
                f"{lakes[0].code} was surveyed for {differing[0]} and {lake.code} for {differing[1]}: two kinds of fish"
            )
        if (survey.taxon, survey.other_taxon) != (first.taxon, first.other_taxon):
            raise Refused(
                f"{lakes[0].code} was typed for {first.taxon} and {first.other_taxon}, {lake.code} for"
                f" {survey.taxon} and {survey.other_taxon}: their shares are of two things"
            )


def _pair(
    names: tuple[str, str], first: SurveyFacts, second: SurveyFacts
) -> tuple[LakePair, Comparison, Readings]:
    """Return two lakes, the same at one length frequency, p of each alone, and how both were read."""
    footing = (first.footing, second.footing)
    alike = same_classes(*footing)
    first_sums, second_sums = (
        (survey_sums(first), survey_sums(second))
        if alike
        else (sums_by_measured_length(first, second), sums_by_measured_length(second, second))
    )
    compared = compare_surveys([(first_sums, second_sums)])[0]
    read = read_as(first, second)
    difference, basis = contrast(_own_catch(survey_sums(second)), _own_catch(survey_sums(first))), OWN_CATCH
    if difference.p is None or not first.catch_weighted.n or not second.catch_weighted.n:
        difference, basis = compared.whole, compared.basis
    same = difference_of(compared.whole) if compared.basis != AS_SWABBED else Difference()
    estimate = difference.estimate
    pair = LakePair(
        *names, estimate.mean, estimate.low, estimate.high, difference.p, difference.p, difference.n_second,
        difference.n_first, basis, estimate.guard, same, NO_DIFFERENCE, NO_DIFFERENCE, differs_of(compared, footing),
        missed_kind(difference.first, difference.second), misread(difference, read),
    )  # fmt: skip
    return pair, compared, read


def _own_catch(survey: SurveySums) -> Side:
    """Return a survey as one side of a contrast: its size classes with results, each its share of the catch."""
    caught: Mapping[str, int] = {
        name: n for name, n in survey.n_caught.items() if n and name in survey.sums and survey.sums[name].n
    }
    total = sum(caught.values())
    if not total:
        every = survey.every
        return Side({"all": every}, {"all": 1.0} if every.n else {})
    return Side(survey.sums, {name: n / total for name, n in caught.items()}, total, survey.sites)
