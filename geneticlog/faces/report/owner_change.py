"""The third line of the first page: whether the lake is changing, and in whom."""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import whole_points, within_points
from geneticlog.faces.report.owner_words import (
    UNDER_WAY,
    fish_for,
    none_seen,
    points_between,
    points_from,
    year_of,
)
from geneticlog.rules.report.comparability import Aspect, chance_not_ruled_out, is_small, nears_nothing
from geneticlog.rules.sentences import listed
from geneticlog.rules.statistics.comparison import WEIGHTED
from geneticlog.rules.statistics.estimates import LEAST_TO_READ
from geneticlog.work.report.facts import Change, LakeFacts, SurveyFacts
from geneticlog.work.report.number_facts import Difference

PLAIN = {
    Aspect.GEAR: "gear",
    Aspect.PANEL: "lab test",
    Aspect.LOCI: "lab test",
    Aspect.SEASON: "season",
    Aspect.SIZE_CLASSES: "sizes",
    Aspect.SIZES_TYPED: "sizes",
}


def changing(lake: LakeFacts, survey: SurveyFacts) -> str:
    """Return the change since the survey before, and the change per year where several surveys show one."""
    return f"{_since_the_last(lake, survey)}{_per_year(lake)}"


def _per_year(lake: LakeFacts) -> str:
    """Return the change per year over three surveys and more where it is clear, "" elsewhere."""
    years = lake.through_years
    if years is None or years.change is None or years.since is None:
        return ""
    low, high, slope = years.change.low, years.change.high, years.change.slope
    if low <= 0 <= high:
        return ""
    way = "up" if slope > 0 else "down"
    return (
        f" Since {years.since.year}: {way} {whole_points(abs(slope))} a year ({points_between(low, high)})."
    )


def _since_the_last(lake: LakeFacts, survey: SurveyFacts) -> str:
    """Return the change since the survey before: of the lake first, then of the young and the adults where one shows.

    What would show a change is said only where none is shown.
    """
    change = next((one for one in reversed(lake.changes) if one.later == survey.survey), None)
    if change is None:
        return _one_survey(lake, survey)
    since = f"{change.earlier_on:%B}" if change.earlier_on.year == change.later_on.year else ""
    since = since or f"{change.earlier_on:%Y}"
    apart = list(dict.fromkeys(PLAIN[one] for one in change.differs))
    care = f" Compare with care: {listed(apart)} changed." if apart else ""
    in_whom = _in_whom(change)
    if change.difference is None or change.low is None or change.high is None:
        if not in_whom:
            return (
                f"Too few fish to compare with {since}; it takes {LEAST_TO_READ} of a size each time.{care}"
            )
        return f"Since {since}: {'; '.join(in_whom)}.{care}"
    of_lake, more = _of_the_lake(lake, change), ""
    same_sizes = ", at the same sizes of fish" * change.basis.startswith(
        WEIGHTED
    )  # the figure shows each catch as it was
    if _unclear(lake, change) and not any(_shown(one) for one in (change.young, change.adult)):
        more = f" {fish_for(lake, lake.to_see.change, when=' next time')}"
    return f"Since {since}{same_sizes}: {'; '.join([of_lake, *in_whom])}.{more}{care}"


def _of_the_lake(lake: LakeFacts, change: Change) -> str:
    assert change.difference is not None
    assert change.low is not None
    assert change.high is not None
    if change.misreading_alone:
        return "what differs may be misreading alone"
    if _leaves_0_out(change):
        chance = ", which may be chance" if _by_chance(change) else ""
        way = "up" if change.low > 0 else "down"
        return f"the lake {way} {whole_points(change.difference)} ({points_from(change)}){chance}"
    if is_small(change.low, change.high, change.missed, lake.matters):
        return f"the lake much the same, within {within_points(change.low, change.high)}"
    if nears_nothing(change.low, change.high, lake.matters):
        return none_seen(lake, "change", change, "later fish", "earlier fish")
    return f"no clear change of the lake ({points_from(change)})"


def _unclear(lake: LakeFacts, change: Change) -> bool:
    return not _leaves_0_out(change) and not nears_nothing(change.low, change.high, lake.matters)


def _in_whom(change: Change) -> list[str]:
    """Return the change of the young and of the adults, where one of them shows one; that of the lake stands beside."""
    ages = [
        (name, one)
        for name, one in (("young", change.young), ("adults", change.adult))
        if one.low is not None
    ]
    if len(ages) == 1 and ages[0][1].difference == change.difference:  # the lake's is theirs
        return []
    if any(one.misreading_alone for one in (change, change.young, change.adult)):
        return []
    if not any(_leaves_0_out(one) for _, one in ages):
        shown = _shown(change) and len(ages) > 1
        return ["in whom is not clear"] * shown
    if not any(_shown(one) for _, one in ages):
        ages = [(name, one) for name, one in ages if _leaves_0_out(one)]
    return [_of_one(name, one) for name, one in ages]


def _of_one(name: str, age: Difference) -> str:
    assert age.difference is not None
    assert age.low is not None
    assert age.high is not None
    if not _leaves_0_out(age):
        return f"{name} no clear change ({points_between(age.low, age.high)})"
    chance = ", which may be chance" if _by_chance(age) else ""
    way = "up" if age.low > 0 else "down"
    return f"{name} {way} {whole_points(age.difference)} ({points_between(age.low, age.high)}){chance}"


def _leaves_0_out(one: Change | Difference) -> bool:
    return one.low is not None and one.high is not None and (one.low > 0 or one.high < 0)


def _by_chance(one: Change | Difference) -> bool:
    return chance_not_ruled_out(one.low, one.high, one.p_holm)


def _shown(one: Change | Difference) -> bool:
    return _leaves_0_out(one) and not _by_chance(one) and not one.misreading_alone


def _one_survey(lake: LakeFacts, survey: SurveyFacts) -> str:
    """Return what it takes to see a change where one survey has results: the samples of a later one, if it has any."""
    if len(lake.surveys) == 1:
        return "One survey so far; another next spring would show it."
    swabbed = next((one for one in reversed(lake.surveys) if one.n_swabbed), survey)
    enough = "enough " if sum(bool(one.fish) for one in lake.surveys) > 1 else ""
    if swabbed.surveyed_on > survey.surveyed_on and lake.progress.state in UNDER_WAY:
        samples = f"the samples of {year_of(swabbed, survey)}"
        return f"One survey with {enough}results so far; {samples} will show it."
    return f"One survey with {enough}results so far; another next spring would show it."
