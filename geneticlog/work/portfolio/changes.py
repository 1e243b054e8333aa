"""The change of every lake of the portfolio, weighted as in the lake's own report, from sums alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from geneticlog.rules.intervals import Estimate, difference
from geneticlog.rules.report.comparability import Aspect, same_classes, what_differs
from geneticlog.rules.statistics.change_p import difference_p_many, p_of_difference
from geneticlog.rules.statistics.change_p_weighted import weighted_difference_many, weighted_difference_p_many
from geneticlog.rules.statistics.comparison import Comparison, common_weights, compare_surveys
from geneticlog.rules.statistics.estimates import guard_words
from geneticlog.rules.statistics.sums import Sums
from geneticlog.work.portfolio.sums import LakeTotals, SurveyTotals
from geneticlog.work.report.lake_size_tests import holm_of

WEIGHTED = "both weighted to one length frequency"
AS_SWABBED = "swabbed fish"


@dataclass(frozen=True)
class LakeChange:
    """The survey reported minus the one of the same species before it, p alone and after Holm over lakes.

    basis: on what footing the two are compared. differs: what else differs between the two; with
    any of it the difference is not one of ancestry alone.
    """

    earlier_on: date
    difference: Estimate
    basis: str
    differs: tuple[Aspect, ...]
    p: float | None = None
    p_holm: float | None = None

    @property
    def fell(self) -> bool:
        """Whether the interval lies below 0, whatever else differs."""
        return self.difference.high is not None and self.difference.high < 0


def changes_of_lakes(lakes: Mapping[int, LakeTotals]) -> dict[int, LakeChange]:
    """Return the change of each lake with two surveys of one species with results, p adjusted by Holm over all."""
    pairs = {lake_id: pair for lake_id, lake in lakes.items() if (pair := last_two(lake)) is not None}
    together: dict[int, _Weighted] = {}
    found: dict[int, LakeChange] = {}
    as_swabbed: dict[int, tuple[SurveyTotals, SurveyTotals]] = {}
    for lake_id, pair in pairs.items():
        if same_classes(pair[0].footing, pair[1].footing):
            earlier, later = pair[0].to_compare(), pair[1].to_compare()
            weights, covered = common_weights(earlier, later)
            if weights and all(one.sums[name].n > 1 for one in pair for name in weights):
                together[lake_id] = _Weighted(*pair, weights, covered)
                continue
            held = compare_surveys(earlier, later)
            if held.difference.low is not None:
                p = _p_alone(*pair, held)
                found[lake_id] = replace(_change(*pair, held.difference, held.share_covered), p=p)
                continue
        as_swabbed[lake_id] = pair
        told = difference(pair[1].every.estimate(), pair[0].every.estimate())
        found[lake_id] = LakeChange(pair[0].on, told, AS_SWABBED, _differs(*pair))
    found |= _all_at_once(together)
    if as_swabbed:
        before, after = (
            np.array([_row(pair[side].every) for pair in as_swabbed.values()], dtype=np.float64).T
            for side in (0, 1)
        )
        for lake_id, p_value in zip(as_swabbed, difference_p_many(after, before), strict=True):
            found[lake_id] = replace(found[lake_id], p=None if np.isnan(p_value) else float(p_value))
    found = {lake_id: found[lake_id] for lake_id in pairs}
    adjusted = holm_of([change.p for change in found.values()])
    return {
        lake_id: replace(change, p_holm=p)
        for (lake_id, change), p in zip(found.items(), adjusted, strict=True)
    }


@dataclass(frozen=True)
class _Weighted:
    """Two surveys with at least two fish in every size class that they share, and the weight of each."""

    earlier: SurveyTotals
    later: SurveyTotals
    weights: Mapping[str, float]
    covered: tuple[float | None, float | None]

    def n(self, survey: SurveyTotals) -> int:
        return sum(survey.sums[name].n for name in self.weights)


def last_two(lake: LakeTotals) -> tuple[SurveyTotals, SurveyTotals] | None:
    """Return the survey reported and the one with a result before it of the same species; None without one."""
    last = lake.reported
    if not last.sums:
        return None
    before = lake.surveys[: lake.surveys.index(last)]
    earlier = [one for one in before if one.sums and one.species == last.species]
    return (earlier[-1], last) if earlier else None


def _change(
    earlier: SurveyTotals, later: SurveyTotals, told: Estimate, covered: tuple[float | None, float | None]
) -> LakeChange:
    return LakeChange(earlier.on, told, WEIGHTED, _differs(earlier, later, covered))


def _differs(
    earlier: SurveyTotals, later: SurveyTotals, covered: Iterable[float | None] = ()
) -> tuple[Aspect, ...]:
    return what_differs(earlier.footing, later.footing, covered)


def _all_at_once(pairs: Mapping[int, _Weighted]) -> dict[int, LakeChange]:
    """Return the weighted changes and their p, as `compare_surveys` and `p_of_difference` give them one by one."""
    if not pairs:
        return {}
    most = max(len(one.weights) for one in pairs.values())
    weights = np.zeros((len(pairs), most))
    tables = np.zeros((2, 4, len(pairs), most))
    for at, one in enumerate(pairs.values()):
        weights[at, : len(one.weights)] = list(one.weights.values())
        for side, survey in enumerate((one.earlier, one.later)):
            rows = [_row(survey.sums[name]) for name in one.weights]
            tables[side, :, at, : len(rows)] = np.array(rows, dtype=np.float64).T
    limits = weighted_difference_many(tables[1], tables[0], weights)
    p = weighted_difference_p_many(tables[1], tables[0], weights)
    found = {}
    for (lake_id, one), d, low, high, width, p_value in zip(pairs.items(), *limits, p, strict=True):
        n = (one.n(one.earlier), one.n(one.later))
        guard = guard_words(min(n), 0.0, float(width))
        told = Estimate(float(d), float(low), float(high), sum(n), guard=guard)
        found[lake_id] = replace(_change(one.earlier, one.later, told, one.covered), p=float(p_value))
    return found


def _p_alone(earlier: SurveyTotals, later: SurveyTotals, held: Comparison) -> float | None:
    before, after = earlier.to_compare(), later.to_compare()
    return p_of_difference(held.difference, lambda level: compare_surveys(before, after, level).difference)


def _row(held: Sums) -> tuple[float, float, float, float]:
    return held.n, held.sum_q, held.sum_q2, np.nan if held.n_alleles is None else held.n_alleles
