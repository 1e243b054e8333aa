"""What each column of the open data means: the standard's own definition where it has one, ours with its unit else."""

from __future__ import annotations

from geneticlog.work.open_data.terms import DEFINITIONS, USED

OURS = {
    "lakeOwner": "Owner of the lake, as entered.",
    "fish": "The fish, or a tally of several, by its own UUID.",
    "lake": "The lake, by its own UUID.",
    "survey": "The survey, by its own UUID.",
    "survey_code": "Survey as the office names it.",
    "fish_code": "Fish as the office names it: survey and number.",
    "surveyed_on": "Date of the survey.",
    "number": "Number of the fish within its survey.",
    "n_fish": "Number of fish in the row; more than 1 is a tally.",
    "species": "Species as the crew entered it.",
    "total_length": "Total length as measured, in length_unit.",
    "length_unit": "Unit of total_length: in, mm or cm.",
    "total_length_mm": "Total length in millimetres.",
    "weight": "Weight as measured, in weight_unit.",
    "weight_unit": "Unit of weight: lb, g, kg or oz.",
    "weight_g": "Weight in grams.",
    "size_class": "Size class, judged in the unit measured.",
    "relative_weight": "Weight as a percentage of the standard weight at that length.",
    "vial": "Code on the vial whose result counts for the fish.",
    "panel": "Panel of loci the result comes from.",
    "taxon": "Taxon whose alleles q counts.",
    "q": "Share of the fish's alleles that are the taxon's, from 0 to 1.",
    "heterozygosity": "Share of loci with one allele of each taxon, from 0 to 1.",
    "n_loci": "Number of loci scored in this fish.",
    "call_rate": "Loci called as a share of the panel's, from 0 to 1.",
    "call_rate_from": "Where the call rate comes from.",
    "ancestry_class": "Ancestry class by the rule set named beside it.",
    "rule_set": "Name and date of the rule set.",
    "q_low": "Lower limit of the support interval of q for this one fish, from 0 to 1.",
    "q_high": "Upper limit of the support interval of q for this one fish, from 0 to 1.",
    "generation": "Generation that the loci support, or why none is named.",
    "likeliest": "Likeliest of the six classes.",
    "margin": "Log units by which it beats the next.",
    "aic_difference": "Difference in AIC between that class and free q and H; negative is in favour of the class.",
    "counted_from": "What q and H were counted from.",
    "doubtful": "True while a finding about the vial waits for a decision.",
    "in_the_numbers": "True where the result is in the means of its survey.",
    "outcomeID": "The result, by a UUID of its own.",
    "role": "What the vial was filled for: sample, or blind_duplicate (a second vial of a fish, unknown to the lab).",
    "outcome": "typed or failed.",
    "standing": "current, held (until a person decides), rejected (by a person) or superseded (by a later return).",
    "counts": "True for the one result that counts for its fish.",
    "failure": "The laboratory's own word for a failure.",
    "stockingID": "The stocking, by a UUID of its own.",
    "stocked_on": "Date of the stocking.",
    "stocked_taxon": "What was stocked, as entered.",
    "n_stocked": "Number of fish stocked.",
    "stocked_size": "Size of the fish stocked, as entered.",
    "stocked_source": "Where the fish came from, as entered.",
}


def description_of(name: str) -> str:
    """Return what a column means. Raises KeyError for a column that nobody described."""
    if name in DEFINITIONS:
        return f"{DEFINITIONS[name]} {USED.get(name, '')}".strip()
    return OURS[name]
