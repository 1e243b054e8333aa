"""The manifest of a shipment: the rows a lab gets, by its own form, and what would give a blind sample away."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from geneticlog.errors import Refused
from geneticlog.rules.gear import TISSUES
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.shipment.blind import host_of
from geneticlog.rules.shipment.manifest_form import (
    HOLDS,
    TELLS_A_BLANK,
    TELLS_A_DUPLICATE,
    ManifestForm,
)
from geneticlog.rules.shipment.plates import container, sort_key
from geneticlog.rules.species import SPECIES
from geneticlog.rules.vialcode import printed
from geneticlog.settings import local_day
from geneticlog.store.tables import Fish, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.events import find_shipment
from geneticlog.work.shipment.pack import told_apart
from geneticlog.work.shipment.packable import form_of

Cell = str | int | float | None


@dataclass(frozen=True)
class PackedVial:
    """One vial in its place, as it is printed on a plate map; roles stay out of it."""

    container_number: int
    position: str
    vial: str
    printed: str


@dataclass(frozen=True)
class Manifest:
    """What goes with a shipment: the lab's table, the vials in their places, and warnings for the office alone."""

    shipment: str
    lab: str
    container: str
    filling_order: str
    heading: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    placed: tuple[PackedVial, ...]
    warnings: tuple[str, ...]


def in_order(session: Session, shipment: Shipment) -> list[ShipmentPosition]:
    """Return the positions of a shipment in filling order, with vial, fish, survey and lake loaded."""
    positions = session.scalars(
        select(ShipmentPosition)
        .where(ShipmentPosition.shipment_id == shipment.id)
        .options(
            joinedload(ShipmentPosition.vial)
            .joinedload(Vial.fish)
            .joinedload(Fish.survey)
            .joinedload(Survey.lake)
        )
    )

    def key(at: ShipmentPosition) -> tuple[int, int, int]:
        return sort_key(shipment.container, at.container_number, at.position, shipment.filling_order)

    return sorted(positions, key=key)


def manifest(session: Session, code: str) -> Manifest:
    """Return the manifest of a shipment, by the form of its lab.

    Blind duplicates and blanks are not marked: a blank is given the tissue and medium that most vials have, and survey,
    lake and days of one of the samples, chosen by chance.

    raises
        NotFound; Refused for an empty shipment; ManifestFormError for a lab's form that is at fault.
    """
    shipment = find_shipment(session, code)
    positions = in_order(session, shipment)
    if not positions:
        raise Refused(f"shipment {shipment.code} holds no vial; pack some first")
    form = form_of(shipment.lab)
    tissues = Counter(at.vial.tissue for at in positions if at.vial.tissue)
    media = Counter(at.vial.medium for at in positions if at.vial.medium)
    usual_tissue = tissues.most_common(1)[0][0] if tissues else None
    usual_medium = shipment.medium or (media.most_common(1)[0][0] if media else None)
    hosts = hosts_of(shipment, positions)
    rows = []
    for number, at in enumerate(positions, start=1):
        held = _held(shipment, at, number, usual_tissue, usual_medium, hosts.get(at.vial.code))
        rows.append(
            tuple(column.text if column.holds is None else held[column.holds] for column in form.columns)
        )
    return Manifest(
        shipment=shipment.code,
        lab=shipment.lab.name,
        container=container(shipment.container).printed,
        filling_order=shipment.filling_order,
        heading=tuple(column.heading for column in form.columns),
        rows=tuple(rows),
        placed=tuple(
            PackedVial(at.container_number, at.position, at.vial.code, printed(at.vial.code))
            for at in positions
        ),
        warnings=(*_warnings(form, positions), *(f"{told}." for told in told_apart(shipment))),
    )


def hosts_of(shipment: Shipment, positions: list[ShipmentPosition]) -> dict[str, Vial]:
    """Return by the code of each blank the sample whose day and place it is given."""
    samples = {at.vial.code: at.vial for at in positions if at.vial.role == VialRole.SAMPLE}
    seed = shipment.shuffle_seed or shipment.code
    chosen = {
        at.vial.code: host_of(at.vial.code, sorted(samples), seed)
        for at in positions
        if at.vial.role == VialRole.BLANK
    }
    return {code: samples[host] for code, host in chosen.items() if host is not None}


def _held(
    shipment: Shipment,
    at: ShipmentPosition,
    number: int,
    tissue: str | None,
    medium: str | None,
    host: Vial | None,
) -> dict[str, Cell]:
    vial, fish = at.vial, at.vial.fish
    like = host.fish if host else fish
    filled_at = host.filled_at if host else vial.filled_at
    survey = like.survey if like else None
    lake = survey.lake if survey else None
    kept_in = vial.tissue or tissue
    species = SPECIES.get(like.species) if like else None
    cells: dict[str, Cell] = dict.fromkeys(HOLDS)
    cells |= {
        "number": number,
        "container_number": at.container_number,
        "position": at.position,
        "vial": vial.code,
        "vial_printed": printed(vial.code),
        "tissue": TISSUES.get(kept_in or "", kept_in),
        "medium": vial.medium or medium,
        "fill_ml": shipment.fill_ml,
        "shipment": shipment.code,
        "filled_on": local_day(filled_at).isoformat() if filled_at else None,
    }
    if like and survey and lake:
        cells |= {
            "species": species.printed if species else like.species,
            "survey": survey.code,
            "surveyed_on": survey.surveyed_on.isoformat(),
            "total_length_mm": fish.length_mm if fish else None,
            "weight_g": fish.weight_g if fish else None,
            "size_class": fish.size_class if fish else None,
            "lake": lake.name,
            "lake_code": lake.code,
            "county": lake.county,
            "owner": lake.owner,
        }
    return cells


def _warnings(form: ManifestForm, positions: list[ShipmentPosition]) -> tuple[str, ...]:
    roles = Counter(at.vial.role for at in positions)
    asked = {column.holds: column.heading for column in form.columns if column.holds}
    warnings = []
    tells = [asked[holds] for holds in asked if holds in TELLS_A_BLANK]
    if roles[VialRole.BLANK] and tells:
        warnings.append(
            f"The lab's form asks for {', '.join(tells)}, which a blank does not have: "
            "the empty cells show the lab which vials are blanks."
        )
    pairs = [asked[holds] for holds in asked if holds in TELLS_A_DUPLICATE]
    if roles[VialRole.BLIND_DUPLICATE] and pairs:
        warnings.append(
            f"The lab's form asks for {', '.join(pairs)}, in which two vials of one fish agree: "
            "the lab can pair the blind duplicates."
        )
    return tuple(warnings)
