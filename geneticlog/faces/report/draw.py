"""The figures of a lake report, drawn from its numbers."""

from __future__ import annotations

from geneticlog.faces.figures.classes import CrossMark, composition_figure, cross_figure
from geneticlog.faces.figures.history import Dot, StockingMark, history_figure
from geneticlog.faces.figures.length import FishMark, SizeBand, length_figure
from geneticlog.faces.figures.style import Drawing
from geneticlog.rules.statistics.estimates import LEAST_TO_READ
from geneticlog.work.report.facts import CatchWeighted, FishResult, LakeFacts, Number, SurveyFacts

MM_IN_UNIT = {"mm": 1.0, "cm": 10.0, "in": 25.4}


def lake_drawings(lake: LakeFacts) -> list[Drawing]:
    """Return the figures there are data for: length, composition, cross, history."""
    survey, taxa = lake.main, {"taxon": lake.taxon, "other_taxon": lake.other_taxon}
    drawings = []
    if survey is not None and (survey.caught or survey.fish):
        drawings.append(
            length_figure(
                [
                    FishMark(_length(fish, survey.unit), fish.q, fish.ancestry_class, fish.doubtful)
                    for fish in survey.fish
                ],
                _bands(survey),
                survey.caught,
                survey.swabbed_lengths,
                unit=survey.unit,
                **taxa,
            )
        )  # fmt: skip
    if survey is not None and survey.fish:
        groups = [(row.size_class, row.composition) for row in survey.classes if row.n_caught]
        drawings.append(composition_figure(groups, **taxa))
        crossed = [
            CrossMark(fish.q, fish.heterozygosity, fish.ancestry_class)
            for fish in survey.fish
            if fish.heterozygosity is not None
        ]
        if crossed:
            drawings.append(cross_figure(crossed, **taxa))
    with_result = [one for one in lake.surveys if one.fish and lake.main and one.species == lake.main.species]
    if with_result:
        drawings.append(
            history_figure(
                [_dot(one, one.swabbed) for one in with_result],
                [
                    _dot(one, one.catch_weighted)
                    for one in with_result
                    if (one.catch_weighted.share_of_catch_covered or 0) > 0.999
                ],
                [
                    StockingMark(one.stocked_on, f"{one.n_fish:,} {one.taxon}" if one.n_fish else one.taxon)
                    for one in lake.stockings
                ],
                taxon=lake.taxon,
            )
        )  # fmt: skip
    return drawings


def _dot(survey: SurveyFacts, number: Number | CatchWeighted) -> Dot:
    return Dot(survey.surveyed_on, survey.survey, number.mean, number.low, number.high, number.n)


def _length(fish: FishResult, unit: str) -> float | None:
    if fish.length_unit == unit:
        return fish.length
    return None if fish.length_mm is None else fish.length_mm / MM_IN_UNIT[unit]


def _bands(survey: SurveyFacts) -> list[SizeBand]:
    tops = [*survey.class_limits[1:], None]
    return [
        SizeBand(row.size_class, least, below, row.n_caught, row.n_resulted, row.mean, row.low, row.high,
                 row.n_resulted >= LEAST_TO_READ)
        for row, least, below in zip(survey.classes, survey.class_limits, tops, strict=True)
    ]  # fmt: skip
