"""Which size classes differ, in a sentence and a table."""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import p_value, points, points_range, three, three_range
from geneticlog.faces.report.blocks import Block, table, text
from geneticlog.rules.report.comparability import more_than_chance
from geneticlog.rules.sentences import n_of
from geneticlog.work.report.facts import SurveyFacts
from geneticlog.work.report.number_facts import ClassDifference

MOST_SAID = 3
NOTE = (
    "Each difference is the mean of the larger class minus that of the smaller one. Interval and p come from one "
    "statistic (Welch's test with guarded variances): p is below 0.05 exactly where the 95 % interval leaves 0 out."
)
OF_PAIRS = " p, Holm: adjusted for all pairs of this table, so that one of several is not taken for more than chance."


def clear_differences(survey: SurveyFacts) -> list[ClassDifference]:
    """Return the differences of size classes that chance does not explain among all pairs, clearest first."""
    clear = [one for one in survey.class_differences if more_than_chance(one.p_holm)]
    return sorted(clear, key=lambda one: (one.p_holm, one.p, -abs(one.difference or 0.0)))


def class_sentence(survey: SurveyFacts) -> str:
    """Return which size classes differ in one sentence, "" where there are not two classes to compare."""
    told = survey.class_differences
    compared = [one for one in told if one.p is not None]
    if not compared:
        return ""
    clear = clear_differences(survey)
    pairs = "the one pair" if len(compared) == 1 else f"{len(compared)} pairs"
    if not clear:
        tested = "" if len(compared) == 1 else ", after Holm"
        return f"No two size classes differ by more than chance may explain ({pairs} compared{tested})."
    differ = []
    for pair in clear[:MOST_SAID]:
        assert pair.difference is not None
        assert pair.low is not None
        assert pair.high is not None
        more = "more" if pair.difference > 0 else "less"
        after = "" if len(compared) == 1 else f", after Holm {p_value(pair.p_holm)}"
        differ.append(
            f"{pair.larger} has {points(abs(pair.difference))} {more} than {pair.smaller} "
            f"(95 % interval {points_range(pair.low, pair.high)}; p {p_value(pair.p)}{after})"
        )
    more_pairs = len(clear) - len(differ)
    also = f"; and {n_of(more_pairs, 'more pair')}" if more_pairs else ""
    return f"Size classes that differ, of {pairs}: {'; '.join(differ)}{also}."


def class_difference_blocks(survey: SurveyFacts) -> list[Block]:
    """Return the sentence and the table of every two size classes; nothing where there are not two to compare."""
    pairs = survey.class_differences
    if not pairs:
        return []
    several = len(pairs) > 1
    columns = [("larger", False), ("smaller", False), ("difference of q", True), ("95 % interval", True),
               ("fish", True), ("p", True), *[("p, Holm", True)] * several, ("reliability", False)]  # fmt: skip
    rows = [
        [pair.larger, pair.smaller, three(pair.difference), three_range(pair.low, pair.high),
         f"{pair.n_larger} and {pair.n_smaller}", p_value(pair.p), *[p_value(pair.p_holm)] * several,
         pair.guard or "enough fish"]
        for pair in pairs
    ]  # fmt: skip
    return [
        text(class_sentence(survey)),
        table("class_differences", "Size classes compared", columns, rows, NOTE + OF_PAIRS * several),
    ]
