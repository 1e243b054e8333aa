"""Columns of the export against the standard's own list of terms.

Source: Darwin Core maintenance group, list of term versions, github.com/tdwg/dwc, vocabulary/term_versions.csv (commit
0022e24a), the version with the status recommended. Names and definitions as printed there.
"""

from __future__ import annotations

import pytest

from geneticlog.work.open_terms import description_of

PRINTED = {
    "eventID": "An identifier for the set of information associated with a dwc:Event (something that occurs at a place "
    "and time).",
    "samplingProtocol": "The names of, references to, or descriptions of the methods or protocols used during a "
    "dwc:Event.",
    "samplingEffort": "The amount of effort expended during a dwc:Event.",
    "individualCount": "The number of individuals present at the time of the dwc:Occurrence.",
    "preparations": "A list (concatenated and separated) of preparations and preservation methods for a specimen.",
    "disposition": "The current state of a specimen with respect to the collection identified in dwc:collectionCode or "
    "dwc:collectionID.",
    "informationWithheld": "Additional information that exists, but that has not been shared in the given record.",
    "occurrenceRemarks": "Comments or notes about the dwc:Occurrence.",
    "waterBody": "The name of the water body in which the dcterms:Location occurs.",
    "countryCode": "The standard code for the country in which the dcterms:Location occurs.",
    "fieldNumber": "An identifier given to the dwc:Event in the field.",
    "recordNumber": "An identifier given to the dwc:Occurrence at the time it was recorded.",
    "basisOfRecord": "The specific nature of the data record.",
    "locationID": "An identifier for the set of dcterms:Location information.",
}  # fmt: skip


@pytest.mark.parametrize("name", PRINTED)
def test_a_column_is_described_as_the_standard_defines_it(name: str) -> None:
    assert description_of(name).startswith(PRINTED[name])
