"""The change of a lake per year, in sentences."""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import points, points_range, two
from geneticlog.work.report.facts import LakeFacts


def years_sentence(lake: LakeFacts) -> str:
    """Return the change per year over three surveys and more in one sentence, "" where there is no line."""
    years = lake.through_years
    if years is None or years.change is None or years.since is None:
        return ""
    change = years.change
    over = f"Over {change.n_surveys} surveys since {years.since.year}"
    interval = f"95 % interval {points_range(change.low, change.high)} a year"
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
    sentences = [
        years_sentence(lake),
        "A random-effects line through the catch-weighted means of "
        f"{', '.join(years.surveys)}: besides their own errors surveys differ by {two(100 * change.between_sd)} points "
        f"(standard deviation); interval by Hartung and Knapp with {change.df} degrees of freedom, so that few surveys "
        "make it wide.",
    ]
    sentences += [
        f"At the {name} the line rises by {points(rise)} (95 % interval {points_range(low, high)})."
        for name, rise, low, high, _ in change.steps
    ]
    return sentences
