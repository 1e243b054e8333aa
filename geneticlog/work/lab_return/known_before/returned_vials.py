"""The vials a return is about: those of its shipment, what was said of them before, and strangers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from sqlalchemy import case, select
from sqlalchemy.orm import Session

from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.result.result_states import Outcome
from geneticlog.rules.shipment.custody import Arrival
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Fish, KnownVial, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.result.in_the_numbers import of_its_species
from geneticlog.work.result.vial_outcome import has_left

NO_RESULT = "no result"  # what a failed sample is said to be


class Sent(NamedTuple):
    """One vial of a shipment; ``survey`` is the code of its fish's survey, ``arrival`` how the lab found it,
    ``position`` where we put it."""

    id: int
    code: str
    role: VialRole
    fish_id: int | None
    survey_id: int | None
    survey: str | None
    arrival: Arrival | None = None
    arrival_note: str | None = None
    other_species: str | None = None  # of its fish, where that is not the survey's
    container_number: int = 1
    position: str = ""
    length_mm: float | None = None
    weight_g: float | None = None
    caught_on: date | None = None
    kind: str | None = None  # of its fish, where that is known without a genotype
    fish_number: int | None = None
    tissue: str | None = None
    medium: str | None = None
    site: str | None = None


class Stranger(NamedTuple):
    """A vial of ours that is not in this shipment, where it is, in words, and the shipment it is in."""

    id: int
    where: str
    shipment: str | None


def sent_vials(session: Session, shipment_id: int) -> dict[str, Sent]:
    """Return the vials of a shipment by their codes."""
    session.flush()
    rows = session.connection().execute(  # rows of plain values, without the session's loading of each
        select(
            Vial.id,
            Vial.code,
            Vial.role,
            Vial.fish_id,
            Fish.survey_id,
            Survey.code,
            ShipmentPosition.arrival,
            ShipmentPosition.arrival_note,
            case((of_its_species(), None), else_=Fish.species),
            ShipmentPosition.container_number,
            ShipmentPosition.position,
            Fish.length_mm,
            Fish.weight_g,
            Survey.surveyed_on,
            KnownVial.kind,
            Fish.number,
            Vial.tissue,
            Vial.medium,
            Fish.site,
        )
        .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .outerjoin(Fish, Fish.id == Vial.fish_id)
        .outerjoin(Survey, Survey.id == Fish.survey_id)
        .outerjoin(KnownVial, KnownVial.vial_id == Vial.id)
        .where(ShipmentPosition.shipment_id == shipment_id)
    )
    return {row[1]: Sent(*row) for row in rows.fetchall()}


def result_in_words(outcome: Outcome, q: float | None, heterozygosity: float | None) -> str:
    """Return what a lab said of a fish, in a few words."""
    if outcome == Outcome.FAILED:
        return NO_RESULT
    if q is None:
        return "no readable q"
    return f"q {q:.4g}" + (f", H {heterozygosity:.4g}" if heterozygosity is not None else "")


def shipments_of(session: Session, codes: Iterable[str]) -> list[str]:
    """Return the codes of the shipments that left with vials of these codes, the latest first for each vial."""
    out: dict[str, None] = {}
    for chunk in in_chunks(codes):
        sent = (
            select(Shipment.code, Vial.code)
            .join(ShipmentPosition, ShipmentPosition.shipment_id == Shipment.id)
            .join(Vial, Vial.id == ShipmentPosition.vial_id)
            .where(Vial.code.in_(chunk), has_left())
            .order_by(Shipment.id)
        )
        latest = {vial: shipment for shipment, vial in session.execute(sent)}
        out |= dict.fromkeys(latest.values())
    return list(out)


def strangers(session: Session, codes: Sequence[str]) -> dict[str, Stranger]:
    """Return those of the codes that are ours, although not in the shipment at hand."""
    out: dict[str, Stranger] = {}
    for chunk in in_chunks(dict.fromkeys(codes)):
        rows = session.execute(
            select(Vial.id, Vial.code, Vial.standing, Shipment.code)
            .outerjoin(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
            .outerjoin(Shipment, Shipment.id == ShipmentPosition.shipment_id)
            .where(Vial.code.in_(chunk))
        )
        for vial_id, code, standing, shipment in rows:
            where = f"it went with shipment {shipment}" if shipment else f"it was not sent and is {standing}"
            out[code] = Stranger(vial_id, where, shipment)
    return out
