"""The report's tables for spreadsheets and programs: nothing rounded, and the contract of ``report lake --json``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, astuple, fields
from typing import Any

from geneticlog.faces.report.change_words import notes_of
from geneticlog.rules.genetics.hybrid_classes import class_names
from geneticlog.work.report.facts import Change, LakeFacts, SurveyFacts
from geneticlog.work.report.lake_growth import growth_rows
from geneticlog.work.report.lake_kinds import kind_shares

Sheet = tuple[Sequence[str], Sequence[Sequence[Any]]]

FISH_COLUMNS = (
    "survey", "surveyed_on", "fish", "vial", "total_length", "length_unit", "total_length_mm", "weight", "weight_unit",
    "weight_g", "relative_weight", "size_class", "q", "q_low", "q_high", "interval_drop", "heterozygosity", "n_loci",
    "call_rate", "call_rate_from", "ancestry_class", "lab_class", "panel", "doubtful", "generation", "why_none",
    "likeliest", "second", "margin", "aic_difference", "miscall_rate", "counted_from", "counted_q",
    "counted_heterozygosity",
)  # fmt: skip

LOCUS_COLUMNS = (
    "locus", "n_fish_0_alleles", "n_fish_1_allele", "n_fish_2_alleles", "n_no_call", "n_called", "call_rate",
    "allele_frequency", "heterozygosity", "expected_heterozygosity", "fis", "p", "p_holm", "p_with_the_others",
    "p_with_the_others_holm", "departs", "out_of_step", "by_itself",
)  # fmt: skip


def lake_sheets(lake: LakeFacts) -> dict[str, Sheet]:
    """Return the tables of a report by name, each with its heading and rows."""
    kinds = list(dict.fromkeys(fish.ancestry_class for survey in lake.surveys for fish in survey.fish))
    classes = [
        [survey.survey, row.size_class, row.n_caught, row.n_swabbed, row.n_resulted, row.mean, row.low, row.high,
         row.guard, row.unseen, row.least_q, row.most_q, row.n_carriers, row.carriers_low, row.carriers_high,
         row.mean_relative_weight, row.relative_weight_low, row.relative_weight_high, row.n_weighed,
         *(row.composition.get(kind, 0) for kind in kinds)]
        for survey in lake.surveys
        for row in survey.classes
    ]  # fmt: skip
    composition = [[survey.survey, *astuple(one)] for survey in lake.surveys for one in kind_shares(survey)]
    surveys = [
        [survey.survey, survey.surveyed_on, survey.gear, survey.species, survey.n_caught, survey.n_swabbed,
         survey.n_resulted, survey.swabbed.mean, survey.swabbed.low, survey.swabbed.high, survey.swabbed.guard,
         survey.swabbed.unseen, survey.catch_weighted.mean, survey.catch_weighted.low, survey.catch_weighted.high,
         survey.catch_weighted.share_of_catch_covered, survey.young_minus_adult.difference,
         survey.young_minus_adult.low, survey.young_minus_adult.high, survey.young_minus_adult.p,
         survey.young_minus_adult.p_holm, survey.trend.statistic, survey.trend.expected,
         survey.trend.p, survey.trend.p_holm,
         survey.rank_on_length.correlation, survey.rank_on_length.low, survey.rank_on_length.high,
         survey.rank_on_length.n, survey.rank_on_length.p, survey.rank_on_length.p_holm, survey.rank_on_length.guard,
         survey.heterozygosity.mean, survey.heterozygosity.mean_low, survey.heterozygosity.mean_high,
         survey.heterozygosity.deficit, survey.heterozygosity.deficit_low,
         survey.heterozygosity.deficit_high, survey.heterozygosity.n, survey.heterozygosity.flag,
         survey.heterozygosity.hint, survey.n_carriers, survey.carriers.mean, survey.carriers.low,
         survey.carriers.high]
        for survey in lake.surveys
    ]  # fmt: skip
    changes = [
        [change.earlier, change.later, change.species, change.basis, change.difference, change.low, change.high,
         change.p, change.p_holm, change.guard, "; ".join(notes_of(change)), "; ".join(change.alike),
         change.earlier_covered, change.later_covered, change.n_earlier, change.n_later]
        for change in lake.changes
    ]  # fmt: skip
    samples = [
        [survey.survey, note.vial, note.fish, note.text, note.standing, note.decision, note.decided_by,
         note.decided_at, note.why]
        for survey in lake.surveys
        for note in survey.samples
    ]  # fmt: skip
    return {
        "classes": (
            ("survey", "size_class", "n_caught", "n_swabbed", "n_resulted", "mean", "low", "high", "guard",
             "share_unseen", "least_q", "most_q", "n_carriers", "carriers_low", "carriers_high",
             "mean_relative_weight", "relative_weight_low", "relative_weight_high", "n_weighed",
             *(f"n_{kind}" for kind in kinds)),
            classes,
        ),
        "composition": (
            ("survey", "size_class", "ancestry_class", "n_fish", "n_resulted", "share", "low", "high", "guard"),
            composition,
        ),
        "surveys": (
            ("survey", "surveyed_on", "gear", "species", "n_caught", "n_swabbed", "n_resulted", "mean", "low", "high",
             "guard", "share_unseen", "weighted_mean", "weighted_low", "weighted_high", "share_of_catch_covered",
             "young_minus_adult", "young_minus_adult_low", "young_minus_adult_high", "young_minus_adult_p",
             "young_minus_adult_p_holm", "trend_statistic", "trend_expected", "trend_p", "trend_p_holm",
             "rank_on_length", "rank_on_length_low", "rank_on_length_high", "rank_on_length_n", "rank_on_length_p",
             "rank_on_length_p_holm", "rank_on_length_guard", "mean_heterozygosity",
             "mean_heterozygosity_low", "mean_heterozygosity_high", "deficit",
             "deficit_low", "deficit_high", "n_heterozygosity", "flag", "flag_hint", "n_carriers",
             "weighted_carriers", "weighted_carriers_low", "weighted_carriers_high"),
            surveys,
        ),
        "size_structure": (
            ("survey", "index", "least_length", "value", "low", "high", "n_at_least", "n_stock", "guard", "unit",
             "n_substock", "n_left_out"),
            [[survey.survey, *astuple(row), survey.size_structure.unit, survey.size_structure.n_substock,
              survey.size_structure.n_left_out]
             for survey in lake.surveys
             for row in survey.size_structure.indices],
        ),
        "changes": (
            ("earlier", "later", "species", "basis", "difference", "low", "high", "p", "p_holm", "guard",
             "compare_with_care", "alike", "earlier_share_of_catch", "later_share_of_catch", "n_earlier", "n_later"),
            changes,
        ),
        "fish": (
            (*FISH_COLUMNS, *(f"log_likelihood_{name.replace(' ', '_')}" for name in classes_of(lake))),
            fish_rows(lake),
        ),
        "samples": (
            ("survey", "vial", "fish", "what", "standing", "decision", "decided_by", "decided_at", "why"), samples,
        ),
        **_loci_sheet(lake),
        "stockings": (
            ("stocked_on", "taxon", "n_fish", "size", "source"),
            [[one.stocked_on, one.taxon, one.n_fish, one.size, one.source] for one in lake.stockings],
        ),
        "next": (
            ("size_class", "n_resulted", "half_width", "spread", "spread_is_borrowed", "n_wanted"),
            [[row.size_class, row.n_resulted, row.half_width, row.spread,
              row.borrowed if row.spread is not None else None, row.n_wanted]
             for row in lake.next_time],
        ),
    }  # fmt: skip


def _loci_sheet(lake: LakeFacts) -> dict[str, Sheet]:
    rows = [
        [survey.survey, *astuple(one)]
        for survey in lake.surveys
        if survey.markers is not None
        for one in survey.markers.loci
    ]
    if not rows:
        return {}
    return {"loci": (("survey", *LOCUS_COLUMNS), rows)}


def classes_of(lake: LakeFacts) -> tuple[str, ...]:
    """Return the six classes in the words of the lake's pair of taxa, then those of a species with another pair."""
    pairs = [(lake.taxon, lake.other_taxon), *((one.taxon, one.other_taxon) for one in lake.surveys)]
    return tuple(dict.fromkeys(name for pair in pairs for name in class_names(*pair)))


