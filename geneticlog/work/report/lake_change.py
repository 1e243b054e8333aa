"""The change from one survey of a lake to the next, like with like as far as the two allow."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from geneticlog.rules.intervals import difference
from geneticlog.rules.statistics.comparison import (
    LEAST_COMMON,
    Comparison,
    SurveySums,
    compare_surveys,
    stratified_permutation,
)
from geneticlog.rules.statistics.sums import sums_of
from geneticlog.rules.trend import permutation_difference
from geneticlog.work.report.facts import Change, FishResult, SurveyFacts
from geneticlog.work.report.lake_means import loci_of, mean_of
from geneticlog.work.report.lake_size_tests import RESAMPLES, SEED, holm_of

SEASON_MONTHS = 1  # surveys further apart in the year are named as of another season


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
    held = compare_surveys(*_sums_of_two(earlier, later)) if _same_classes(earlier, later) else None
    notes = list(_what_differs(earlier, later))
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
        notes += _what_is_not_covered(earlier, later, held)
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
        notes=tuple(notes),
        alike=tuple(_what_is_alike(earlier, later)),
        earlier_covered=covered[0],
        later_covered=covered[1],
        n_earlier=n_fish[0],
        n_later=n_fish[1],
    )


def _same_classes(earlier: SurveyFacts, later: SurveyFacts) -> bool:
    return earlier.scheme == later.scheme and earlier.class_limits == later.class_limits


def _same_season(earlier: SurveyFacts, later: SurveyFacts) -> bool:
    apart = abs(earlier.surveyed_on.month - later.surveyed_on.month)
    return min(apart, 12 - apart) <= SEASON_MONTHS


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


def _what_is_not_covered(earlier: SurveyFacts, later: SurveyFacts, held: Comparison) -> Iterable[str]:
    for survey, share in zip((earlier, later), held.share_covered, strict=True):
        if share is not None and share < LEAST_COMMON:
            part = f"{share * 100:.0f} % of the catch of {survey.survey}"
            yield f"the size classes with results in both make up only {part}"


def _what_is_alike(earlier: SurveyFacts, later: SurveyFacts) -> Iterable[str]:
    """Name what is known of both surveys and the same in both."""
    if earlier.gear == later.gear:
        yield "gear"
    if earlier.panels and earlier.panels == later.panels:
        yield "panel"
    if earlier.loci and earlier.loci == later.loci:
        yield "loci scored"
    if _same_classes(earlier, later):
        yield "size classes"
    if _same_season(earlier, later):
        yield "season"


def _what_differs(earlier: SurveyFacts, later: SurveyFacts) -> Iterable[str]:
    if earlier.gear != later.gear:
        yield f"the gear differs: {earlier.gear} and {later.gear}"
    if earlier.panels != later.panels:
        before, after = (", ".join(one.panels) or "not known" for one in (earlier, later))
        yield f"the panel differs: {before} and {after}"
    elif earlier.loci != later.loci:
        yield f"the loci scored differ: {_range(earlier.loci)} and {_range(later.loci)}"
    if not _same_season(earlier, later):
        yield f"the season differs: {earlier.surveyed_on:%B} and {later.surveyed_on:%B}"
    if not _same_classes(earlier, later):
        if earlier.unit != later.unit and earlier.scheme == later.scheme:
            yield f"sizes were measured in {earlier.unit} and in {later.unit}, whose class limits were rounded apart"
        else:
            yield f"the size classes differ: {earlier.scheme} and {later.scheme}"
    else:
        uneven = [
            row.size_class
            for before, row in zip(earlier.classes, later.classes, strict=True)
            if (before.n_resulted == 0) != (row.n_resulted == 0)
        ]
        if uneven:
            yield f"only one of the two surveys has results in: {', '.join(uneven)}"


def _range(loci: Sequence[int]) -> str:
    if not loci:
        return "not stated"
    return str(loci[0]) if len(loci) == 1 else f"{loci[0]} to {loci[-1]}"
