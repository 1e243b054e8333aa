"""The change per year of a lake over three surveys and more, from their catch-weighted means."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.statistics.estimates import LEAST_TO_READ, NORMAL_95
from geneticlog.rules.statistics.through_years import LEAST_SURVEYS, YearlyChange, yearly_change
from geneticlog.work.report.facts import StockingFact, SurveyFacts

DAYS_A_YEAR = 365.25


@dataclass(frozen=True)
class ThroughYears:
    """The line through the surveys of the species the report is about.

    change: None where ``why`` says why there is none. surveys: those it goes through. differs: gear or panel is not the
    same in all of them.
    """

    change: YearlyChange | None
    surveys: tuple[str, ...]
    since: date | None
    differs: bool
    why: str = ""


def through_years(
    surveys: Sequence[SurveyFacts],
    main: SurveyFacts | None,
    stockings: Sequence[StockingFact] = (),
    *,
    as_steps: bool = False,
) -> ThroughYears | None:
    """Return the change per year; None with fewer than three surveys of the species that can be read.

    The variance of a mean is what its interval says, so that guards and sites are in it. as_steps: the stockings
    between the surveys raise the line, where two degrees of freedom are left.
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
    if len(usable) < LEAST_SURVEYS:
        return None
    years = [one.surveyed_on.toordinal() / DAYS_A_YEAR for one in usable]
    means = [one.catch_weighted for one in usable]
    steps = {}
    if as_steps:
        between = [
            one for one in stockings if usable[0].surveyed_on < one.stocked_on <= usable[-1].surveyed_on
        ]
        steps = {f"stocking of {one.stocked_on}": one.stocked_on.toordinal() / DAYS_A_YEAR for one in between}
    names, since = tuple(one.survey for one in usable), usable[0].surveyed_on
    differs = len({(one.gear, one.panels) for one in usable}) > 1
    try:
        change = yearly_change(
            years,
            [one.mean or 0.0 for one in means],
            [max(1e-6, (((one.high or 0.0) - (one.low or 0.0)) / (2 * NORMAL_95)) ** 2) for one in means],
            steps,
        )
    except NumberFault as fault:
        return ThroughYears(None, names, since, differs, str(fault))
    return ThroughYears(change, names, since, differs)