def fish_rows(lake: LakeFacts) -> list[list[Any]]:
    """Return one row a fish with a result, in the order of FISH_COLUMNS, then the six log-likelihoods."""
    names = classes_of(lake)
    return [
        [survey.survey, survey.surveyed_on, fish.number, fish.vial, fish.length, fish.length_unit, fish.length_mm,
         fish.weight, fish.weight_unit, fish.weight_g, fish.relative_weight, fish.size_class, fish.q, told.low,
         told.high, told.drop if told.low is not None else None, fish.heterozygosity, fish.n_loci, fish.call_rate,
         fish.call_rate_from,
         fish.ancestry_class, fish.lab_class, fish.panel, fish.doubtful, told.accepted, told.why or None,
         told.likeliest, told.second, told.margin, told.aic_difference,
         told.miscall_rate if told.likelihoods else None, told.counted_from, told.counted_q,
         told.counted_heterozygosity, *((told.likelihoods or {}).get(name) for name in names)]
        for survey in lake.surveys
        for fish in survey.fish
        for told in (fish.generation,)
    ]  # fmt: skip


def lake_document(
    lake: LakeFacts, lines: Sequence[str], sentences: Sequence[str], note: str = ""
) -> dict[str, Any]:
    """Return what ``report lake --json`` prints: nothing rounded, absent is None.

    answer: the five lines of the first page; summary: the sentences for the biologist.
    """
    return {
        "lake": lake.lake,
        "name": lake.name,
        "taxon": lake.taxon,
        "other_taxon": lake.other_taxon,
        "answer": list(lines),
        "summary": list(sentences),
        "state": str(lake.progress.state),
        "state_words": lake.progress.words,
        "next_plan": asdict(lake.next_plan) if lake.next_plan is not None else None,
        "note": note or None,
        "main_survey": lake.main.survey if lake.main else None,
        "surveys": [_survey_document(survey) for survey in lake.surveys],
        "changes": [_change_document(change) for change in lake.changes],
        "stockings": [asdict(one) for one in lake.stockings],
        "n_open_findings": lake.n_open_findings,
        "next_time": [asdict(row) for row in lake.next_time],
        "rule_set": lake.rule_set.label,
        "rule_set_cut_offs": lake.rule_set.cut_offs(),
        "rule_set_sentence": lake.rule_set.sentence(lake.taxon, lake.other_taxon),
        "fingerprint": lake.fingerprint,
    }


