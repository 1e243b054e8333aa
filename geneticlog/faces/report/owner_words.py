"""Parts of the sentences of the first page: ranges in points, what more fish would show, and lab fees."""

from __future__ import annotations

from math import ceil

from geneticlog.faces.app.numbers_in_words import percent
from geneticlog.rules.lakes.state import State
from geneticlog.rules.statistics.estimates import fish_to_meet
from geneticlog.work.report.facts import Change, LakeFacts, SurveyFacts
from geneticlog.work.report.number_facts import Contrast

MOST_FISH = 500  # beyond this it is not one more survey that would show it
UNDER_WAY = (State.NOT_SENT, State.AT_THE_LAB, State.PARTLY)  # samples that may still show it


def fees(lake: LakeFacts, n_fish: int) -> str:
    """Return what the lab asks for some fish, in brackets; "" where its fee is not known."""
    plan = lake.next_plan
    if plan is None or plan.cost is None or not plan.n_fish:
        return ""
    return f" (lab fees ${plan.cost / plan.n_fish * n_fish:,.0f})"


def none_seen(lake: LakeFacts, what: str, contrast: Contrast | Change, first: str, second: str) -> str:
    """Return that the fish met show nothing and others could, and how many fish would meet those."""
    assert contrast.missed is not None
    whose, n_each = first if contrast.missed.of_first else second, fish_to_meet(lake.matters)
    if isinstance(contrast, Contrast):
        n, each, n_fish = min(contrast.first.n, contrast.second.n), "of each", 2 * n_each
    else:
        n, each, n_fish = min(contrast.n_earlier, contrast.n_later), "each time", n_each
    if n < n_each:
        enough = f"{n_each} {each}{fees(lake, n_fish)} would show one of {lake.matters * 100:g} %"
    else:
        enough = "more fish of the commonest sizes would show it"
    missed = f"a kind making up {percent(contrast.missed.share)} of the {whose} could be missed"
    return f"no {what} seen, but {missed}; {enough}"


def points_from(number: Contrast | Change) -> str:
    """Return a range of points; its ends rounded outwards, with their signs where they differ."""
    assert number.low is not None
    assert number.high is not None
    return points_between(number.low, number.high)


def points_between(low: float, high: float) -> str:
    """Return the range of a difference in whole points, rounded outwards: 5 to 23 points, −2 to +9 points."""
    if low >= 0 or high <= 0:
        ends = sorted((abs(low), abs(high)))
        nearer = (
            "under 1" if 1e-9 < ends[0] * 100 < 1 - 1e-9 else f"{int(ends[0] * 100 + 1e-9)}"
        )  # never 0 where it is not
        return f"{nearer} to {ceil(ends[1] * 100 - 1e-9)} points"
    return f"−{ceil(-low * 100 - 1e-9)} to +{ceil(high * 100 - 1e-9)} points"


def fish_for(lake: LakeFacts, wanted: int | None, *, when: str = "") -> str:
    """Return how many fish, and what lab fees, would show the difference that matters, as the planner has it."""
    if wanted is None or wanted > MOST_FISH:
        return "It would take far more fish than a survey brings."
    points = f"{lake.matters * 100:g} point{'s' * (lake.matters != 0.01)}"
    return f"{wanted} fish{when}{fees(lake, wanted)} would show {points}."


def year_of(survey: SurveyFacts, other: SurveyFacts) -> str:
    """Return the year of a survey; its month, too, where the other was in the same year."""
    return (
        f"{survey.surveyed_on:%Y}"
        if survey.surveyed_on.year != other.surveyed_on.year
        else f"{survey.surveyed_on:%B %Y}"
    )
