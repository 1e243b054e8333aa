"""The change from one survey of a lake to the next, like with like as far as the two allow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from geneticlog.rules.genetics.misread_mean import Readings, misreading_parts
from geneticlog.rules.report.comparability import Aspect, Footing, same_classes, what_differs, what_is_alike
from geneticlog.rules.statistics.comparison import (
    Comparison,
    SurveySums,
    TypedFish,
    compare_surveys,
    sums_by_length,
)
from geneticlog.rules.statistics.contrast import Contrast
from geneticlog.rules.statistics.holm import holm_of
from geneticlog.rules.statistics.missed_kind import missed_kind
from geneticlog.rules.statistics.site_cells import AtSites, at_sites
from geneticlog.rules.statistics.sums import NO_SUMS, sums_of
from geneticlog.work.report.facts import Change, FishResult, SurveyFacts
from geneticlog.work.report.lake_means import loci_of
from geneticlog.work.report.lake_misreading import reading_of
from geneticlog.work.report.number_facts import Difference


def changes_of(surveys: Sequence[SurveyFacts]) -> tuple[Change, ...]:
    """Return the change from each survey to the next of the same species, p adjusted by Holm over all of them.

    surveys
        Those with results, by date. Two species of one lake are two stocks of fish, and are never compared with
        each other.
    """
    changes: list[Change] = []
    last: dict[str, SurveyFacts] = {}
    for survey in surveys:
        if survey.species in last:
            changes.append(change_between(last[survey.species], survey))
        last[survey.species] = survey
    adjusted = holm_of([change.p for change in changes])
    return tuple(replace(change, p_holm=p) for change, p in zip(changes, adjusted, strict=True))


def change_between(earlier: SurveyFacts, later: SurveyFacts) -> Change:
    """Return later minus earlier with its interval, on the best footing both surveys share, and what differs.

    Both are weighted to one length frequency over the size classes with results in both, so that other sizes caught
    cannot pass for a change of ancestry; surveys judged by other limits are judged again by their measured lengths.
    Where that gives no interval, the swabbed fish are compared as they are.
    """
    footing = (earlier.footing, later.footing)
    alike = same_classes(*footing)
    if alike:
        pair = survey_sums(earlier), survey_sums(later)
    else:
        pair = sums_by_measured_length(earlier, later), sums_by_measured_length(later, later)
    comparison = compare_surveys([pair])[0]
    estimate = comparison.whole.estimate
    readings = read_as(earlier, later)
    young, adult = ages_of([comparison], [readings])[0]
    return Change(
        earlier=earlier.survey,
        later=later.survey,
        species=later.species,
        earlier_on=earlier.surveyed_on,
        later_on=later.surveyed_on,
        basis=basis_of(comparison, footing),
        difference=estimate.mean,
        low=estimate.low,
        high=estimate.high,
        p=comparison.whole.p,
        p_holm=comparison.whole.p,
        guard=estimate.guard,
        differs=differs_of(comparison, footing),
        alike=what_is_alike(*footing),
        only_one_typed=_only_one_typed(earlier, later) if alike else (),
        earlier_covered=comparison.share_covered[0],
        later_covered=comparison.share_covered[1],
        n_earlier=comparison.whole.n_second,
        n_later=comparison.whole.n_first,
        footing=footing,
        young=young,
        adult=adult,
        missed=missed_kind(comparison.whole.first, comparison.whole.second),
        misreading_alone=misread(comparison.whole, readings),
    )


def basis_of(comparison: Comparison, footing: tuple[Footing, Footing]) -> str:
    """Return how two surveys are compared, in words: one sentence part for the report and the list of lakes."""
    if same_classes(*footing) or not comparison.weights:
        return comparison.basis
    return f"{comparison.basis}, with the sizes of both judged by measured length in {footing[1].unit}"


def differs_of(comparison: Comparison, footing: tuple[Footing, Footing]) -> tuple[Aspect, ...]:
    """Return what differs between two surveys; not their size classes, where both were judged again by length."""
    found = what_differs(*footing, comparison.share_covered)
    return tuple(one for one in found if one is not Aspect.SIZE_CLASSES) if comparison.weights else found


def difference_of(difference: Contrast | None) -> Difference:
    """Return later minus earlier as a report tells it; without numbers where there is none."""
    if difference is None:
        return Difference()
    told, p = difference.estimate, difference.p
    return Difference(told.mean, told.low, told.high, p, difference.n_second, difference.n_first, p)


def ages_of(
    comparisons: Sequence[Comparison], readings: Sequence[Readings]
) -> list[tuple[Difference, Difference]]:
    """Return the young and the adult fish of comparisons that are shown together, p after Holm over all of them.

    Whoever looks at both and speaks of the one that changed has looked twice. readings: of each comparison, how its
    later survey was read and how its earlier one.
    """
    ages = []
    for each, read in zip(comparisons, readings, strict=True):
        for age in (each.young, each.adult):
            alone = age is not None and misread(age, read)
            ages.append(replace(difference_of(age), misreading_alone=alone))
    adjusted = holm_of([age.p for age in ages])
    ages = [replace(age, p_holm=p) for age, p in zip(ages, adjusted, strict=True)]
    return list(zip(ages[::2], ages[1::2], strict=True))


def sites_for_differences(survey: str, fish: Sequence[FishResult]) -> AtSites | None:
    """Return where the fish of a survey were caught, for a difference that follows the sites."""
    return at_sites(survey, [(one.size_class, one.site, one.q) for one in fish])


def read_as(earlier: SurveyFacts, later: SurveyFacts) -> Readings:
    """Return how two surveys were read, the later one first, as a difference has them."""
    one_panel = earlier.footing.panels == later.footing.panels
    return Readings(reading_of(later.misreading), reading_of(earlier.misreading), one_panel)


def misread(difference: Contrast, readings: Readings) -> bool:
    """Return whether misreading alone may be what parts the two sides of a difference."""
    low, high = difference.estimate.low, difference.estimate.high
    if low is None or high is None or low <= 0 <= high:
        return False
    means = difference.first.mean, difference.second.mean
    return misreading_parts((low, high), means, readings)


def survey_sums(survey: SurveyFacts) -> SurveySums:
    groups: dict[str | None, list[FishResult]] = {}
    for fish in survey.fish:
        groups.setdefault(fish.size_class, []).append(fish)
    sums = {name: sums_of([one.q for one in group], loci_of(group)) for name, group in groups.items()}
    without = sums.pop(None, NO_SUMS)
    return SurveySums(
        name=survey.survey,
        scheme=survey.footing.scheme,
        n_caught={row.size_class: row.n_caught for row in survey.classes},
        sums={name: held for name, held in sums.items() if name is not None},
        n_without_class=survey.n_unmeasured,
        without_class=without,
        sites=sites_for_differences(survey.survey, survey.fish),
    )


def sums_by_measured_length(survey: SurveyFacts, later: SurveyFacts) -> SurveySums:
    """Return a survey judged by measured lengths, under the size classes and in the unit of the later one."""
    n_measured = sum(n for _, n in survey.caught)
    caught: list[tuple[tuple[float, str] | None, int]] = [
        ((length, survey.unit), n) for length, n in survey.caught
    ]
    caught.append((None, survey.n_caught - n_measured))
    typed = [
        TypedFish(
            None if each.length is None or each.length_unit is None else (each.length, each.length_unit),
            each.q,
            each.n_loci,
            each.site,
        )
        for each in survey.fish
    ]
    return sums_by_length(survey.survey, later.footing.scheme, later.unit, caught, typed)


def _only_one_typed(earlier: SurveyFacts, later: SurveyFacts) -> tuple[str, ...]:
    """Return the size classes, alike in both surveys, of which one alone has results."""
    return tuple(
        row.size_class
        for before, row in zip(earlier.classes, later.classes, strict=True)
        if (before.n_resulted == 0) != (row.n_resulted == 0)
    )