def _change_document(change: Change) -> dict[str, Any]:
    held = {field.name: getattr(change, field.name) for field in fields(change) if field.name != "footing"}
    return {**held, "notes": notes_of(change)}


def _survey_document(survey: SurveyFacts) -> dict[str, Any]:
    contrast = survey.young_minus_adult
    return {
        "survey": survey.survey,
        "surveyed_on": survey.surveyed_on,
        "gear": survey.gear,
        "taxon": survey.taxon,
        "other_taxon": survey.other_taxon,
        "n_caught": survey.n_caught,
        "n_swabbed": survey.n_swabbed,
        "n_resulted": survey.n_resulted,
        "classes": [asdict(row) for row in survey.classes],
        "composition": [asdict(one) for one in kind_shares(survey)],
        "ancestry_length_condition": [asdict(row) for row in growth_rows(survey)],
        "swabbed": asdict(survey.swabbed),
        "catch_weighted": asdict(survey.catch_weighted),
        "carriers": {"n_carriers": survey.n_carriers, **asdict(survey.carriers)},
        "young_minus_adult": {
            "difference": contrast.difference,
            "low": contrast.low,
            "high": contrast.high,
            "p": contrast.p,
            "p_holm": contrast.p_holm,
            "n_young": contrast.first.n,
            "n_adult": contrast.second.n,
            "basis": contrast.basis or None,
            "young_share_unseen": contrast.first.unseen,
            "adult_share_unseen": contrast.second.unseen,
            "young_mean": contrast.first.mean,
            "adult_mean": contrast.second.mean,
            "young_share_of_catch_covered": contrast.first_covered,
            "adult_share_of_catch_covered": contrast.second_covered,
        },
        "trend": {
            "statistic": survey.trend.statistic,
            "expected": survey.trend.expected,
            "rising": survey.trend.rising,
            "method": survey.trend.method or None,
            "p": survey.trend.p,
            "p_holm": survey.trend.p_holm,
            "n_classes": survey.trend.n_classes,
            "n": survey.trend.n,
            "guard": survey.trend.guard,
        },
        "rank_on_length": asdict(survey.rank_on_length),
        "mean_heterozygosity": survey.heterozygosity.mean,
        "deficit": survey.heterozygosity.deficit,
        "flag": survey.heterozygosity.flag or None,
        "heterozygosity": asdict(survey.heterozygosity),
        "size_structure": asdict(survey.size_structure),
        "loci": asdict(survey.markers) if survey.markers is not None else None,
        "samples": [asdict(note) for note in survey.samples],
    }
