"""What the standard says of each of its terms that the open data use, word for word, and how they are used here.

Names and definitions: Darwin Core maintenance group, list of term versions (github.com/tdwg/dwc,
vocabulary/term_versions.csv, commit fbc2f3c8), of each the version with the status recommended.
"""

from __future__ import annotations

DEFINITIONS = {
    "institutionID": "An identifier for the institution having custody of the object(s) or information referred to in "
    "the record.",
    "basisOfRecord": "The specific nature of the data record.",
    "informationWithheld": "Additional information that exists, but that has not been shared in the given record.",
    "occurrenceID": "An identifier for the dwc:Occurrence (as opposed to a particular digital record of the "
    "dwc:Occurrence). In the absence of a persistent global unique identifier, construct one from a combination of "
    "identifiers in the record that will most closely make the dwc:occurrenceID globally unique.",
    "recordNumber": "An identifier given to the dwc:Occurrence at the time it was recorded. Often serves as a link "
    "between field notes and a dwc:Occurrence record, such as a specimen collector's number.",
    "recordedBy": "A list (concatenated and separated) of names of people, groups, or organizations responsible for "
    "recording the original dwc:Occurrence. The primary collector or observer, especially one who applies a personal "
    "identifier (dwc:recordNumber), should be listed first.",
    "individualCount": "The number of individuals present at the time of the dwc:Occurrence.",
    "occurrenceRemarks": "Comments or notes about the dwc:Occurrence.",
    "organismID": "An identifier for the dwc:Organism instance (as opposed to a particular digital record of the "
    "dwc:Organism). May be a globally unique identifier or an identifier specific to the data set.",
    "preparations": "A list (concatenated and separated) of preparations and preservation methods for a "
    "dwc:MaterialEntity.",
    "disposition": "The current state of a dwc:MaterialEntity with respect to a collection.",
    "materialSampleID": "An identifier for the dwc:MaterialSample (as opposed to a particular digital record of the "
    "dwc:MaterialSample). In the absence of a persistent global unique identifier, construct one from a combination "
    "of identifiers in the record that will most closely make the dwc:materialSampleID globally unique.",
    "eventID": "An identifier for the set of information associated with a dwc:Event (something that occurs at a "
    "place and time). May be a global unique identifier or an identifier specific to the data set.",
    "fieldNumber": "An identifier given to the dwc:Event in the field. Often serves as a link between field notes and "
    "the dwc:Event.",
    "eventDate": "The date-time or interval during which a dwc:Event occurred. For occurrences, this is the date-time "
    "when the dwc:Event was recorded. Not suitable for a time in a geological context.",
    "samplingProtocol": "The names of, references to, or descriptions of the methods or protocols used during a "
    "dwc:Event.",
    "samplingEffort": "The amount of effort expended during a dwc:Event.",
    "locationID": "An identifier for the set of dcterms:Location information. May be a global unique identifier or an "
    "identifier specific to the data set.",
    "waterBody": "The name of the water body in which the dcterms:Location occurs.",
    "countryCode": "The standard code for the country in which the dcterms:Location occurs.",
    "stateProvince": "The name of the next smaller administrative region than country (state, province, canton, "
    "department, region, etc.) in which the dcterms:Location occurs.",
    "county": "The full, unabbreviated name of the next smaller administrative region than stateProvince (county, "
    "shire, department, etc.) in which the dcterms:Location occurs.",
    "decimalLatitude": "The geographic latitude (in decimal degrees, using the spatial reference system given in "
    "dwc:geodeticDatum) of the geographic center of a dcterms:Location. Positive values are north of the Equator, "
    "negative values are south of it. Legal values lie between -90 and 90, inclusive.",
    "decimalLongitude": "The geographic longitude (in decimal degrees, using the spatial reference system given in "
    "dwc:geodeticDatum) of the geographic center of a dcterms:Location. Positive values are east of the Greenwich "
    "Meridian, negative values are west of it. Legal values lie between -180 and 180, inclusive.",
    "geodeticDatum": "The ellipsoid, geodetic datum, or spatial reference system (SRS) upon which the geographic "
    "coordinates given in dwc:decimalLatitude and dwc:decimalLongitude are based.",
    "coordinateUncertaintyInMeters": "The horizontal distance (in meters) from the given dwc:decimalLatitude and "
    "dwc:decimalLongitude describing the smallest circle containing the whole of the dcterms:Location. Leave the "
    "value empty if the uncertainty is unknown, cannot be estimated, or is not applicable (because there are no "
    "coordinates). Zero is not a valid value for this term.",
    "scientificName": "The full scientific name, with authorship and date information if known. When forming part of "
    "a dwc:Identification, this should be the name in lowest level taxonomic rank that can be determined. This term "
    "should not contain identification qualifications, which should instead be supplied in the "
    "dwc:identificationQualifier term.",
    "taxonRank": "The taxonomic rank of the most specific name in the dwc:scientificName.",
    "vernacularName": "A common or vernacular name.",
    "measurementID": "An identifier for the dwc:MeasurementOrFact (information pertaining to measurements, facts, "
    "characteristics, or assertions). May be a global unique identifier or an identifier specific to the data set.",
    "measurementType": "The nature of the measurement, fact, characteristic, or assertion.",
    "measurementValue": "The value of the measurement, fact, characteristic, or assertion.",
    "measurementUnit": "The units associated with the dwc:measurementValue.",
    "measurementMethod": "A description of or reference to (publication, URI) the method or protocol used to "
    "determine the measurement, fact, characteristic, or assertion.",
    "measurementRemarks": "Comments or notes accompanying the dwc:MeasurementOrFact.",
}
USED = {  # added to the definition of the standard
    "institutionID": "Here the office, by its own UUID, in whose namespace all other identifiers are made.",
    "occurrenceID": "Here a fish, or a tally of several.",
    "recordNumber": "Here the code on the vial.",
    "recordedBy": "Here the crew, as entered.",
    "individualCount": "Here fish; more than 1 in a tally.",
    "occurrenceRemarks": "Here whether the fish's result is in doubt.",
    "organismID": "Here a single fish; empty for a tally.",
    "disposition": "Here in collection (in store at the office), on loan (with the laboratory), missing or destroyed.",
    "materialSampleID": "Here one vial.",
    "eventID": "Here one survey.",
    "samplingProtocol": "Here the gear, as entered.",
    "samplingEffort": "Here minutes of sampling.",
    "locationID": "Here one lake.",
    "decimalLatitude": "Here the lake's.",
    "decimalLongitude": "Here the lake's.",
    "scientificName": "Here the genus alone: the Latin names of the two kinds of bass changed places in 2022, and "
    "hybrids have none.",
    "vernacularName": "Here as the crew entered it.",
    "measurementValue": "Here in the unit beside it, unrounded.",
    "measurementUnit": "Here mm, g, 1 (a proportion from 0 to 1) or count.",
    "measurementMethod": "Here the panel of loci behind a genetic value; empty where no method was entered.",
    "measurementRemarks": "Here value and unit as they were measured.",
}
