"""What each column of the open data means: the standard's own definition where it has one, ours with its unit else.

Definitions of Darwin Core terms: Darwin Core maintenance group, list of term versions (github.com/tdwg/dwc,
vocabulary/term_versions.csv, commit 0022e24a), the version of each with the status recommended; those of measurements
from memory.
"""

from __future__ import annotations

DEFINITIONS = {
    "eventID": "An identifier for the set of information associated with a dwc:Event (something that occurs at a place "
    "and time).",
    "eventDate": "The date-time or interval during which a dwc:Event occurred.",
    "fieldNumber": "An identifier given to the dwc:Event in the field.",
    "locationID": "An identifier for the set of dcterms:Location information.",
    "waterBody": "The name of the water body in which the dcterms:Location occurs.",
    "county": "The full, unabbreviated name of the next smaller administrative region than stateProvince (county, "
    "shire, department, etc.) in which the dcterms:Location occurs.",
    "stateProvince": "The name of the next smaller administrative region than country (state, province, canton, "
    "department, region, etc.) in which the dcterms:Location occurs.",
    "countryCode": "The standard code for the country in which the dcterms:Location occurs.",
    "samplingProtocol": "The names of, references to, or descriptions of the methods or protocols used during a "
    "dwc:Event.",
    "samplingEffort": "The amount of effort expended during a dwc:Event.",
    "recordedBy": "A list (concatenated and separated) of names of people, groups, or organizations responsible for "
    "recording the original dwc:Occurrence.",
    "informationWithheld": "Additional information that exists, but that has not been shared in the given record.",
    "occurrenceID": "An identifier for the dwc:Occurrence (as opposed to a particular digital record of the "
    "dwc:Occurrence).",
    "organismID": "An identifier for the dwc:Organism instance (as opposed to a particular digital record of the "
    "dwc:Organism).",
    "individualCount": "The number of individuals present at the time of the dwc:Occurrence.",
    "basisOfRecord": "The specific nature of the data record.",
    "occurrenceRemarks": "Comments or notes about the dwc:Occurrence.",
    "materialSampleID": "An identifier for the dwc:MaterialSample (as opposed to a particular digital record of the "
    "dwc:MaterialSample).",
    "recordNumber": "An identifier given to the dwc:Occurrence at the time it was recorded.",
    "preparations": "A list (concatenated and separated) of preparations and preservation methods for a specimen.",
    "disposition": "The current state of a specimen with respect to the collection identified in dwc:collectionCode or "
    "dwc:collectionID.",
}
USED = {  # how a term is used here: added to its definition
    "eventID": "Here one survey, by its own UUID.",
    "locationID": "Here one lake, by its own UUID.",
    "occurrenceID": "Here a fish, or a tally of several, by its own UUID.",
    "organismID": "Here a single fish; empty for a tally.",
    "individualCount": "Fish; more than 1 in a tally.",
    "samplingEffort": "Minutes of sampling.",
    "recordNumber": "Here the code on the vial.",
    "disposition": "Here in collection, on loan (with the laboratory), missing or destroyed.",
    "occurrenceRemarks": "Here whether the fish's result is in doubt.",
}
OURS = {
    "decimalLatitude": "Geographic latitude of the lake, in decimal degrees of EPSG:4326.",
    "decimalLongitude": "Geographic longitude of the lake, in decimal degrees of EPSG:4326.",
    "geodeticDatum": "Reference system of the coordinates.",
    "coordinateUncertaintyInMeters": "Distance from the coordinates within which the lake lies, in metres.",
    "lakeOwner": "Owner of the lake, as entered.",
    "scientificName": "Genus alone: the Latin names of the two kinds of bass changed places in 2022, and hybrids have "
    "none.",
    "taxonRank": "Rank of the scientific name.",
    "vernacularName": "Common name of the species as the crew told it.",
    "measurementID": "Identifier of one measurement, a UUID.",
    "measurementType": "What was measured.",
    "measurementValue": "Value of the measurement, in the unit beside it, unrounded.",
    "measurementUnit": "Unit of the value: mm, g, 1 (a proportion from 0 to 1) or count.",
    "measurementMethod": "Panel of loci behind a genetic value; empty where no method was entered.",
    "measurementRemarks": "Value and unit as they were measured.",
    "fish": "The fish, or a tally of several, by its own UUID.",
    "lake": "The lake, by its own UUID.",
    "survey": "The survey, by its own UUID.",
    "survey_code": "Survey as the office names it.",
    "fish_code": "Fish as the office names it: survey and number.",
    "surveyed_on": "Date of the survey.",
    "number": "Number of the fish within its survey.",
    "n_fish": "Number of fish the row stands for; more than 1 is a tally.",
    "species": "Species as the crew told it.",
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
    "outcomeID": "Identifier of one result, a UUID.",
    "role": "What the vial was filled for: sample, or blind_duplicate (a second vial of a fish, unknown to the lab).",
    "outcome": "typed or failed.",
    "standing": "current, held (until a person decides), rejected (by a person) or superseded (by a later return).",
    "counts": "True for the one result that counts for its fish.",
    "failure": "The laboratory's own word for a failure.",
    "stockingID": "Identifier of one stocking, a UUID.",
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
