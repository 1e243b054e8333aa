"""The loci part of the lake report: what they say together, and which one is a matter for the lab."""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import p_value, percent, three
from geneticlog.faces.report.blocks import Block, listed, table, text
from geneticlog.faces.report.numbers import READ
from geneticlog.rules.genetics.loci import LEAST_FISH, LEAST_LOCI, LociSign, Locus
from geneticlog.work.report.facts import LakeFacts, SurveyFacts

MOST_LINES = 12  # loci in the report's table; all of them stand in the table loci


def loci_blocks(lake: LakeFacts, survey: SurveyFacts) -> list[Block]:
    """Return what the loci say; without genotypes one short sentence."""
    told = survey.markers
    if told is None:
        return [text("The lab gave no genotypes of single loci for this survey.")]
    blocks = [listed(loci_sentences(told))]
    shown = sorted(
        (one for one in told.loci if one.p is not None),
        key=lambda one: (not one.out_of_step, one.p, one.marker),
    )[:MOST_LINES]
    if not shown:
        return blocks
    columns = [("locus", False), ("fish called", True), ("call rate", True), (f"{lake.taxon} alleles", True),
               ("H", True), ("expected", True), ("Fis", True), ("p", True), ("p, Holm", True),
               ("with the others", True), ("Holm", True), ("standing", False)]  # fmt: skip
    rows = [
        [one.marker, str(one.n_called), percent(one.call_rate), three(one.frequency), three(one.heterozygosity),
         three(one.expected), three(one.fis), p_value(one.p), p_value(one.p_holm), p_value(one.p_step),
         p_value(one.p_step_holm), _standing(one)]
        for one in shown
    ]  # fmt: skip
    rest = told.n_loci - len(shown)
    note = (
        "H: share of heterozygous fish, beside what Hardy-Weinberg expects; Fis: 1 - H / expected. p: exact "
        f"Hardy-Weinberg test; with the others: exact test that the locus fits the deficit of all the others; Holm: "
        f"after Holm for the {told.n_tested} loci, the second against how far the other loci scatter."
    )
    if rest:
        note += (
            f" {rest} more loci, less far off or with one allele only, are in the table loci of XLSX and CSV."
        )
    blocks.append(table("loci", "Loci furthest from Hardy-Weinberg proportions", columns, rows, note))
    return blocks


def loci_sentences(told: LociSign) -> list[str]:
    """Return what the loci of a survey say together, in plain sentences."""
    fewest, most = min(one.n_called for one in told.loci), max(one.n_called for one in told.loci)
    fish = f"{most} fish" if fewest == most else f"{fewest} to {most} fish"
    said = [f"{told.n_loci} loci with genotypes of {fish} each; at {told.n_tested} both alleles are seen."]
    if not told.n_tested:
        return [*said, "With one allele alone at every locus there is nothing to test."]
    way = []
    if told.n_too_few:
        way.append(f"{told.n_too_few} with too few heterozygous fish")
    if told.n_too_many:
        way.append(f"{told.n_too_many} with too many")
    depart = f"{told.n_departing} of {told.n_tested} loci depart from Hardy-Weinberg proportions after Holm"
    said.append(f"{depart}{': ' if way else ''}{' and '.join(way)}.")
    said.append(
        f"At {told.n_below} of the tested loci heterozygous fish are fewer than expected, at {told.n_above} more; how "
        "much over all of them, with its interval, is the heterozygote deficit F among the numbers of the lake."
    )
    if told.nearly_all:
        said.append(
            "Departure at nearly all loci describes the lake, not the lab: "
            + (
                "fish of different ancestry live side by side and have not interbred freely yet."
                if told.n_too_few >= told.n_too_many
                else "many fish are first-generation crosses or near to them."
            )
        )
    elif told.n_departing > len(told.out_of_step) and max(told.n_below, told.n_above) >= 0.8 * told.n_tested:
        said.append(
            "They go the way that nearly all loci go, so they describe the lake: "
            + (
                "fish of different ancestry that have not interbred freely yet would look so."
                if told.n_below > told.n_above
                else "many first-generation crosses would look so."
            )
        )
    if told.for_the_lab:
        said.append(
            f"Out of step with the other loci, and by itself: {told.for_the_lab}. That is a matter for the lab (a "
            "silent allele, or clusters misread); ask the lab to look at the calls. Of lakes without a misread "
            "locus at most one in twenty shows such a locus, whatever their broods."
        )
    others = [marker for marker in told.out_of_step if marker != told.for_the_lab]
    if others:
        said.append(
            f"Further from the other loci than these scatter: {', '.join(others)}. Lake or lab: a silent allele or "
            "misread clusters would look so, and so would fish of a few broods."
        )
    elif not told.out_of_step and told.n_tested >= LEAST_LOCI:
        said.append("No single locus is out of step with the others.")
    if told.guard:
        said.append(f"Reliability: {told.guard}; a departure may stay unseen.")
    return said


def _standing(one: Locus) -> str:
    if one.by_itself:
        return "out of step: ask the lab"
    if one.out_of_step:
        return "out of step: lake or lab"
    if one.departs:
        return "departs"
    return READ if one.n_called >= LEAST_FISH else f"under {LEAST_FISH} fish"
