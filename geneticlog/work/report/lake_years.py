"""The change per year of a lake over three surveys and more, all weighted to one length frequency."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.report.comparability import same_classes
from geneticlog.rules.statistics.comparison import SurveySums, weights_of_all
from geneticlog.rules.statistics.estimates import LEAST_TO_READ, NORMAL_95
from geneticlog.rules.statistics.through_years import LEAST_SURVEYS, YearlyChange, yearly_change
from geneticlog.rules.strata import CatchWeighted, means_at_weights
from geneticlog.work.report.facts import StockingFact, SurveyFacts
from geneticlog.work.report.lake_change import sums_by_measured_length, survey_sums
from geneticlog.work.report.lake_misreading import reaching
from geneticlog.work.report.lake_sites import over_sites
from geneticlog.work.report.number_facts import WeightedNumber

DAYS_A_YEAR = 365.25
LEAST_VARIANCE = 1e-6  # of a mean whose limits have no width


@dataclass(frozen=True)
class YearPoint:
    """A survey of the line: its mean at the length frequency of the line, from n fish, and the line there."""

    survey: str
    surveyed_on: date
    mean: float
    low: float
    high: float
    n: int
    line: float | None = None


@dataclass(frozen=True)
class ThroughYears:
    """The line through the surveys of the species the report is about.

    change: None where ``why`` says why there is none. surveys: those it goes through. differs: gear or panel is not the
    same in all of them. points: their means at one length frequency. weights: size class -> its share in it;
    left_out: size classes with a result in some of these surveys and not in all. without_steps: why stockings that
    were asked for are no steps of the line.
    """

    change: YearlyChange | None
    surveys: tuple[str, ...]
    since: date | None
    differs: bool
    why: str = ""
    points: tuple[YearPoint, ...] = ()
    weights: dict[str, float] | None = None
    left_out: tuple[str, ...] = ()
    without_steps: str = ""


def through_years(
    surveys: Sequence[SurveyFacts],
    main: SurveyFacts | None,
    stockings: Sequence[StockingFact] = (),
    *,
    as_steps: bool = False,
) -> ThroughYears | None:
    """Return the change per year; None with fewer than three surveys of the species that can be read.

    Every survey is weighted to one length frequency over the size classes with results in all of them, as two surveys
    are for a change, so that other sizes caught cannot pass for a trend or for scatter between surveys. The variance of
    a mean is what its interval says, so that guards and sites are in it, and misreading where panels differ.

    as_steps: the stockings between the surveys raise the line; where that leaves fewer than two degrees of freedom the
    line is without steps, and says so.
    """
    usable = [
        survey
        for survey in surveys
        if main is not None
        and survey.species == main.species
        and survey.surveyed_on <= main.surveyed_on
        and survey.n_resulted >= LEAST_TO_READ
        and survey.catch_weighted.low is not None
    ]
    if main is None or len(usable) < LEAST_SURVEYS:
        return None
    footing = _same_sizes(usable, main)
    kept = footing.surveys
    names, since = tuple(one.survey for one in kept), kept[0].surveyed_on if kept else None
    differs = len({(one.gear, one.panels) for one in kept}) > 1
    if len(kept) < LEAST_SURVEYS:
        why = f"fewer than {LEAST_SURVEYS} surveys have enough results in the same size classes"
        return ThroughYears(None, names, since, differs, why)
    steps, without_steps = {}, ""
    if as_steps:
        between = [one for one in stockings if kept[0].surveyed_on < one.stocked_on <= kept[-1].surveyed_on]
        steps = {f"stocking of {one.stocked_on}": one.stocked_on.toordinal() / DAYS_A_YEAR for one in between}
        without_steps = "" if steps else "no stocking is on record between these surveys"
    try:
        change = _line(footing.points, steps)
    except NumberFault as fault:
        if not steps:
            return ThroughYears(None, names, since, differs, str(fault))
        without_steps = str(fault)
        try:
            change = _line(footing.points, {})
        except NumberFault as without:
            return ThroughYears(None, names, since, differs, str(without))
    return ThroughYears(
        change, names, since, differs, "", _on_line(footing.points, change, steps), footing.weights, footing.left_out,
        without_steps,
    )  # fmt: skip


def _line(points: Sequence[YearPoint], steps: dict[str, float]) -> YearlyChange:
    return yearly_change(
        [_year(one.surveyed_on) for one in points],
        [one.mean for one in points],
        [max(LEAST_VARIANCE, ((one.high - one.low) / (2 * NORMAL_95)) ** 2) for one in points],
        steps,
    )


def _year(on: date) -> float:
    return on.toordinal() / DAYS_A_YEAR


def _on_line(
    points: Sequence[YearPoint], change: YearlyChange, steps: dict[str, float]
) -> tuple[YearPoint, ...]:
    """Return the points, each with the height of the line there."""
    start = _year(points[0].surveyed_on)

    def line_at(year: float) -> float:
        risen = sum(rise for name, rise, *_ in change.steps if year >= steps[name])
        return change.start + change.slope * (year - start) + risen

    return tuple(replace(one, line=line_at(_year(one.surveyed_on))) for one in points)


@dataclass(frozen=True)
class _SameSizes:
    """Surveys weighted to one length frequency; fewer than three where they share too little."""

    surveys: tuple[SurveyFacts, ...] = ()
    points: tuple[YearPoint, ...] = ()
    weights: dict[str, float] | None = None
    left_out: tuple[str, ...] = ()


def _same_sizes(usable: Sequence[SurveyFacts], main: SurveyFacts) -> _SameSizes:
    """Return the surveys that have enough fish in the classes they share; one that has not is left out."""
    alike = all(same_classes(one.footing, main.footing) for one in usable)
    sums = {one.survey: survey_sums(one) if alike else sums_by_measured_length(one, main) for one in usable}
    kept = tuple(usable)
    while len(kept) >= LEAST_SURVEYS:
        of_kept = [sums[one.survey] for one in kept]
        weights = weights_of_all(of_kept)
        if not weights:
            return _SameSizes()
        means = means_at_weights([one.sums for one in of_kept], weights)
        enough = tuple(
            one
            for one, mean in zip(kept, means, strict=True)
            if mean.low is not None and mean.n >= LEAST_TO_READ
        )
        if len(enough) == len(kept):
            return _SameSizes(
                kept, _points(kept, of_kept, means, weights, alike), weights, _left_out(of_kept, weights)
            )
        kept = enough
    return _SameSizes(kept)


def _left_out(surveys: Sequence[SurveySums], weights: dict[str, float]) -> tuple[str, ...]:
    return tuple(
        name
        for name in surveys[0].scheme.classes
        if name not in weights and any(name in one.sums and one.sums[name].n for one in surveys)
    )


def _points(
    kept: Sequence[SurveyFacts],
    sums: Sequence[SurveySums],
    means: Sequence[CatchWeighted],
    weights: dict[str, float],
    alike: bool,
) -> tuple[YearPoint, ...]:
    """Return the means with the limits that sites, and misreading where panels differ, leave them."""
    errors = {one.misreading.error.panel for one in kept if one.misreading is not None}
    points = []
    for survey, of_survey, mean in zip(kept, sums, means, strict=True):
        number = WeightedNumber(
            mean.mean, mean.low, mean.high, mean.n, None, mean.guard,
            classes=tuple(of_survey.sums[name] for name in weights), n_if_alike=mean.n_if_alike,
        )  # fmt: skip
        if alike:  # a fish judged again by its length has another class than the one its site is known under
            limits, _, leads = over_sites(survey.fish, weights, number)
            if limits is not None and leads:
                number = replace(number, low=limits.low, high=limits.high)
        if len(errors) > 1 and survey.misreading is not None:
            number = reaching(number, survey.misreading.error, of_survey.every)
        assert number.mean is not None
        assert number.low is not None
        assert number.high is not None
        points.append(
            YearPoint(survey.survey, survey.surveyed_on, number.mean, number.low, number.high, number.n)
        )
    return tuple(points)
