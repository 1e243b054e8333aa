"""The data for others: surveys, fish, vials and measurements as rows under Darwin Core terms, and a tidy table of fish.

Owners, positions, people and telling names are left out unless they are asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import and_, select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet
from geneticlog.rules.label.vial_states import VialStanding
from geneticlog.rules.shipment.custody import Arrival, Custody, ShipmentStanding, custody_of
from geneticlog.rules.species import SPECIES
from geneticlog.store.tables import (
    Fish,
    Lake,
    Panel,
    Result,
    Shipment,
    ShipmentPosition,
    Stocking,
    Survey,
    Vial,
)
from geneticlog.work.catalogue.office import find_office
from geneticlog.work.events import find_lake
from geneticlog.work.finding.finding_vials import doubtful_vials
from geneticlog.work.open_data.plain_tables import KnownOfFish, fish_table, outcomes_table, stockings_table
from geneticlog.work.open_data.tables import DWC, Field, Namespace, OpenTable, Told, dwc, pair_of
from geneticlog.work.result.called_loci import called_loci, given_loci
from geneticlog.work.result.genotype_decisions import settled_genotypes
from geneticlog.work.result.in_the_numbers import LakePairs, counted, in_the_numbers, pairs_of_lakes

NOTHING_TOLD = Told()
IN_DOUBT = "the result of this fish is in doubt until a finding is decided"
# Only the genus: the Latin names of Florida and northern bass changed places in 2022, and hybrids have none.
GENUS = {
    "bluegill": "Lepomis",
    "black_crappie": "Pomoxis",
    "white_crappie": "Pomoxis",
}


def gather_open_data(
    session: Session,
    lakes: Sequence[str] = (),
    *,
    shown: Told = NOTHING_TOLD,
    rule_set: RuleSet = DEFAULT_RULE_SET,
    office: str | None = None,
) -> tuple[OpenTable, ...]:
    """Return the tables event, occurrence, materialsample, measurementorfact, outcome, stocking and fish.

    lakes
        codes of the lakes wanted; none means all. Raises NotFound for a code that is not there.
    shown
        owners, positions and names are left out unless they are named here.
    rule_set
        the one that names the fish; its name and date stand in every row it named.
    office
        whose data they are: every identity is made in the namespace of its UUID. Raises NotFound where none is entered,
        or there are several and none is named.
    """
    ids = Namespace(find_office(session, office).uid)
    wanted = [find_lake(session, code).id for code in lakes]
    chosen = Lake.id.in_(wanted) if wanted else Lake.id.is_not(None)
    surveys = [
        (survey, lake)
        for survey, lake in session.execute(
            select(Survey, Lake).join(Lake, Lake.id == Survey.lake_id).where(chosen).order_by(Survey.code)
        )
    ]
    pairs = pairs_of_lakes(session, Survey.lake_id.in_(wanted) if wanted else Survey.id.is_not(None))
    fish = list(
        session.execute(
            select(Fish, Survey, Result, Vial, Panel, in_the_numbers(pairs))
            .join(Survey, Survey.id == Fish.survey_id)
            .join(Lake, Lake.id == Survey.lake_id)
            .outerjoin(Result, and_(Result.fish_id == Fish.id, counted()))
            .outerjoin(Vial, Vial.id == Result.vial_id)
            .outerjoin(Panel, Panel.id == Result.panel_id)
            .where(chosen)
            .order_by(Survey.code, Fish.number)
        )
    )
    ours = Fish.survey_id.in_(select(Survey.id).join(Lake, Lake.id == Survey.lake_id).where(chosen))
    called, given = called_loci(session, ours), given_loci(session, ours)
    vials = session.execute(
        select(Vial, Fish, Survey, Shipment.standing, ShipmentPosition.arrival)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .outerjoin(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .outerjoin(Shipment, Shipment.id == ShipmentPosition.shipment_id)
        .where(ours)
        .order_by(Survey.code, Fish.number, Vial.id, ShipmentPosition.id)
    )
    latest = {vial.id: (vial, *more) for vial, *more in vials}  # a vial sent twice is where it went last
    results = session.execute(
        select(Result, Vial, Fish)
        .join(Vial, Vial.id == Result.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(ours)
        .order_by(Survey.code, Fish.number, Result.id)
    )
    stockings = session.execute(
        select(Stocking, Lake)
        .join(Lake, Lake.id == Stocking.lake_id)
        .where(chosen)
        .order_by(Lake.code, Stocking.stocked_on, Stocking.id)
    )
    doubtful = {key for survey, _ in surveys for key in doubtful_vials(session, survey.id)}
    lakes_of = {survey.id: lake for survey, lake in surveys}
    known = KnownOfFish(lakes_of, pairs, rule_set, called, given, settled_genotypes(session, ours))
    return (
        _events(surveys, shown, ids),
        _occurrences(fish, doubtful, ids),
        _samples(list(latest.values()), ids),
        _measurements(fish, pairs, ids),
        outcomes_table([tuple(row) for row in results], doubtful, ids),
        stockings_table([tuple(row) for row in stockings], shown, ids),
        fish_table(fish, known, doubtful, shown, ids),
    )


def _events(surveys: Sequence[tuple[Survey, Lake]], shown: Told, ids: Namespace) -> OpenTable:
    fields = [
        dwc("eventID", required=True), dwc("institutionID", required=True), dwc("eventDate", "date", required=True),
        dwc("locationID", required=True),
        dwc("county"), dwc("stateProvince"), dwc("countryCode"), dwc("samplingProtocol"), dwc("samplingEffort"),
        dwc("informationWithheld"),
    ]  # fmt: skip
    if shown.names:
        fields += [dwc("waterBody"), dwc("fieldNumber")]
    if shown.people:
        fields.append(dwc("recordedBy"))
    if shown.position:
        fields += [
            Field("decimalLatitude", "number", DWC + "decimalLatitude", least=-90, most=90),
            Field("decimalLongitude", "number", DWC + "decimalLongitude", least=-180, most=180),
            dwc("geodeticDatum"), dwc("coordinateUncertaintyInMeters", "number", least=0),
        ]  # fmt: skip
    if shown.owner:
        fields.append(Field("lakeOwner"))
    rows = []
    for survey, lake in surveys:
        effort = None if survey.effort_minutes is None else f"{survey.effort_minutes:g} minutes"
        row = [ids.urn(survey.uid), ids.name, survey.surveyed_on, ids.urn(lake.uid), lake.county, lake.state_province,
               lake.country_code, survey.gear, effort, shown.withheld or None]  # fmt: skip
        if shown.names:
            row += [lake.name, survey.code]
        if shown.people:
            row.append(survey.crew)
        if shown.position:
            row += [lake.latitude, lake.longitude, "EPSG:4326" if lake.latitude is not None else None,
                    lake.position_uncertainty_m]  # fmt: skip
        rows.append([*row, lake.owner] if shown.owner else row)
    return OpenTable("event", "Surveys", tuple(fields), rows, "eventID", row_term=DWC + "Event")


def _occurrences(fish: Sequence[Any], doubtful: set[int], ids: Namespace) -> OpenTable:
    fields = (
        dwc("occurrenceID", required=True), dwc("eventID", required=True), dwc("organismID"),
        dwc("individualCount", "integer", required=True, least=1), dwc("basisOfRecord"), dwc("scientificName"),
        dwc("taxonRank"), dwc("vernacularName"), dwc("occurrenceRemarks"),
    )  # fmt: skip
    rows = []
    for each, survey, _, vial, *_ in fish:
        name = ids.urn(each.uid)
        doubt = IN_DOUBT if vial is not None and vial.id in doubtful else None
        printed = SPECIES[each.species].printed if each.species in SPECIES else each.species
        rows.append([name, ids.urn(survey.uid), name if each.n_fish == 1 else None, each.n_fish, "HumanObservation",
                     GENUS.get(each.species, "Micropterus"), "genus", printed, doubt])  # fmt: skip
    return OpenTable(
        "occurrence", "Fish caught; a row of several is a tally", fields, rows, "occurrenceID",
        (("eventID", "event", "eventID"),), DWC + "Occurrence",
    )  # fmt: skip


def _samples(vials: Sequence[Any], ids: Namespace) -> OpenTable:
    fields = (
        dwc("materialSampleID", required=True), dwc("eventID", required=True), dwc("occurrenceID", required=True),
        dwc("organismID", required=True), dwc("basisOfRecord"), dwc("recordNumber"), dwc("preparations"),
        dwc("disposition"),
    )  # fmt: skip
    rows = []
    for vial, fish, survey, shipment, arrival in vials:
        name = ids.urn(fish.uid)
        tissue = (vial.tissue or "tissue").replace("_", " ")
        preparation = f"{tissue} ({vial.medium})" if vial.medium else tissue
        rows.append([ids.urn(fish.uid, vial.code), ids.urn(survey.uid), name, name, "MaterialSample", vial.code,
                     preparation, _disposition(vial.standing, shipment, arrival)])  # fmt: skip
    return OpenTable(
        "materialsample", "Vials filled from a fish", fields, rows, "materialSampleID",
        (("eventID", "event", "eventID"), ("occurrenceID", "occurrence", "occurrenceID")), DWC + "MaterialSample",
    )  # fmt: skip


def _disposition(standing: VialStanding, shipment: ShipmentStanding | None, arrival: Arrival | None) -> str:
    """Return where a vial is, in the words that the standard gives as examples of dwc:disposition."""
    custody = custody_of(standing, shipment=shipment, arrival=arrival)
    if custody in (Custody.LOST, Custody.MISSING):
        return "missing"
    if custody is Custody.BROKEN or arrival == Arrival.BROKEN:
        return "destroyed"
    return "in collection" if custody in (Custody.STORED, Custody.PACKED) else "on loan"


def _measurements(fish: Sequence[Any], pairs: LakePairs, ids: Namespace) -> OpenTable:
    fields = (
        dwc("measurementID", required=True), dwc("occurrenceID", required=True), dwc("materialSampleID"),
        dwc("measurementType", required=True), dwc("measurementValue", "number", required=True),
        dwc("measurementUnit", required=True), dwc("measurementMethod"), dwc("measurementRemarks"),
    )  # fmt: skip
    rows: list[list[Any]] = []
    for each, survey, result, vial, panel, _ in fish:
        of_fish: list[tuple[str, float | None, str, str | None, str | None, str | None]] = [
            (
                "total length",
                each.length_mm,
                "mm",
                None,
                None,
                f"measured as {each.length} {each.length_unit}",
            ),
            ("weight", each.weight_g, "g", None, None, f"measured as {each.weight} {each.weight_unit}"),
        ]
        if result is not None:
            taxon = pair_of(survey, panel, pairs).taxon
            used = f"panel {panel.code}" if panel is not None else None
            code = ids.urn(each.uid, vial.code) if vial is not None else None
            of_fish += [
                (f"{taxon}-allele proportion", result.q, "1", used, code, None),
                ("heterozygosity between the two taxa", result.heterozygosity, "1", used, code, None),
                ("loci scored", result.n_loci, "count", used, code, None),
            ]
        rows += [
            [ids.urn(each.uid, kind), ids.urn(each.uid), code, kind, value, unit, method, remark]
            for kind, value, unit, method, code, remark in of_fish
            if value is not None
        ]
    return OpenTable(
        "measurementorfact", "Measurements of fish and of their vials", fields, rows, "measurementID",
        (("occurrenceID", "occurrence", "occurrenceID"), ("materialSampleID", "materialsample", "materialSampleID")),
        DWC + "MeasurementOrFact",
    )  # fmt: skip
