"""The report's tables for spreadsheets and programs: nothing rounded, and the contract of ``report lake --json``."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, fields
from typing import Any

from geneticlog.faces.report.brood_words import brood_document
from geneticlog.faces.report.change_words import notes_of
from geneticlog.faces.report.columns import (
    CLASS_DIFFERENCES,
    CLASSES,
    COMPOSITION,
    FISH,
    LOCI,
    NEXT,
    SAMPLES,
    SHARE,
    SIZE_STRUCTURE,
    STOCKINGS,
    SURVEYS,
    Column,
    InSurvey,
    Sheet,
    at,
    count_of,
    likelihood_of,
    sheet,
)
from geneticlog.faces.report.next_time import next_rows
from geneticlog.faces.report.site_words import misreading_document
from geneticlog.rules.genetics.hybrid_classes import class_names
from geneticlog.rules.report.comparability import is_small
from geneticlog.work.report.facts import Change, LakeFacts, SurveyFacts
from geneticlog.work.report.lake_growth import growth_rows
from geneticlog.work.report.lake_kinds import kind_shares
from geneticlog.work.report.number_facts import WeightedNumber

CHANGES = (
    at("earlier"), at("later"), at("species"), at("basis"), at("difference", unit=SHARE), at("low", unit=SHARE),
    at("high", unit=SHARE), at("p"), at("p_holm"), at("guard"),
    Column("compare_with_care", lambda change: "; ".join(notes_of(change))),
    Column("alike", lambda change: "; ".join(change.alike)), at("earlier_share_of_catch", "earlier_covered", SHARE),
    at("later_share_of_catch", "later_covered", SHARE), at("n_earlier"), at("n_later"),
    *(at(f"{part}_{name}", f"{part}.{name}", "" if name.startswith("p") else SHARE)
      for part in ("young", "adult") for name in ("difference", "low", "high", "p", "p_holm")),
)  # fmt: skip


def lake_tables(lake: LakeFacts) -> dict[str, tuple[Sequence[Column], Sequence[Any]]]:
    """Return the tables of a report by name, each with its columns and the objects its rows are got from."""

    def parts(of_survey: Callable[[SurveyFacts], Iterable[Any]]) -> list[InSurvey]:
        return [InSurvey(survey, one) for survey in lake.surveys for one in of_survey(survey)]

    loci = parts(lambda survey: survey.markers.loci if survey.markers is not None else ())
    kinds = dict.fromkeys(fish.ancestry_class for survey in lake.surveys for fish in survey.fish)
    return {
        "classes": ((*CLASSES, *map(count_of, kinds)), parts(lambda survey: survey.classes)),
        "class_differences": (CLASS_DIFFERENCES, parts(lambda survey: survey.class_differences)),
        "composition": (COMPOSITION, parts(kind_shares)),
        "surveys": (SURVEYS, lake.surveys),
        "size_structure": (SIZE_STRUCTURE, parts(lambda survey: survey.size_structure.indices)),
        "changes": (CHANGES, lake.changes),
        "fish": ((*FISH, *map(likelihood_of, classes_of(lake))), parts(lambda survey: survey.fish)),
        "samples": (SAMPLES, parts(lambda survey: survey.samples)),
        **({"loci": (LOCI, loci)} if loci else {}),
        "stockings": (STOCKINGS, lake.stockings),
        "next": (NEXT, next_rows(lake)),
    }


def lake_sheets(lake: LakeFacts) -> dict[str, Sheet]:
    """Return the tables of a report by name, each with its heading and rows; the last says units and meanings."""
    tables = lake_tables(lake)
    sheets = {name: sheet(columns, rows) for name, (columns, rows) in tables.items()}
    units = [
        [name, column.heading, column.unit, column.meaning]
        for name, (columns, _) in tables.items()
        for column in columns
        if column.unit or column.meaning
    ]
    return {**sheets, "units": (("table", "column", "unit", "meaning"), units)}


def classes_of(lake: LakeFacts) -> tuple[str, ...]:
    """Return the six classes in the words of the lake's pair of taxa, then those of a species with another pair."""
    pairs = [(lake.taxon, lake.other_taxon), *((one.taxon, one.other_taxon) for one in lake.surveys)]
    return tuple(dict.fromkeys(name for pair in pairs for name in class_names(*pair)))


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
        "left_behind": lake.progress.left_behind,
        "next_plan": asdict(lake.next_plan) if lake.next_plan is not None else None,
        "to_see": asdict(lake.to_see),
        "note": note or None,
        "main_survey": lake.main.survey if lake.main else None,
        "surveys": [_survey_document(survey, lake.matters) for survey in lake.surveys],
        "changes": [_change_document(change, lake.matters) for change in lake.changes],
        "through_years": None if lake.through_years is None else asdict(lake.through_years),
        "stockings": [asdict(one) for one in lake.stockings],
        "n_open_findings": lake.n_open_findings,
        "next_time": [asdict(row) for row in next_rows(lake)],
        "rule_set": lake.rule_set.label,
        "rule_set_cut_offs": lake.rule_set.cut_offs(),
        "rule_set_sentence": lake.rule_set.sentence(lake.taxon, lake.other_taxon),
        "fingerprint": lake.fingerprint,
        "journal_head": lake.journal_head,
    }


def _change_document(change: Change, matters: float) -> dict[str, Any]:
    held = {field.name: getattr(change, field.name) for field in fields(change) if field.name != "footing"}
    return {
        **held,
        "young": asdict(change.young),
        "adult": asdict(change.adult),
        "missed": None if change.missed is None else asdict(change.missed),
        "is_small": is_small(change.low, change.high, change.missed, matters),
        "notes": notes_of(change),
    }


def weighted_document(number: WeightedNumber) -> dict[str, Any]:
    """Return what a number weighted to the catch says; the sums it was worked out from are no part of a report."""
    return {name: value for name, value in asdict(number).items() if name not in {"classes", "n_if_alike"}}


def _carriers_document(survey: SurveyFacts) -> dict[str, Any]:
    """Return the share of carriers; carriers are what misreading does not explain, so nothing is said of that."""
    share = weighted_document(survey.carriers)
    return {"n_carriers": survey.n_carriers, **{k: v for k, v in share.items() if k != "misreading_alone"}}


def _survey_document(survey: SurveyFacts, matters: float) -> dict[str, Any]:
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
        "broods": brood_document(survey),
        "class_differences": [asdict(one) for one in survey.class_differences],
        "composition": [asdict(one) for one in kind_shares(survey)],
        "ancestry_length_condition": [asdict(row) for row in growth_rows(survey)],
        "swabbed": asdict(survey.swabbed),
        "catch_weighted": weighted_document(survey.catch_weighted),
        "misreading": misreading_document(survey),
        "sites": None if survey.sites is None else asdict(survey.sites),
        "carriers": _carriers_document(survey),
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
            "missed": None if contrast.missed is None else asdict(contrast.missed),
            "is_small": is_small(contrast.low, contrast.high, contrast.missed, matters),
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
            "slope": asdict(survey.trend.slope),
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
