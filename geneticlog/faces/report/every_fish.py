"""The section of the lake report on every fish of its survey, one line a fish."""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import NONE, percent, three
from geneticlog.faces.report.blocks import Block, listed, table, text
from geneticlog.faces.report.fish_words import length_in, notes
from geneticlog.work.report.facts import FishResult, LakeFacts, SurveyFacts

MOST_FISH = 400  # a longer table helps nobody on paper; the workbook holds every fish


def every_fish_blocks(lake: LakeFacts, survey: SurveyFacts) -> list[Block]:
    """Return the table of the survey's fish and the sentences that say how far its numbers carry."""
    if not survey.fish:
        return [text("No fish has a result yet.")]
    name = lake.lake.lower()
    where = (
        f"The six log-likelihoods of each fish, and the fish of all surveys, are unrounded in {name}_fish.csv and in "
        f"the sheet fish of {name}.xlsx."
    )
    remarks = listed(notes(survey.fish, lake.rule_set, lake.taxon, lake.other_taxon))
    if len(survey.fish) > MOST_FISH:
        return [
            text(f"{len(survey.fish)} fish have a result, too many to print one by one. {where}"),
            remarks,
        ]
    called = [("called", True)] if any(fish.call_rate is not None for fish in survey.fish) else []
    columns = [("fish", False), ("vial", False), (f"TL {survey.unit}", True), ("size class", False), ("q", True),
               ("interval of q", True), ("H", True), ("loci", True), *called, ("class", False), ("margin", True),
               ("AIC", True), ("generation", False)]  # fmt: skip
    rows = [_line(fish, survey.unit, with_called=bool(called)) for fish in survey.fish]
    note = (
        "Margin: log units by which the likeliest of the six classes beats the next. AIC: that class against free q "
        f"and H, negative in its favour; a class counts as one parameter, free q and H as two. {where}"
    )
    return [table("every-fish", f"Fish of survey {survey.survey}", columns, rows, note), remarks]


def _line(fish: FishResult, unit: str, *, with_called: bool) -> list[str]:
    generation = fish.generation
    interval = (
        NONE
        if generation.low is None or generation.high is None
        else f"{generation.low:.3f} to {generation.high:.3f}"
    )
    return [
        str(fish.number),
        fish.vial,
        length_in(fish, unit),
        fish.size_class or NONE,
        three(fish.q),
        interval,
        three(fish.heterozygosity),
        NONE if fish.n_loci is None else str(fish.n_loci),
        *([percent(fish.call_rate)] if with_called else []),
        fish.ancestry_class,
        NONE if generation.margin is None else f"{generation.margin:.1f}",
        NONE if generation.aic_difference is None else f"{generation.aic_difference:+.1f}".replace("-", "−"),
        generation.told,
    ]
