"""The numbers of one survey."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.ancestry import ancestry_class
from geneticlog.rules.genetics.generation import generation_of
from geneticlog.rules.genetics.hybrid_classes import MISCALL_RATE
from geneticlog.rules.genetics.miscalls import is_carrier
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet
from geneticlog.rules.genetics.taxa import Pair
from geneticlog.rules.intervals import unseen_share, wilson
from geneticlog.rules.lengths import MM_PER
from geneticlog.rules.report.comparability import Footing, limits_in
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.statistics.bootstrap import t_interval
from geneticlog.store.tables import Fish, Panel, Result, Survey, Vial
from geneticlog.work.finding.finding_vials import doubtful_vials
from geneticlog.work.report.facts import FishResult, SurveyFacts
from geneticlog.work.report.lake_broods import broods_of
from geneticlog.work.report.lake_catch import weighted_number, weighted_share
from geneticlog.work.report.lake_class_pairs import class_differences
from geneticlog.work.report.lake_lineage import heterozygosity_of
from geneticlog.work.report.lake_loci import loci_of_survey
from geneticlog.work.report.lake_means import mean_of, number_of, sums_of_all, unseen_of
from geneticlog.work.report.lake_misreading import misreading_of, reaching
from geneticlog.work.report.lake_samples import sample_notes
from geneticlog.work.report.lake_sites import sites_of
from geneticlog.work.report.lake_size_tests import size_tests
from geneticlog.work.report.lake_sizes import size_structure
from geneticlog.work.report.number_facts import ClassRow, Number, WeightedNumber
from geneticlog.work.result.called_loci import Called, call_rate_of, called_loci, given_loci
from geneticlog.work.result.count_fish import n_other_species, swabbed
from geneticlog.work.result.genotype_decisions import Settled, settled_genotypes
from geneticlog.work.result.in_the_numbers import in_the_numbers, n_of_other_pairs, of_its_species
from geneticlog.work.result.panel_error import NO_PANEL, PanelError, highest, panel_errors


def survey_facts(
    session: Session,
    survey: Survey,
    pair: Pair,
    rule_set: RuleSet = DEFAULT_RULE_SET,
    errors: Mapping[int, PanelError] | None = None,
) -> SurveyFacts:
    """Return the numbers of one survey for a pair of taxa; fish of other species are counted apart.

    errors: of all panels, by their ids, where the caller has them (`panel_errors`).
    """
    scheme = survey.scheme
    rows = session.execute(
        select(Fish, swabbed())
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Fish.survey_id == survey.id, of_its_species())
        .order_by(Fish.number)
    ).all()
    ours = [fish for fish, _ in rows]
    with_swab = {fish.id for fish, is_swabbed in rows if is_swabbed}
    errors = panel_errors(session) if errors is None else errors
    fish, panels = fish_results(session, survey, pair, rule_set, errors)
    loci = {one.n_loci for one in fish if one.n_loci is not None}
    classes = _class_rows(survey, ours, with_swab, fish)
    n_unmeasured = sum(one.n_fish for one in ours if one.size_class is None)
    unseen = unseen_of(
        [
            *((row.n_caught, row.n_resulted) for row in classes),
            (n_unmeasured, sum(one.size_class is None for one in fish)),
        ]
    )
    error = highest({one.panel or "": one for one in errors.values()}, [one.panel for one in fish])
    sites, weighted = sites_of(classes, fish, weighted_number(classes, fish, n_unmeasured, unseen))
    of_size = size_tests(scheme, fish, {row.size_class: row.n_caught for row in classes})
    return SurveyFacts(
        **_how_it_was_done(survey, pair),
        footing=Footing(
            survey.surveyed_on,
            survey.gear,
            frozenset(panels),
            (min(loci), max(loci)) if loci else None,
            scheme,
            survey.length_unit,
        ),
        panels=tuple(sorted(panels)),
        loci=tuple(sorted(loci)),
        **_what_was_caught(ours, with_swab, survey.length_unit),
        n_unmeasured=n_unmeasured,
        n_other_species=n_other_species(session, [survey]),
        fish=fish,
        classes=classes,
        **_means(fish, number_of(mean_of(fish), unseen), weighted, error),
        young_minus_adult=of_size.young_minus_adult,
        trend=of_size.trend,
        rank_on_length=of_size.rank_on_length,
        n_carriers=sum(one.carrier for one in fish),
        carriers=weighted_share(
            classes, {row.size_class: row.n_carriers for row in classes}, n_unmeasured, unseen
        ),
        heterozygosity=heterozygosity_of(fish),
        size_structure=size_structure(survey.species, scheme, survey.length_unit, ours),
        markers=loci_of_survey(session, survey, pair),
        samples=sample_notes(session, survey),
        n_left_out=n_of_other_pairs(session, survey, pair),
        sites=sites,
        class_differences=class_differences(scheme.classes, fish),
        broods=broods_of(session, survey, pair, scheme.young),
    )


def _how_it_was_done(survey: Survey, pair: Pair) -> dict[str, Any]:
    """Return what is known of a survey before any fish is looked at."""
    return {
        "survey": survey.code,
        "surveyed_on": survey.surveyed_on,
        "gear": survey.gear,
        "effort_minutes": survey.effort_minutes,
        "species": survey.species,
        "unit": survey.length_unit,
        "taxon": pair.taxon,
        "other_taxon": pair.other_taxon,
        "scheme": survey.scheme.name,
        "class_limits": limits_in(survey.scheme, survey.length_unit),
    }


def _means(
    fish: Sequence[FishResult], swabbed_fish: Number, weighted: WeightedNumber, error: PanelError
) -> dict[str, Any]:
    """Return the two means of a survey, reaching out as far as misreading, and what that does."""
    every = sums_of_all(fish)
    of_swabbed, of_catch = reaching(swabbed_fish, error, every), reaching(weighted, error, every)
    return {
        "swabbed": of_swabbed,
        "catch_weighted": of_catch,
        "misreading": misreading_of(fish, of_swabbed, of_catch, error),
    }


def _what_was_caught(ours: Sequence[Fish], with_swab: set[int], unit: str) -> dict[str, Any]:
    """Return how many fish of the survey's species were caught and swabbed, and the lengths of those measured."""
    measured = [one for one in ours if one.length_mm is not None]
    return {
        "n_caught": sum(one.n_fish for one in ours),
        "n_swabbed": sum(one.id in with_swab for one in ours),
        "caught": tuple((length_in(one, unit), one.n_fish) for one in measured),
        "swabbed_lengths": tuple(length_in(one, unit) for one in measured if one.id in with_swab),
    }


