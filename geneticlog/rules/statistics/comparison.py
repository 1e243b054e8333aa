"""One survey against another of the same lake: by how much they differ, weighted to one length frequency."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geneticlog.rules.arguments import (
    RESAMPLES,
    SEED,
    NumberFault,
    by_name,
    count,
    proportion,
    proportions,
    seeded,
)
from geneticlog.rules.intervals import GUARD_FISH, difference
from geneticlog.rules.statistics.estimates import Estimate
from geneticlog.rules.statistics.sums import Sums
from geneticlog.rules.strata import CatchWeighted, weighted_mean


@dataclass(frozen=True, slots=True)
class SurveySums:
    """What of a survey enters a comparison.

    name
        How it is named in sentences.
    scheme
        Name of the size-class scheme.
    n_caught, sums
        Size class -> fish caught; size class -> sums of the fish with a result.
    n_without_class
        Fish caught that have no size class; they count in the catch and are covered by no class.
    """

    name: str
    scheme: str
    n_caught: Mapping[str, int]
    sums: Mapping[str, Sums]
    n_without_class: int = 0


@dataclass(frozen=True, slots=True)
class Comparison:
    """The later survey minus the earlier, both weighted to one length frequency.

    difference
        Estimate with MOVER limits; None mean where no class has results in both surveys.
    earlier, later
        The two means, weighted alike.
    weights
        Size class -> share it has in both means.
    share_covered
        Share of each survey's catch in the classes that both have results for.
    """

    difference: Estimate
    earlier: CatchWeighted
    later: CatchWeighted
    weights: dict[str, float]
    share_covered: tuple[float | None, float | None]


def compare_surveys(earlier: SurveySums, later: SurveySums, level: float = 0.95) -> Comparison:
    """Return later minus earlier, with both weighted to the mean of their length frequencies.

    Only classes with results in both surveys enter; each gets the mean of its shares in the two catches, so that a
    change of sizes caught cannot pass for a change of ancestry. The weights are then held fixed, so the variance is
    the within-class part alone; limits as in `catch_weighted_from_sums`, difference by MOVER.

    raises
        NumberFault for a class with results and no catch, or a negative catch.
    source
        Direct standardisation; Zou GY, Donner A (2008) Statistics in Medicine 27:1693-1702.
    """
    weights, covered = common_weights(earlier, later)
    means = [_weighted(survey, weights, level) for survey in (earlier, later)]
    return Comparison(
        difference(means[1], means[0]),
        means[0],
        means[1],
        weights,
        covered,
    )


def common_weights(
    earlier: SurveySums, later: SurveySums
) -> tuple[dict[str, float], tuple[float | None, float | None]]:
    """Return the weight of each size class with results in both surveys, and the share of either catch these make up.

    Faults as for `compare_surveys`.
    """
    for survey in (earlier, later):
        if not isinstance(survey, SurveySums):
            raise NumberFault(f"{survey!r} is not what of a survey enters a comparison")
        for name, n in survey.n_caught.items():
            count(n, f"fish caught in {name} of {survey.name}")
        count(survey.n_without_class, f"fish caught without a class in {survey.name}")
        for name, held in survey.sums.items():
            if held.n and not survey.n_caught.get(name):
                raise NumberFault(f"{survey.name}: size class {name!r} has results and no number caught")
    common = [
        name
        for name in earlier.n_caught
        if all(name in survey.sums and survey.sums[name].n for survey in (earlier, later))
    ]
    if earlier.scheme != later.scheme:
        common = []
    parts = [_shares(survey, common) for survey in (earlier, later)]
    weights = {name: (parts[0][name] + parts[1][name]) / 2 for name in common}
    return weights, (_share(earlier, common), _share(later, common))


def _share(survey: SurveySums, common: list[str]) -> float | None:
    total = sum(survey.n_caught.values()) + survey.n_without_class
    return sum(survey.n_caught[name] for name in common) / total if total else None


def _shares(survey: SurveySums, common: list[str]) -> dict[str, float]:
    total = sum(survey.n_caught[name] for name in common)
    return {name: survey.n_caught[name] / total for name in common} if total else {}


def _weighted(survey: SurveySums, weights: Mapping[str, float], level: float) -> CatchWeighted:
    # The weights are given, not estimated; whole numbers stand for them that no catch comes near.
    as_caught = {name: max(survey.sums[name].n, round(weight * 10**9)) for name, weight in weights.items()}
    held = {name: survey.sums[name] for name in weights}
    return weighted_mean(held, as_caught, None, level, GUARD_FISH, weights_known=True)


def stratified_permutation(
    earlier: Mapping[str, np.ndarray],
    later: Mapping[str, np.ndarray],
    weights: Mapping[str, float],
    n_resamples: int = RESAMPLES,
    seed: int = SEED,
) -> tuple[float, float]:
    """Return the weighted difference of means and its two-sided p from shuffling fish between surveys within classes.

    earlier, later
        Size class -> (fish,) q.
    weights
        Size class -> weight, as in `Comparison.weights`; every class must have fish in both.
    returns
        Later minus earlier, and p = (b + 1)/(m + 1) from seeded random shuffles.
    raises
        NumberFault for a class without fish in both surveys.
    """
    random = seeded(seed)
    m = count(n_resamples, "random shuffles", least=1)
    by_name(earlier, "q of the earlier survey")
    by_name(later, "q of the later survey")
    found, drawn = 0.0, np.zeros(m)
    for name, given in by_name(weights, "weights").items():
        weight = proportion(given, f"weight of {name}")
        if not all(np.size(survey.get(name, [])) for survey in (earlier, later)):
            raise NumberFault(f"size class {name!r} has no fish in one of the surveys")
        a, b = proportions(earlier[name], f"q of {name}"), proportions(later[name], f"q of {name}")
        found += weight * float(b.mean() - a.mean())
        both = np.concatenate([a, b])
        rows = max(1, 2_000_000 // len(both))  # bounds the memory of one draw
        for start in range(0, m, rows):
            shuffled = random.permuted(np.tile(both, (min(rows, m - start), 1)), axis=1)
            drawn[start : start + rows] += weight * (
                shuffled[:, len(a) :].mean(axis=1) - shuffled[:, : len(a)].mean(axis=1)
            )
    return found, (int((np.abs(drawn) >= abs(found) - 1e-10).sum()) + 1) / (m + 1)
