"""The change of a lake per year, in sentences, in a table and in the figure: all from the same points and line."""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import points, points_range, three, three_range, two
from geneticlog.faces.figures.history import Dot, Series
from geneticlog.faces.report.blocks import Block, table
from geneticlog.rules.sentences import n_of
from geneticlog.work.report.facts import LakeFacts
from geneticlog.work.report.lake_years import ThroughYears

MOST_SCATTER = 0.5  # no proportions have a greater standard deviation


def years_sentence(lake: LakeFacts) -> str:
    """Return the change per year over three surveys and more in one sentence, "" where there is no line."""
    years = lake.through_years
    if years is None or years.change is None or years.since is None:
        return ""
    change = years.change
    over = f"Over {change.n_surveys} surveys since {years.since.year}"
    interval = f"95 % interval {points_range(change.low, change.high)} a year, at the same sizes of fish"
    care = "; gear or panel differ between them" if years.differs else ""
    if change.low > 0 or change.high < 0:
        way = "rose" if change.slope > 0 else "fell"
        return (
            f"{over} the {lake.taxon} share {way} by {points(abs(change.slope))} a year ({interval}{care})."
        )
    return f"{over}: no clear change per year ({interval}{care})."


def years_sentences(lake: LakeFacts) -> list[str]:
    """Return the line with its steps and what it rests on, for the history."""
    years = lake.through_years
    if years is None:
        return []
    if years.change is None:
        return [f"No line through the years: {years.why}."]
    change = years.change
    most = "over 50" if change.between_high > MOST_SCATTER else two(100 * change.between_high)
    sentences = [
        years_sentence(lake),
        f"A random-effects line through {', '.join(years.surveys)}, all weighted to one length frequency"
        f"{_classes(years)}. Besides their own errors the {change.n_surveys} surveys differ by "
        f"{two(100 * change.between_sd)} points (standard deviation; 95 % interval {two(100 * change.between_low)} to "
        f"{most}). Interval by Hartung and Knapp with {n_of(change.df, 'degree')} of freedom: the fewer surveys, the "
        "wider.",
    ]
    if years.without_steps:
        sentences.append(f"The line has no steps at stockings: {years.without_steps}.")
    sentences += [
        f"At the {name} the line rises by {points(rise)} (95 % interval {points_range(low, high)})."
        for name, rise, low, high, _ in change.steps
    ]
    return sentences


def _classes(years: ThroughYears) -> str:
    """Return of which size classes the length frequency of the line is, and which are left out of it."""
    among = f" over the size classes with results in all of them ({', '.join(years.weights or {})}"
    return f"{among}; left out: {', '.join(years.left_out)})" if years.left_out else f"{among})"


def years_table(lake: LakeFacts) -> list[Block]:
    """Return the surveys of the line as a table; nothing where there is no line."""
    years = lake.through_years
    if years is None or years.change is None:
        return []
    columns = [("survey", False), ("date", False), ("fish", True), ("mean q at the\nsame sizes", True),
               ("95 % interval", True), ("the line", True)]  # fmt: skip
    rows = [
        [one.survey, one.surveyed_on.isoformat(), str(one.n), three(one.mean), three_range(one.low, one.high),
         three(one.line)]
        for one in years.points
    ]  # fmt: skip
    return [table("line", "The line through the years", columns, rows)]


def years_series(lake: LakeFacts) -> list[Series]:
    """Return the surveys of the line with the line, for the figure; nothing where there is no line."""
    years = lake.through_years
    if years is None or years.change is None:
        return []
    dots = tuple(
        Dot(one.surveyed_on, one.survey, one.mean, one.low, one.high, one.n, one.line) for one in years.points
    )
    return [Series("whole lake, same sizes", dots)]
