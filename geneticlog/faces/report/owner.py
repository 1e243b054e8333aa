"""The first page: five fixed questions an owner asks, each answered in one line of plain words.

A line has one number with its range. Where something cannot be said, it says what it would take. No term that needs
explaining is used here: a test holds the list. Ranges are in brackets and are the 95 % intervals of the tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from geneticlog.faces.app.numbers_in_words import (
    percent,
    whole_percent,
    whole_points,
    whole_range,
    within_points,
)
from geneticlog.faces.report.brood_words import brood_warning
from geneticlog.faces.report.owner_change import changing
from geneticlog.faces.report.owner_words import UNDER_WAY, fees, fish_for, none_seen, points_from, year_of
from geneticlog.faces.report.site_words import leading_mean, not_allowed_for, only_misread, rare_taxon
from geneticlog.faces.report.size_words import length_range
from geneticlog.rules.lakes.state import State
from geneticlog.rules.report.comparability import (
    chance_not_ruled_out,
    is_small,
    more_than_chance,
    nears_nothing,
)
from geneticlog.rules.sentences import n_of
from geneticlog.rules.statistics.estimates import LEAST_TO_READ, unseen_share
from geneticlog.work.report.facts import LakeFacts, SurveyFacts
from geneticlog.work.report.number_facts import ClassRow

HOW_MUCH, SIZES, CHANGING, SURE, NEXT = (
    "How much?", "In which sizes?", "Is it changing, and in whom?", "How sure?", "What next?",
)  # fmt: skip
ROUNDED = "Ends of ranges are whole percent, rounded outwards; the tables have them exactly."
LEGEND = (
    "In brackets: the range in which the true value very likely lies (95 %). The figure shows it for each size, with "
    f"the number of fish behind it. {ROUNDED}"
)


@dataclass(frozen=True)
class Line:
    """One question and its answer."""

    question: str
    text: str


def owner_lines(lake: LakeFacts) -> tuple[Line, ...]:
    """Return the five lines, always in the same order."""
    survey = lake.main
    if survey is None or len(survey.fish) < LEAST_TO_READ:
        return _not_known(lake, survey)
    return (
        Line(HOW_MUCH, _as_of(lake, survey, _how_much(lake, survey))),
        Line(SIZES, _sizes(lake, survey)),
        Line(CHANGING, changing(lake, survey)),
        Line(SURE, _how_sure(lake, survey)),
        Line(NEXT, _next(lake)),
    )


def answer_lines(lake: LakeFacts) -> list[str]:
    """Return the lines as plain sentences, question first."""
    return [f"{line.question} {line.text}" for line in owner_lines(lake)]


def _not_known(lake: LakeFacts, survey: SurveyFacts | None) -> tuple[Line, ...]:
    """Return the lines of a lake without enough results: what is the matter, and what it would take."""
    progress, plan = lake.progress, lake.next_plan
    how_much = f"Unknown: {progress.words}."
    if progress.state is State.TOO_FEW:
        how_much = f"Unknown: {progress.words}; it takes {LEAST_TO_READ}."
    elif progress.state is State.KNOWN and survey is not None:  # of another survey, or of other species
        how_much = f"Unknown: {State.TOO_FEW} ({_read(len(survey.fish))}); it takes {LEAST_TO_READ}."
    if progress.state in UNDER_WAY:
        n, sizes = progress.n_swabbed, "The lab's answer will show it."
    elif plan is not None and plan.n_fish:
        n, sizes = plan.n_fish, f"{plan.n_fish} bass{fees(lake, plan.n_fish)} next spring would show it."
    else:
        n, sizes = 0, "A survey next spring would show it."
    sure = "Nothing is read yet" if survey is None or not survey.fish else "Not yet"
    if n >= LEAST_TO_READ:
        sure += f"; {n} bass could still miss a kind making up {percent(unseen_share(n))} of them."
    else:
        sure += f"; it takes {LEAST_TO_READ} bass or more."
    return (
        Line(HOW_MUCH, how_much),
        Line(SIZES, sizes),
        Line(CHANGING, "That takes two surveys with results, a season or more apart."),
        Line(SURE, sure),
        Line(NEXT, _next(lake)),
    )


def _read(n: int) -> str:
    return n_of(n, "fish was read", "fish were read")


def _as_of(lake: LakeFacts, survey: SurveyFacts, sentence: str) -> str:
    """Return an answer with the year it is of, where it is not of the latest survey."""
    latest = lake.surveys[-1]
    return (
        sentence
        if latest.survey == survey.survey
        else f"In {year_of(survey, latest)}: {sentence[0].lower()}{sentence[1:]}"
    )


def _how_much(lake: LakeFacts, survey: SurveyFacts) -> str:
    number = survey.catch_weighted
    if _misread(survey):
        return _none_shown(lake, survey)
    if number.mean is None:
        number_of_swabbed = survey.swabbed
        return (
            f"{whole_percent(number_of_swabbed.mean)} {lake.taxon} ancestry in the fish swabbed "
            f"({whole_range(number_of_swabbed.low, number_of_swabbed.high)}); lengths would show it for the lake."
        )
    where = "" if (number.share_of_catch_covered or 0) > 0.999 else " in the sizes sampled"
    if number.mean == 0:
        return f"No {lake.taxon} ancestry was seen{where}; it could be as high as {_up(number.high)}."
    if number.mean == 1:
        return f"All of the ancestry seen{where} is {lake.taxon}; it could be as low as {_down(number.low)}."
    share = whole_percent(number.mean)
    return (
        f"{share[0].upper()}{share[1:]} of the bass ancestry{where} is {lake.taxon} "
        f"({whole_range(number.low, number.high)})."
    )


def _none_shown(lake: LakeFacts, survey: SurveyFacts) -> str:
    """Return that the taxon which few alleles are of is not shown, for misreading alone brings as many."""
    weighted = survey.catch_weighted
    number, where = (survey.swabbed, " in the fish swabbed") if weighted.mean is None else (weighted, "")
    if weighted.mean is not None and (weighted.share_of_catch_covered or 0) <= 0.999:
        where = " in the sizes sampled"
    assert number.mean is not None
    assert number.low is not None
    taxon, high = rare_taxon(number.mean, lake.taxon, lake.other_taxon), number.high
    if taxon == lake.other_taxon:
        high = 1 - number.low
    return (
        f"No {taxon} ancestry is shown{where}: the little that was read may be misreading alone. It could be as high "
        f"as {_up(high)}."
    )


def _up(value: float | None) -> str:
    return "100 %" if value is None else f"{ceil(value * 100 - 1e-9)} %"


def _down(value: float | None) -> str:
    return whole_range(value, value).split(" ")[0] + " %" if value is not None else "0 %"


def _sizes(lake: LakeFacts, survey: SurveyFacts) -> str:
    contrast = survey.young_minus_adult
    adult = next((at for at, row in enumerate(survey.classes) if row.adult), 0)
    under = f"Young (under {survey.class_limits[adult]:g} {survey.unit})" if adult else "Young"
    young, old = contrast.first.n, contrast.second.n
    if not young and not old:
        return "No fish was measured; lengths would show it."
    if min(young, old) < LEAST_TO_READ:
        few, n = ("young", young) if young <= old else ("adult", old)
        read = f"Only {n} {few} bass {'was' if n == 1 else 'were'} read" if n else f"No {few} bass was read"
        if _may_still_be_read(lake, survey, adult=few == "adult"):
            return f"{read} so far; swabs that are still to be read may show it."
        return f"{read}; {LEAST_TO_READ}{fees(lake, LEAST_TO_READ)} would be needed at least."
    if contrast.difference is None or contrast.low is None or contrast.high is None:
        return f"Young and adults could not be compared; {LEAST_TO_READ} of each in one more survey could be."
    size = whole_points(contrast.difference)
    if contrast.low > 0 or contrast.high < 0:
        more = "more" if contrast.low > 0 else "less"
        if _misread(survey):
            return f"{under} against adults: what differs may be misreading alone."
        if chance_not_ruled_out(contrast.low, contrast.high, contrast.p_holm):
            return f"{under} may carry {size} {more} than adults ({points_from(contrast)}); it may be chance."
        return f"{under} carry {size} {more} than adults ({points_from(contrast)})."
    steep = _largest_against_smallest(survey)
    if steep:
        return steep
    if is_small(contrast.low, contrast.high, contrast.missed, lake.matters):
        if brood_warning(survey):
            return f"{under} and adults: no difference seen, but the young are of few parents."
        return f"{under} and adults are alike, within {within_points(contrast.low, contrast.high)}."
    if nears_nothing(contrast.low, contrast.high, lake.matters):
        return f"{under} and adults: {none_seen(lake, 'difference', contrast, 'young', 'adults')}."
    more_fish = fish_for(lake, lake.to_see.young_adult)
    return f"{under} against adults: no clear difference ({points_from(contrast)}). {more_fish}"


def _may_still_be_read(lake: LakeFacts, survey: SurveyFacts, *, adult: bool) -> bool:
    """Return whether young or adult fish of the latest survey were swabbed whose samples are in store or away."""
    without = any(row.n_swabbed > row.n_resulted for row in survey.classes if row.adult == adult)
    out = lake.progress.n_unpacked + lake.progress.n_waiting
    return without and out > 0 and survey.survey == lake.surveys[-1].survey


def _misread(survey: SurveyFacts) -> bool:
    return only_misread(leading_mean(survey))


def _largest_against_smallest(survey: SurveyFacts) -> str:
    """Return the line about a rise or a fall over the sizes, where the class means rise or fall by more than chance."""
    p, slope = survey.trend.p_holm, survey.trend.slope
    if slope.low is None or slope.high is None or slope.low <= 0 <= slope.high:
        return ""  # the test over them is one of ranks; other shapes of the classes can make it small
    readable: list[tuple[int, ClassRow]] = [
        (at, row)
        for at, row in enumerate(survey.classes)
        if row.n_resulted >= LEAST_TO_READ and row.mean is not None
    ]
    if not more_than_chance(p) or len(readable) < 2 or _misread(survey):
        return ""
    at, row = max(readable, key=lambda one: one[1].mean or 0.0)
    return f"Most in bass of {length_range(survey, at)}: {whole_percent(row.mean)} ({whole_range(row.low, row.high)})."


def _how_sure(lake: LakeFacts, survey: SurveyFacts) -> str:
    if survey.heterozygosity.flag == "third lineage":
        return "Not sure: the lab's values look unusual, so ask the lab before relying on them."
    missed = percent(survey.swabbed.unseen)
    sentences = f"{survey.n_resulted} fish read; a kind making up {missed} of the bass could be missed."
    if brood_warning(survey):
        whose = "The young" if survey.broods is not None and survey.broods.of == "young" else "They"
        sentences += f" {whose} are of few parents, so the ranges here are too narrow."
    elif not_allowed_for(survey):
        sentences += " Fish caught together are alike, so the ranges here are too narrow."
    elif survey.sites is not None and survey.sites.young_site is not None:
        n, of = survey.sites.n_young_there, survey.sites.n_young
        sentences += f" {n} of the {of} young were caught at one place and may be one brood."
    doubted = sum(fish.doubtful for fish in survey.fish)
    if doubted:
        sentences += f" {doubted} {'is' if doubted == 1 else 'are'} in doubt."
    progress = lake.progress
    if progress.state is State.PARTLY:
        out = progress.n_waiting - progress.n_held
        sentences += f" {out} more {'is' if out == 1 else 'are'} still to come." if out else ""
        held = f"{progress.n_held} {'value is' if progress.n_held == 1 else 'values are'}"
        sentences += f" {held} held until somebody decides." if progress.n_held else ""
    return sentences


def _next(lake: LakeFacts) -> str:
    """Return what to do next; swabs that were left in store go first, for they cost no fish."""
    n = lake.progress.n_unpacked
    if not n or lake.progress.state is State.NOT_SENT:
        return _next_step(lake)
    return (
        f"Send the {'swab of 1 fish' if n == 1 else f'swabs of {n} fish'} not packed yet. {_next_step(lake)}"
    )


def _next_step(lake: LakeFacts) -> str:
    progress, n_open = lake.progress, lake.n_open_findings
    if progress.state is State.AT_THE_LAB:
        return "Wait for the lab; the samples are with it."
    if progress.state is State.NOT_SENT:
        return "Send the samples to the lab."
    if progress.state is State.PARTLY and (lake.main is None or len(lake.main.fish) < LEAST_TO_READ):
        return "Decide what is held." if progress.n_held else "Wait for the rest from the lab."
    first = f"Decide {n_of(n_open, 'open question')}. " if n_open else ""
    plan = lake.next_plan
    if plan is None or not plan.n_fish:
        return f"{first}Plan the next survey."
    cost = fees(lake, plan.n_fish)
    aim = f" to be within {plan.half_width * 100:.0f} points" if plan.half_width else ""
    again = {State.ALL_FAILED: "Swab again: ", State.NEVER_SWABBED: "Swab for the first time: "}
    start = again.get(progress.state, "Swab ") if not lake.main or not lake.main.fish else "Swab "
    sentences = f"{first}{start}{plan.n_fish} bass next spring{cost}{aim}."
    if plan.n_likely is not None and plan.n_likely < plan.n_fish and lake.main and lake.main.fish:
        sentences += f" One outing may bring {plan.n_likely}."
    return sentences
