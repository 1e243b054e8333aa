"""Condition and length compared with ancestry within the size classes of a survey: association, never cause."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from geneticlog.rules.statistics.growth import Association, association, association_over_classes
from geneticlog.rules.statistics.holm import holm_of
from geneticlog.work.report.facts import FishResult, SurveyFacts

MEASURES = ("relative_weight", "length_mm")
MISREAD_ALONE = "misread alleles alone"
WORDS = {"relative_weight": "relative weight", "length_mm": "length"}


@dataclass(frozen=True)
class GrowthRow:
    """How a measure goes with q in one size class; ``size_class`` None is the common slope within all of them.

    slope, low, high
        Change of the measure (percent of standard weight, or mm) for q from 0 to 1, with 95 % t limits.
    p, p_holm
        Of the slope, and after Holm over the lines of one measure with fish enough to be read; None for the others.
    rank, rank_low, rank_high
        Spearman's correlation with its 95 % limits; None for the common slope.
    n, guard
        Fish with both; guard words, empty where the numbers may be read.
    """

    measure: str
    size_class: str | None
    n: int
    least_q: float | None
    most_q: float | None
    slope: float | None
    low: float | None
    high: float | None
    p: float | None
    p_holm: float | None
    rank: float | None
    rank_low: float | None
    rank_high: float | None
    guard: str


def growth_rows(survey: SurveyFacts) -> tuple[GrowthRow, ...]:
    """Return each measure in every size class with a result, smallest first, then over all of them in common."""
    rows: list[GrowthRow] = []
    misread = survey.misreading is not None and survey.misreading.alone
    for measure in MEASURES:
        groups, lines = {}, []
        for row in survey.classes:
            if not row.n_resulted:
                continue
            group = [
                fish
                for fish in survey.fish
                if fish.size_class == row.size_class and getattr(fish, measure) is not None
            ]
            groups[row.size_class] = group
            told = association(*_columns(group, measure)) if group else None
            told = _nothing_but_misread(told) if misread and told else told
            lines.append(_row(measure, row.size_class, group, told))
        if sum(map(len, groups.values())):
            columns = {name: _columns(group, measure) for name, group in groups.items()}
            every = [fish for group in groups.values() for fish in group]
            common = association_over_classes(columns)
            lines.append(_row(measure, None, every, _nothing_but_misread(common) if misread else common))
        adjusted = holm_of([line.p if not line.guard else None for line in lines])
        rows += [replace(line, p_holm=p) for line, p in zip(lines, adjusted, strict=True)]
    return tuple(rows)


def _nothing_but_misread(association: Association) -> Association:
    """Return an association without its numbers: what goes with misread alleles is no matter of ancestry."""
    guard = association.guard or MISREAD_ALONE
    return Association(None, None, None, None, None, association.n, guard)


def _columns(fish: Sequence[FishResult], measure: str) -> tuple[list[float], list[float]]:
    return [one.q for one in fish], [getattr(one, measure) for one in fish]


def _row(
    measure: str, size_class: str | None, fish: Sequence[FishResult], association: Association | None
) -> GrowthRow:
    if association is None:
        return GrowthRow(measure, size_class, 0, *(None,) * 10, "no fish")
    q = [one.q for one in fish]
    guard = "one fish" if len(fish) == 1 else association.guard
    if not guard and association.slope is None:
        guard = "all fish alike in q" if min(q) == max(q) else f"all fish alike in {WORDS[measure]}"
    low, high = association.limits or (None, None)
    rank_low, rank_high = association.rank_limits or (None, None)
    return GrowthRow(
        measure, size_class, len(fish), min(q), max(q), association.slope, low, high, association.p, None,
        association.rank_correlation, rank_low, rank_high, guard,
    )  # fmt: skip