def length_in(fish: Fish, unit: str) -> float:
    """Return a measured fish's total length in a unit: as measured where that is the unit."""
    if fish.length_unit == unit and fish.length is not None:
        return fish.length
    assert fish.length_mm is not None
    return fish.length_mm / float(MM_PER[unit])


def fish_results(
    session: Session, survey: Survey, pair: Pair, rule_set: RuleSet, errors: Mapping[int, PanelError]
) -> tuple[tuple[FishResult, ...], set[str]]:
    """Return the fish of a survey that are in the numbers, typed for a pair of taxa, and the panels used.

    errors: of all panels, by their ids (`panel_errors`).
    """
    rows = session.execute(
        select(Fish, Result, Vial, Panel)
        .join(Result, Result.fish_id == Fish.id)
        .join(Vial, Vial.id == Result.vial_id)
        .outerjoin(Panel, Panel.id == Result.panel_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Fish.survey_id == survey.id, in_the_numbers(pair))
        .order_by(Fish.number)
    )
    results_of_fish, panels = [], set()
    known = _known(session, survey, pair, rule_set, errors)
    for fish, result, vial, panel in rows:
        if panel is not None:
            panels.add(panel.code)
        results_of_fish.append(_fish_result(survey, fish, result, vial, panel, known))
    return tuple(results_of_fish), panels


@dataclass(frozen=True)
class _Known:
    """What is known beside the results of a survey, by the id of a result, vial or panel."""

    pair: Pair
    rule_set: RuleSet
    called: Mapping[int, Called]
    settled: Mapping[int, Settled]
    given: set[int]
    errors: Mapping[int, PanelError]
    doubtful: set[int]


def _known(
    session: Session, survey: Survey, pair: Pair, rule_set: RuleSet, errors: Mapping[int, PanelError]
) -> _Known:
    called = called_loci(session, Fish.survey_id == survey.id)
    return _Known(
        pair,
        rule_set,
        called,
        settled_genotypes(session, Fish.survey_id == survey.id) if called else {},
        given_loci(session, Fish.survey_id == survey.id),
        errors,
        doubtful_vials(session, survey.id),
    )


