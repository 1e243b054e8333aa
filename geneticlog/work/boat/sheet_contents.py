"""What a field sheet of a survey has to hold: its vials in order, its size classes with their targets."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.gear import is_electrofishing
from geneticlog.rules.label.vial_states import VialStanding
from geneticlog.rules.species import SPECIES
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import PrintRun, Survey, Vial
from geneticlog.work.boat.tally import survey_tally


@dataclass(frozen=True)
class SheetClass:
    """A size class: its name, its lengths in the survey's unit, and the swabs wanted (None: no plan)."""

    name: str
    lengths: str
    target: int | None


@dataclass(frozen=True)
class FieldSheet:
    """A survey as its field sheet shows it; ``vials`` are the codes still free, grouped for reading."""

    survey: str
    lake: str
    surveyed_on: date
    gear: str
    electrofishing: bool
    species: str
    length_unit: str
    weight_unit: str
    permit: str | None
    protocol: str | None
    vials: tuple[str, ...]
    classes: tuple[SheetClass, ...]


def lay_field_sheet(session: Session, survey: Survey) -> FieldSheet:
    """Return what the field sheet of a survey holds: the free vials of its print runs in the order printed."""
    vials = session.scalars(
        select(Vial.code)
        .join(PrintRun)
        .where(PrintRun.survey_id == survey.id, Vial.standing == VialStanding.PRINTED)
        .order_by(PrintRun.number, Vial.id)
    )
    scheme = survey.scheme
    unit = "in" if survey.length_unit == "in" else "mm"
    targets = {one.size_class: one.target for one in survey_tally(session, survey)}
    classes = tuple(
        SheetClass(one.name, one.label.removeprefix(one.name).strip(" ()"), targets[one.name])
        for one in scheme.size_classes(unit)
    )
    return FieldSheet(
        survey=survey.code,
        lake=survey.lake.name,
        surveyed_on=survey.surveyed_on,
        gear=survey.gear.replace("_", " "),
        electrofishing=is_electrofishing(survey.gear),
        species=SPECIES[survey.species].printed if survey.species in SPECIES else survey.species,
        length_unit=survey.length_unit,
        weight_unit=survey.weight_unit,
        permit=survey.permit,
        protocol=survey.protocol,
        vials=tuple(printed(code) for code in vials),
        classes=classes,
    )
