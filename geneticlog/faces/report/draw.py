"""The figures of a lake report, drawn from its numbers; a figure stands only where it has something to say."""

from __future__ import annotations

from dataclasses import replace

from geneticlog.faces.figures.classes import CrossMark, composition_figure, cross_figure
from geneticlog.faces.figures.history import Dot, Series, history_figure
from geneticlog.faces.figures.length import FishMark, LengthPanel, SizeBand, length_figure
from geneticlog.faces.figures.sizes import SizeRow, sizes_figure
from geneticlog.faces.figures.style import Drawing
from geneticlog.faces.report.size_words import length_range
from geneticlog.faces.report.year_words import years_series
from geneticlog.rules.statistics.estimates import LEAST_TO_READ
from geneticlog.work.report.facts import FishResult, LakeFacts, SurveyFacts
from geneticlog.work.report.number_facts import ClassRow, Number, WeightedNumber

MM_IN_UNIT = {"mm": 1.0, "cm": 10.0, "in": 25.4}
MOST_PANELS = 6  # of the surveys with a panel of their own, the latest
TOO_FEW = "too few fish"


def lake_drawings(lake: LakeFacts) -> list[Drawing]:
    """Return the figures there are data for, that of the first page first."""
    survey, taxa = lake.main, {"taxon": lake.taxon, "other_taxon": lake.other_taxon}
    if survey is None or not survey.fish:
        return []
    with_result = surveys_to_show(lake)
    drawings = [_sizes(lake, survey)] if survey.n_resulted >= LEAST_TO_READ else []
    if any(fish.length_mm is not None for fish in survey.fish):
        panels = [
            LengthPanel(_year(one, with_result), _marks(one, survey.unit), _bands(one, survey.unit))
            for one in with_result[-MOST_PANELS:]
        ]
        drawings.append(
            length_figure(panels, survey.caught, survey.swabbed_lengths, unit=survey.unit, **taxa)
        )
    if len(with_result) > 1:
        drawings.append(_history(lake, with_result))
    kinds = {fish.ancestry_class for fish in survey.fish}
    if len(kinds) > 1:
        groups = [(row.size_class, row.composition) for row in survey.classes if row.n_caught]
        drawings.append(composition_figure(groups, **taxa))
        crossed = [
            CrossMark(fish.q, fish.heterozygosity, fish.ancestry_class)
            for fish in survey.fish
            if fish.heterozygosity is not None
        ]
        if crossed:
            drawings.append(cross_figure(crossed, **taxa))
    return drawings


def surveys_to_show(lake: LakeFacts) -> list[SurveyFacts]:
    """Return the surveys with a result of the species reported, up to the one reported, by date."""
    main = lake.main
    if main is None:
        return []
    return [
        one
        for one in lake.surveys
        if one.fish and one.species == main.species and one.surveyed_on <= main.surveyed_on
    ]


def _year(survey: SurveyFacts, among: list[SurveyFacts]) -> str:
    """Return what tells a survey from the others: its year, its month beside it where two are of one year."""
    several = sum(one.surveyed_on.year == survey.surveyed_on.year for one in among) > 1
    return f"{survey.surveyed_on:%b %Y}" if several else f"{survey.surveyed_on.year}"


def _sizes(lake: LakeFacts, survey: SurveyFacts) -> Drawing:
    earlier = [one for one in surveys_to_show(lake) if one.surveyed_on < survey.surveyed_on]
    before = earlier[-1] if earlier else None
    whole, n = survey.catch_weighted, survey.n_resulted
    few = n < LEAST_TO_READ
    number: WeightedNumber | Number = whole
    name = "whole lake"
    if whole.mean is None:  # without lengths there is no weighting to the catch
        number, name = survey.swabbed, "fish swabbed"
    first = SizeRow(name, n, number.mean, number.low, number.high, not few, words=TOO_FEW if few else "")
    rows = [_then(first, before.catch_weighted if before is not None and number is whole else None)]
    alike = before is not None and before.scheme == survey.scheme and before.unit == survey.unit
    then = {row.size_class: row for row in before.classes} if before is not None and alike else {}
    for at, row in enumerate(survey.classes):
        if not row.n_caught and not row.n_resulted:
            continue
        few, last = row.n_resulted < LEAST_TO_READ, then.get(row.size_class)
        words = (TOO_FEW if row.n_resulted else "not sampled") if few else ""
        name = f"{length_range(survey, at)} ({'adult' if row.adult else 'young'})"
        line = SizeRow(name, row.n_resulted, row.mean, row.low, row.high, not few, words=words)
        rows.append(_then(line, last if last is not None and last.n_resulted >= LEAST_TO_READ else None))
    shown = [*earlier[-1:], survey]
    return sizes_figure(
        rows, taxon=lake.taxon, now=_year(survey, shown), then=_year(before, shown) if before else ""
    )


def _then(row: SizeRow, number: WeightedNumber | ClassRow | None) -> SizeRow:
    """Return a line of the figure with the number of the survey before beside its own."""
    if number is None:
        return row
    return replace(row, then=number.mean, then_low=number.low, then_high=number.high)


def _history(lake: LakeFacts, surveys: list[SurveyFacts]) -> Drawing:
    series = [Series("whole lake", tuple(_dot(one, one.catch_weighted) for one in surveys))]
    for name, which in (("young", "first"), ("adult", "second")):
        dots = tuple(_dot(one, getattr(one.young_minus_adult, which)) for one in surveys)
        if sum(dot.mean is not None for dot in dots) > 1:
            series.append(Series(name, dots))
    series += years_series(lake)
    return history_figure(series, [one.stocked_on for one in lake.stockings], taxon=lake.taxon)


def _dot(survey: SurveyFacts, number: Number | WeightedNumber) -> Dot:
    return Dot(survey.surveyed_on, survey.survey, number.mean, number.low, number.high, number.n)


def _marks(survey: SurveyFacts, unit: str) -> tuple[FishMark, ...]:
    return tuple(FishMark(_length(one, unit), one.q, one.ancestry_class, one.doubtful) for one in survey.fish)


def _length(fish: FishResult, unit: str) -> float | None:
    if fish.length_unit == unit:
        return fish.length
    return None if fish.length_mm is None else fish.length_mm / MM_IN_UNIT[unit]


def _bands(survey: SurveyFacts, unit: str) -> tuple[SizeBand, ...]:
    """Return the size classes of a survey in the unit of the figure."""
    factor = MM_IN_UNIT[survey.unit] / MM_IN_UNIT[unit]
    limits = [limit * factor for limit in survey.class_limits]
    tops = [*limits[1:], None]
    return tuple(
        SizeBand(row.size_class, least, below, row.n_caught, row.n_resulted, row.mean, row.low, row.high,
                 row.n_resulted >= LEAST_TO_READ)
        for row, least, below in zip(survey.classes, limits, tops, strict=True)
    )  # fmt: skip
