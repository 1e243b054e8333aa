"""The change from one survey of a lake to the next, like with like as far as the two allow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from geneticlog.rules.arguments import RESAMPLES, SEED
from geneticlog.rules.intervals import difference
from geneticlog.rules.report.comparability import same_classes, what_differs, what_is_alike
from geneticlog.rules.statistics.comparison import SurveySums, compare_surveys, stratified_permutation
from geneticlog.rules.statistics.sums import sums_of
from geneticlog.rules.trend import permutation_difference
from geneticlog.work.report.facts import Change, FishResult, SurveyFacts
from geneticlog.work.report.lake_means import loci_of, mean_of
from geneticlog.work.report.lake_size_tests import holm_of


def changes_of(surveys: Sequence[SurveyFacts]) -> tuple[Change, ...]:
    """Return the change from each survey to the next of the same species, p adjusted by Holm over all of them.

    surveys
        Those with results, by date. Two species of one lake are two stocks of fish, and are never set against
        each other.
    """
    found: list[Change] = []
    last: dict[str, SurveyFacts] = {}
    for survey in surveys:
        if survey.species in last:
            found.append(change_between(last[survey.species], survey))
        last[survey.species] = survey
    adjusted = holm_of([change.p for change in found])
    return tuple(replace(change, p_holm=p) for change, p in zip(found, adjusted, strict=True))


def change_between(earlier: SurveyFacts, later: SurveyFacts) -> Change:
    """Return later minus earlier with its interval, on the best footing both surveys share, and what differs.

    Both are weighted to one length frequency over the size classes with results in both, so that other sizes caught
    cannot pass for a change of ancestry; where that gives no interval, the swabbed fish are compared as they are.
    """
    footing = (earlier.footing, later.footing)
    alike = same_classes(*footing)
    held = compare_surveys(*_sums_of_two(earlier, later)) if alike else None
    if held is not None and held.difference.low is not None:
        basis = "both weighted to one length frequency"
        found = held.difference
        before, after = (
            {
                name: np.array([fish.q for fish in one.fish if fish.size_class == name])
                for name in held.weights
            }
            for one in (earlier, later)
        )
        p = stratified_permutation(before, after, held.weights, RESAMPLES, SEED)[1]
        covered = held.share_covered
        n_fish = [sum(map(len, side.values())) for side in (before, after)]
    else:
        basis, p, covered = "swabbed fish", None, (None, None)
        n_fish = [earlier.n_resulted, later.n_resulted]
        found = difference(mean_of(later.fish), mean_of(earlier.fish))
        if later.n_resulted > 1 and earlier.n_resulted > 1:
            q_later, q_earlier = [one.q for one in later.fish], [one.q for one in earlier.fish]
            p = permutation_difference(q_later, q_earlier, n_resamples=RESAMPLES, seed=SEED).p
    return Change(
        earlier=earlier.survey,
        later=later.survey,
        species=later.species,
        earlier_on=earlier.surveyed_on,
        later_on=later.surveyed_on,
        basis=basis,
        difference=found.mean,
        low=found.low,
        high=found.high,
        p=p,
        p_holm=p,
        guard=found.guard,
        differs=what_differs(*footing, covered),
        alike=what_is_alike(*footing),
        only_one_typed=_only_one_typed(earlier, later) if alike else (),
        earlier_covered=covered[0],
        later_covered=covered[1],
        n_earlier=n_fish[0],
        n_later=n_fish[1],
        footing=footing,
    )


def _sums_of_two(earlier: SurveyFacts, later: SurveyFacts) -> tuple[SurveySums, SurveySums]:
    return _sums(earlier), _sums(later)


def _sums(survey: SurveyFacts) -> SurveySums:
    groups: dict[str, list[FishResult]] = {}
    for fish in survey.fish:
        if fish.size_class is not None:
            groups.setdefault(fish.size_class, []).append(fish)
    return SurveySums(
        name=survey.survey,
        scheme=survey.scheme,
        n_caught={row.size_class: row.n_caught for row in survey.classes},
        sums={name: sums_of([one.q for one in group], loci_of(group)) for name, group in groups.items()},
        n_without_class=survey.n_unmeasured,
    )


def _only_one_typed(earlier: SurveyFacts, later: SurveyFacts) -> tuple[str, ...]:
    """Return the size classes, alike in both surveys, of which one alone has results."""
    return tuple(
        row.size_class
        for before, row in zip(earlier.classes, later.classes, strict=True)
        if (before.n_resulted == 0) != (row.n_resulted == 0)
    )
