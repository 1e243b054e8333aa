"""The change of every lake of the portfolio, weighted as in the lake's own report, from sums alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from geneticlog.rules.change_p import difference_p_many, p_of_difference
from geneticlog.rules.change_p_weighted import weighted_difference_p_many
from geneticlog.rules.comparison import LEAST_COMMON, Comparison, compare_surveys
from geneticlog.rules.intervals import Estimate, difference
from geneticlog.rules.sums import Sums
from geneticlog.work.lake_change import SEASON_MONTHS
from geneticlog.work.lake_size_tests import holm_of
from geneticlog.work.lake_survey import limits_in
from geneticlog.work.portfolio_sums import LakeTotals, SurveyTotals

WEIGHTED = "both weighted to one length frequency"
AS_SWABBED = "swabbed fish"


@dataclass(frozen=True)
class LakeChange:
    """The last survey with a result minus the one of the same species before it, p alone and after Holm over lakes.

    basis: on what footing the two are compared. differs: what else differs between the two, a word or two each; with
    any of it the difference is not one of ancestry alone.
    """

    earlier_on: date
    difference: Estimate
    basis: str
    differs: tuple[str, ...]
    p: float | None = None
    p_holm: float | None = None

    @property
    def fell(self) -> bool:
        """Whether the interval lies below 0, whatever else differs."""
        return self.difference.high is not None and self.difference.high < 0


def changes_of_lakes(lakes: Mapping[int, LakeTotals]) -> dict[int, LakeChange]:
    """Return the change of each lake with two surveys of one species with results, p adjusted by Holm over all."""
    found: dict[int, LakeChange] = {}
    weighted_pairs: dict[int, tuple[SurveyTotals, SurveyTotals, Comparison]] = {}
    as_swabbed: dict[int, tuple[SurveyTotals, SurveyTotals]] = {}
    for lake_id, lake in lakes.items():
        pair = last_two(lake)
        if pair is None:
            continue
        held = compare_surveys(pair[0].to_compare(), pair[1].to_compare()) if same_classes(*pair) else None
        if held is not None and held.difference.low is not None:
            weighted_pairs[lake_id] = (*pair, held)
            found[lake_id] = _weighted(*pair, held)
        else:
            as_swabbed[lake_id] = pair
            found[lake_id] = LakeChange(
                pair[0].on,
                difference(pair[1].every.estimate(), pair[0].every.estimate()),
                AS_SWABBED,
                tuple(what_differs(*pair)),
            )
    for lake_id, p in _p_of_weighted(weighted_pairs).items():
        found[lake_id] = replace(found[lake_id], p=p)
    if as_swabbed:
        earlier, later = (
            np.array([_row(pair[side].every) for pair in as_swabbed.values()], dtype=np.float64).T
            for side in (0, 1)
        )
        for lake_id, p in zip(as_swabbed, difference_p_many(later, earlier), strict=True):
            found[lake_id] = replace(found[lake_id], p=None if np.isnan(p) else float(p))
    adjusted = holm_of([change.p for change in found.values()])
    return {
        lake_id: replace(change, p_holm=p)
        for (lake_id, change), p in zip(found.items(), adjusted, strict=True)
    }


def last_two(lake: LakeTotals) -> tuple[SurveyTotals, SurveyTotals] | None:
    """Return the last survey with a result and the one before it of the same species; None without one."""
    with_result = lake.with_result
    if not with_result:
        return None
    last = with_result[-1]
    earlier = [one for one in with_result[:-1] if one.species == last.species]
    return (earlier[-1], last) if earlier else None


def _weighted(earlier: SurveyTotals, later: SurveyTotals, held: Comparison) -> LakeChange:
    differs = [*what_differs(earlier, later)]
    if any(share is not None and share < LEAST_COMMON for share in held.share_covered):
        differs.append("sizes typed")
    return LakeChange(earlier.on, held.difference, WEIGHTED, tuple(differs))


def _p_of_weighted(
    pairs: Mapping[int, tuple[SurveyTotals, SurveyTotals, Comparison]],
) -> dict[int, float | None]:
    """Return the p of each weighted change: of all at once, but for pairs with a class of a single fish."""
    found: dict[int, float | None] = {}
    together: list[int] = []
    for lake_id, (earlier, later, held) in pairs.items():
        if all(one.sums[name].n > 1 for one in (earlier, later) for name in held.weights):
            together.append(lake_id)
        else:
            found[lake_id] = _p_alone(earlier, later, held)
    if together:
        most = max(len(pairs[lake_id][2].weights) for lake_id in together)
        weights = np.zeros((len(together), most))
        tables = np.zeros((2, 4, len(together), most))
        for at, lake_id in enumerate(together):
            *both, held = pairs[lake_id]
            weights[at, : len(held.weights)] = list(held.weights.values())
            for side, survey in enumerate(both):
                rows = [_row(survey.sums[name]) for name in held.weights]
                tables[side, :, at, : len(rows)] = np.array(rows, dtype=np.float64).T
        p = weighted_difference_p_many(tables[1], tables[0], weights)
        found |= {lake_id: float(one) for lake_id, one in zip(together, p, strict=True)}
    return found


def _p_alone(earlier: SurveyTotals, later: SurveyTotals, held: Comparison) -> float | None:
    before, after = earlier.to_compare(), later.to_compare()
    return p_of_difference(held.difference, lambda level: compare_surveys(before, after, level).difference)


def what_differs(earlier: SurveyTotals, later: SurveyTotals) -> Iterable[str]:
    """Name what of two surveys differs, so that their difference is not one of ancestry alone."""
    if earlier.gear != later.gear:
        yield "gear"
    if earlier.panels != later.panels:
        yield "panel"
    elif earlier.loci and later.loci and (earlier.loci[1] < later.loci[0] or later.loci[1] < earlier.loci[0]):
        yield "loci"
    apart = abs(earlier.on.month - later.on.month)
    if min(apart, 12 - apart) > SEASON_MONTHS:
        yield "season"
    if not same_classes(earlier, later):
        yield "size classes"


def same_classes(earlier: SurveyTotals, later: SurveyTotals) -> bool:
    """Whether both surveys judged sizes by the same limits."""
    return earlier.scheme.name == later.scheme.name and limits_in(earlier.scheme, earlier.unit) == limits_in(
        later.scheme, later.unit
    )


def _row(held: Sums) -> tuple[float, float, float, float]:
    return held.n, held.sum_q, held.sum_q2, np.nan if held.n_alleles is None else held.n_alleles
