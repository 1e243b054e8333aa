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
    markers = survey.markers
    if markers is None:
        return [text("The lab gave no genotypes of single loci for this survey.")]
    blocks = [listed(loci_sentences(markers))]
    shown = sorted(
        (one for one in markers.loci if one.p is not None),
        key=lambda one: (not one.out_of_step, one.p, one.marker),
    )[:MOST_LINES]
    if not shown:
        return blocks
    columns = [("locus", False), ("fish called", True), ("call rate", True), (f"{lake.taxon} alleles", True),
               ("H", True), ("expected", True), ("Fis", True), ("p", True), ("p, Holm", True),
               ("with the others", True), ("Holm", True), ("standing", False)]  # fmt: skip
    rows = [
        [locus.marker, str(locus.n_called), percent(locus.call_rate), three(locus.frequency),
         three(locus.heterozygosity), three(locus.expected), three(locus.fis),
         p_value(locus.p), p_value(locus.p_holm), p_value(locus.p_step), p_value(locus.p_step_holm), _standing(locus)]
        for locus in shown
    ]  # fmt: skip
    rest = markers.n_loci - len(shown)
    note = (
        "H: share of heterozygous fish, beside what Hardy-Weinberg expects; Fis: 1 - H / expected. p: exact "
        f"Hardy-Weinberg test; with the others: exact test that the locus fits the deficit of all the others; Holm: "
        f"after Holm for the {markers.n_tested} loci, the second against how far the other loci scatter."
    )
    if rest:
        note += (
            f" {rest} more loci, less far off or with one allele only, are in the table loci of XLSX and CSV."
        )
    blocks.append(table("loci", "Loci furthest from Hardy-Weinberg proportions", columns, rows, note))
    return blocks


def loci_sentences(markers: LociSign) -> list[str]:
    """Return what the loci of a survey say together, in plain sentences."""
    fewest, most = min(one.n_called for one in markers.loci), max(one.n_called for one in markers.loci)
    fish = f"{most} fish" if fewest == most else f"{fewest} to {most} fish"
    sentences = [
        f"{markers.n_loci} loci with genotypes of {fish} each; at {markers.n_tested} both alleles are seen."
    ]
    if not markers.n_tested:
        return [*sentences, "With one allele alone at every locus there is nothing to test."]
    way = []
    if markers.n_too_few:
        way.append(f"{markers.n_too_few} with too few heterozygous fish")
    if markers.n_too_many:
        way.append(f"{markers.n_too_many} with too many")
    depart = (
        f"{markers.n_departing} of {markers.n_tested} loci depart from Hardy-Weinberg proportions after Holm"
    )
    sentences.append(f"{depart}{': ' if way else ''}{' and '.join(way)}.")
    sentences.append(
        f"Of {markers.n_tested} tested loci, {markers.n_below} have fewer heterozygous fish than expected and"
        f" {markers.n_above} have more. The deficit over all of them, F, is among the numbers of the lake."
    )
    if markers.nearly_all:
        sentences.append(
            "Departure at nearly all loci describes the lake, not the lab: "
            + (
                "fish of different ancestry live side by side and have not interbred freely yet."
                if markers.n_too_few >= markers.n_too_many
                else "many fish are first-generation crosses or near to them."
            )
        )
    elif (
        markers.n_departing > len(markers.out_of_step)
        and max(markers.n_below, markers.n_above) >= 0.8 * markers.n_tested
    ):
        sentences.append(
            "They go the way that nearly all loci go, so they describe the lake: "
            + (
                "fish of different ancestry that have not interbred freely yet would look so."
                if markers.n_below > markers.n_above
                else "many first-generation crosses would look so."
            )
        )
    if markers.for_the_lab:
        sentences.append(
            f"Out of step with the other loci, and by itself: {markers.for_the_lab}. That is a matter for the lab (a "
            "silent allele, or clusters misread); ask the lab to look at the calls. Of lakes without a misread "
            "locus at most one in twenty shows such a locus, whatever their broods."
        )
    others = [marker for marker in markers.out_of_step if marker != markers.for_the_lab]
    if others:
        sentences.append(
            f"Further from the other loci than these scatter: {', '.join(others)}. Lake or lab: a silent allele or "
            "misread clusters would look so, and so would fish of a few broods."
        )
    elif not markers.out_of_step and markers.n_tested >= LEAST_LOCI:
        sentences.append("No single locus is out of step with the others.")
    if markers.guard:
        sentences.append(f"Reliability: {markers.guard}; a departure may stay unseen.")
    return sentences


def _standing(locus: Locus) -> str:
    if locus.by_itself:
        return "out of step: ask the lab"
    if locus.out_of_step:
        return "out of step: lake or lab"
    if locus.departs:
        return "departs"
    return READ if locus.n_called >= LEAST_FISH else f"under {LEAST_FISH} fish"
