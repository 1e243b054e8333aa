"""The data for others: surveys, fish, vials and measurements as rows under Darwin Core terms, and a tidy table of fish.

Owner and position are left out unless they are asked for. Names of terms: the Darwin Core list of the standard
(tdwg/dwc, vocabulary/term_versions.csv, commit 4f1cb23b).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import and_, select
from sqlalchemy.orm import Session

from geneticlog.rules.ancestry import ancestry_class
from geneticlog.rules.genetics.generation import generation_of
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet
from geneticlog.rules.genetics.taxa import DEFAULT_PAIR, Pair
from geneticlog.rules.shipment.custody import NOT_IN_HAND
from geneticlog.rules.species import SPECIES
from geneticlog.store.tables import Fish, Lake, Panel, Result, Survey, Vial
from geneticlog.work.events import find_lake, fish_name
from geneticlog.work.result.called_loci import Called, call_rate_of, called_loci, given_loci
from geneticlog.work.result.genotype_decisions import Settled, settled_genotypes
from geneticlog.work.result.in_the_numbers import counted, pairs_of_lakes

DWC = "http://rs.tdwg.org/dwc/terms/"
# Only the genus: the Latin names of Florida and northern bass changed places in 2022, and hybrids have none.
GENUS = {
    "bluegill": "Lepomis",
    "black_crappie": "Pomoxis",
    "white_crappie": "Pomoxis",
}


@dataclass(frozen=True)
class Field:
    """One column: its name, its Table Schema type, the term it stands for, and whether it must be filled."""

    name: str
    type: str = "string"
    term: str | None = None
    required: bool = False
    least: float | None = None
    most: float | None = None


@dataclass(frozen=True)
class OpenTable:
    """One table of the package: its columns and rows, its key, and the columns that point at another table."""

    name: str
    title: str
    fields: tuple[Field, ...]
    rows: Sequence[Sequence[Any]]
    key: str
    links: tuple[tuple[str, str, str], ...] = ()  # column, table, column there
    row_term: str | None = None


def dwc(name: str, type: str = "string", *, required: bool = False, least: float | None = None) -> Field:
    return Field(name, type, DWC + name, required, least)


def gather_open_data(
    session: Session,
    lakes: Sequence[str] = (),
    *,
    with_owner: bool = False,
    with_position: bool = False,
    rule_set: RuleSet = DEFAULT_RULE_SET,
) -> tuple[OpenTable, ...]:
    """Return the tables event, occurrence, materialsample, measurementorfact and fish.

    lakes
        codes of the lakes wanted; none means all. Raises NotFound for a code that is not there.
    rule_set
        the one that names the fish; its name and date stand in every row it named.
    """
    wanted = [find_lake(session, code).id for code in lakes]
    chosen = Lake.id.in_(wanted) if wanted else Lake.id.is_not(None)
    surveys = [
        (survey, lake)
        for survey, lake in session.execute(
            select(Survey, Lake).join(Lake, Lake.id == Survey.lake_id).where(chosen).order_by(Survey.code)
        )
    ]
    fish = list(
        session.execute(
            select(Fish, Survey, Result, Vial, Panel)
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
    settled = settled_genotypes(session, ours)
    vials = session.execute(
        select(Vial, Fish, Survey)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .join(Lake, Lake.id == Survey.lake_id)
        .where(chosen)
        .order_by(Survey.code, Fish.number, Vial.id)
    )
    pairs = pairs_of_lakes(session, Survey.lake_id.in_(wanted) if wanted else Survey.id.is_not(None))
    return (
        _events(surveys, with_owner=with_owner, with_position=with_position),
        _occurrences(fish),
        _samples([tuple(row) for row in vials]),
        _measurements(fish, pairs),
        _tidy(
            fish, {survey.id: lake.code for survey, lake in surveys}, pairs, rule_set, called, given, settled
        ),
    )


def _events(surveys: Sequence[tuple[Survey, Lake]], *, with_owner: bool, with_position: bool) -> OpenTable:
    fields = [
        dwc("eventID", required=True), dwc("eventDate", "date", required=True), dwc("locationID", required=True),
        dwc("waterBody"), dwc("county"), dwc("stateProvince"), dwc("countryCode"), dwc("samplingProtocol"),
        dwc("samplingEffort"), dwc("recordedBy"),
    ]  # fmt: skip
    if with_position:
        fields += [
            Field("decimalLatitude", "number", DWC + "decimalLatitude", least=-90, most=90),
            Field("decimalLongitude", "number", DWC + "decimalLongitude", least=-180, most=180),
            dwc("geodeticDatum"), dwc("coordinateUncertaintyInMeters", "number", least=0),
        ]  # fmt: skip
    if with_owner:
        fields.append(Field("lakeOwner"))
    rows = []
    for survey, lake in surveys:
        effort = None if survey.effort_minutes is None else f"{survey.effort_minutes:g} minutes"
        row = [survey.code, survey.surveyed_on, lake.code, lake.name, lake.county, lake.state_province,
               lake.country_code, survey.gear, effort, survey.crew]  # fmt: skip
        if with_position:
            row += [lake.latitude, lake.longitude, "EPSG:4326" if lake.latitude is not None else None,
                    lake.position_uncertainty_m]  # fmt: skip
        rows.append([*row, lake.owner] if with_owner else row)
    return OpenTable("event", "Surveys", tuple(fields), rows, "eventID", row_term=DWC + "Event")


Pairs = Mapping[tuple[int, str], Pair]  # lake and species of the survey -> the pair its numbers are about


def _pair_of(survey: Survey, panel: Panel | None, pairs: Pairs) -> Pair:
    """Return the pair of taxa a result was typed for; without a panel that of its species in the lake."""
    if panel is not None:
        return Pair(panel.taxon, panel.other_taxon)
    return pairs.get((survey.lake_id, survey.species), DEFAULT_PAIR)


def _occurrences(fish: Sequence[Any]) -> OpenTable:
    fields = (
        dwc("occurrenceID", required=True), dwc("eventID", required=True), dwc("organismID"),
        dwc("individualCount", "integer", required=True, least=1), dwc("basisOfRecord"), dwc("scientificName"),
        dwc("taxonRank"), dwc("vernacularName"),
    )  # fmt: skip
    rows = []
    for one, survey, *_ in fish:
        name = fish_name(survey.code, one.number)
        printed = SPECIES[one.species].printed if one.species in SPECIES else one.species
        rows.append([name, survey.code, name if one.n_fish == 1 else None, one.n_fish, "HumanObservation",
                     GENUS.get(one.species, "Micropterus"), "genus", printed])  # fmt: skip
    return OpenTable(
        "occurrence", "Fish caught; a row of several is a tally", fields, rows, "occurrenceID",
        (("eventID", "event", "eventID"),), DWC + "Occurrence",
    )  # fmt: skip


def _samples(vials: Sequence[Any]) -> OpenTable:
    fields = (
        dwc("materialSampleID", required=True), dwc("eventID", required=True), dwc("occurrenceID", required=True),
        dwc("organismID", required=True), dwc("basisOfRecord"), dwc("preparations"), dwc("disposition"),
    )  # fmt: skip
    rows = []
    for vial, fish, survey in vials:
        name = fish_name(survey.code, fish.number)
        tissue = (vial.tissue or "tissue").replace("_", " ")
        preparation = f"{tissue} ({vial.medium})" if vial.medium else tissue
        rows.append([vial.code, survey.code, name, name, "MaterialSample", preparation,
                     "missing" if vial.standing in NOT_IN_HAND else "in collection"])  # fmt: skip
    return OpenTable(
        "materialsample", "Vials filled from a fish", fields, rows, "materialSampleID",
        (("eventID", "event", "eventID"), ("occurrenceID", "occurrence", "occurrenceID")), DWC + "MaterialSample",
    )  # fmt: skip


def _measurements(fish: Sequence[Any], pairs: Pairs) -> OpenTable:
    fields = (
        dwc("measurementID", required=True), dwc("occurrenceID", required=True), dwc("materialSampleID"),
        dwc("measurementType", required=True), dwc("measurementValue", "number", required=True),
        dwc("measurementUnit", required=True), dwc("measurementMethod"), dwc("measurementRemarks"),
    )  # fmt: skip
    rows: list[list[Any]] = []
    for one, survey, result, vial, panel in fish:
        name = fish_name(survey.code, one.number)

        def add(kind: str, value: float | None, unit: str, method: str | None, remark: str | None = None,
                name: str = name, code: str | None = None) -> None:  # fmt: skip
            if value is not None:
                key = f"{name}/{kind.replace(' ', '-')}"
                rows.append([key, name, code, kind, value, unit, method, remark])

        add(
            "total length",
            one.length_mm,
            "mm",
            "measuring board",
            f"measured as {one.length} {one.length_unit}",
        )
        add("weight", one.weight_g, "g", None, f"measured as {one.weight} {one.weight_unit}")
        if result is not None:
            taxon = _pair_of(survey, panel, pairs).taxon
            used = f"panel {panel.code}" if panel is not None else None
            code = vial.code if vial is not None else None
            add(f"{taxon}-allele proportion", result.q, "1", used, code=code)
            add("heterozygosity between the two taxa", result.heterozygosity, "1", used, code=code)
            add("loci scored", result.n_loci, "count", used, code=code)
    return OpenTable(
        "measurementorfact", "Measurements of fish and of their vials", fields, rows, "measurementID",
        (("occurrenceID", "occurrence", "occurrenceID"), ("materialSampleID", "materialsample", "materialSampleID")),
        DWC + "MeasurementOrFact",
    )  # fmt: skip


def _tidy(
    fish: Sequence[Any],
    lakes: dict[int, str],
    pairs: Pairs,
    rule_set: RuleSet,
    called: dict[int, Called],
    given: set[int],
    settled: dict[int, Settled],
) -> OpenTable:
    fields = (
        Field("fish", required=True), Field("lake", required=True), Field("survey", required=True),
        Field("surveyed_on", "date", required=True), Field("number", "integer", required=True),
        Field("n_fish", "integer", required=True, least=1), Field("species", required=True),
        Field("total_length", "number"), Field("length_unit"), Field("total_length_mm", "number"),
        Field("weight", "number"), Field("weight_unit"), Field("weight_g", "number"), Field("size_class"),
        Field("relative_weight", "number"), Field("vial"), Field("panel"), Field("taxon"),
        Field("q", "number", least=0, most=1), Field("heterozygosity", "number", least=0, most=1),
        Field("n_loci", "integer", least=1), Field("call_rate", "number", least=0, most=1),
        Field("call_rate_from"), Field("ancestry_class"),
        Field("rule_set"), Field("q_low", "number", least=0, most=1), Field("q_high", "number", least=0, most=1),
        Field("generation"), Field("likeliest"), Field("margin", "number", least=0), Field("aic_difference", "number"),
        Field("counted_from"), Field("in_the_numbers", "boolean", required=True),
    )  # fmt: skip
    rows = []
    for one, survey, result, vial, panel in fish:
        row = [
            fish_name(survey.code, one.number), lakes[survey.id], survey.code, survey.surveyed_on, one.number,
            one.n_fish, one.species, one.length, one.length_unit, one.length_mm, one.weight, one.weight_unit,
            one.weight_g, one.size_class, one.relative_weight,
        ]  # fmt: skip
        if result is None or result.q is None:
            rows.append([*row, *(None,) * 17, False])
            continue
        taxon, other = pair = _pair_of(survey, panel, pairs)
        calls = called.get(result.id)
        call_rate = call_rate_of(result, panel, calls, loci_are_given=result.id in given)
        told = generation_of(
            result.q, result.heterozygosity, result.n_loci, genotypes=calls.loci if calls else None,
            believe_genotypes=result.id not in settled or settled[result.id].believes_genotypes,
            rule_set=rule_set, taxon=taxon, other_taxon=other,
        )  # fmt: skip
        named = ancestry_class(
            result.q, result.heterozygosity, result.n_loci, rule_set, taxon=taxon, other_taxon=other
        )
        rows.append([*row, vial.code if vial is not None else None, panel.code if panel is not None else None, taxon,
                     result.q, result.heterozygosity, result.n_loci, *call_rate, named,
                     rule_set.label, told.low, told.high, told.told, told.likeliest, told.margin,
                     told.aic_difference, told.counted_from,
                     one.species == survey.species and pair == _pair_of(survey, None, pairs)])  # fmt: skip
    return OpenTable("fish", "One row a fish, for R or pandas", fields, rows, "fish")