def _fish_result(
    survey: Survey, fish: Fish, result: Result, vial: Vial, panel: Panel | None, known: _Known
) -> FishResult:
    """Return one fish with its result, the class that q and H give it and the generation that its loci carry."""
    assert result.q is not None
    calls, decided = known.called.get(result.id), known.settled.get(result.id)
    rate = (known.errors.get(panel.id, NO_PANEL) if panel is not None else NO_PANEL).rate
    call_rate, call_rate_from = call_rate_of(result, panel, calls, loci_are_given=result.id in known.given)
    measured = {
        name: getattr(fish, name)
        for name in (
            *("length", "length_unit", "length_mm", "weight", "weight_unit", "weight_g"),
            *("relative_weight", "size_class"),
        )
    }
    taxon, other = known.pair.taxon, known.pair.other_taxon
    q_and_h = (result.q, result.heterozygosity, result.n_loci)
    return FishResult(
        survey=survey.code,
        number=fish.number,
        vial=vial.code,
        **measured,
        q=result.q,
        heterozygosity=result.heterozygosity,
        n_loci=result.n_loci,
        call_rate=call_rate,
        call_rate_from=call_rate_from,
        ancestry_class=ancestry_class(
            *q_and_h, known.rule_set, taxon=taxon, other_taxon=other, miscall_rate=rate.rate
        ),
        lab_class=result.lab_class,
        panel=panel.code if panel is not None else None,
        doubtful=vial.id in known.doubtful,
        generation=generation_of(
            *q_and_h,
            genotypes=calls.loci if calls else None,
            believe_genotypes=decided is None or decided.believes_genotypes,
            rule_set=known.rule_set,
            taxon=taxon,
            other_taxon=other,
            miscall_rate=rate.rate or MISCALL_RATE,
        ),
        settled=decided.words if decided else None,
        carrier=is_carrier(result.q, result.n_loci, rate),
        site=fish.site,
    )


def _class_rows(
    survey: Survey, ours: Sequence[Fish], with_swab: set[int], fish: Sequence[FishResult]
) -> tuple[ClassRow, ...]:
    scheme, unit = survey.scheme, survey.length_unit
    return tuple(
        _class_row(survey.species, scheme, unit, name, ours, with_swab, fish) for name in scheme.classes
    )


def _class_row(
    species: str,
    scheme: Scheme,
    unit: str,
    name: str,
    ours: Sequence[Fish],
    with_swab: set[int],
    results: Sequence[FishResult],
) -> ClassRow:
    caught = [fish for fish in ours if fish.size_class == name]
    fish = [one for one in results if one.size_class == name]
    q = [one.q for one in fish]
    estimate = mean_of(fish)
    n_carriers = sum(one.carrier for one in fish)
    carriers = wilson(n_carriers, len(q)) if q else None
    weighed = [
        one.relative_weight for one in caught if one.relative_weight is not None for _ in range(one.n_fish)
    ]
    of_weighed = t_interval(weighed) if weighed else None
    label = next(one.label for one in scheme.size_classes(unit) if one.name == name)
    mean = sum(q) / len(q) if q else 0.0
    return ClassRow(
        size_class=name,
        label=label,
        adult=name in scheme.adult,
        n_caught=sum(one.n_fish for one in caught),
        n_swabbed=sum(one.id in with_swab for one in caught),
        n_resulted=len(fish),
        mean=estimate.mean,
        low=estimate.low,
        high=estimate.high,
        guard=estimate.guard,
        unseen=unseen_share(len(q)) if q else None,
        spread=(sum((value - mean) ** 2 for value in q) / (len(q) - 1)) ** 0.5 if len(q) > 1 else None,
        least_q=min(q, default=None),
        most_q=max(q, default=None),
        n_carriers=n_carriers,
        carriers_low=carriers.low if carriers else None,
        carriers_high=carriers.high if carriers else None,
        composition=dict(Counter(one.ancestry_class for one in fish)),
        mean_relative_weight=sum(weighed) / len(weighed) if weighed else None,
        n_weighed=len(weighed),
        relative_weight_low=of_weighed.low if of_weighed else None,
        relative_weight_high=of_weighed.high if of_weighed else None,
    )
