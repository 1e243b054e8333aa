"""Tables of the office, its lakes, what is stocked in them, their sampling plans and surveys."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import uuid4

from sqlalchemy import (
    CheckConstraint,
    ForeignKey,
    String,
    UniqueConstraint,
)
from sqlalchemy.orm import Mapped, mapped_column, relationship, validates

from geneticlog.rules.plan.plan_inputs import PlanInputs
from geneticlog.rules.schemes import OwnSchemes, Scheme
from geneticlog.store.columns import (
    OwnSchemesText,
    PlanInputsText,
    SchemeText,
)
from geneticlog.store.table_base import Table, one_of, read_at_once

if TYPE_CHECKING:
    from geneticlog.store.tables_of_fish import Fish


class Office(Table):
    """Who mints vial codes: two letters, and the block of serials that belongs to this database alone."""

    __tablename__ = "office"
    __table_args__ = (
        CheckConstraint("length(prefix) = 2", name="prefix_two_letters"),
        CheckConstraint("station BETWEEN 0 AND 1023", name="station_range"),
        CheckConstraint("next_serial BETWEEN 0 AND 1048576", name="next_serial_range"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    prefix: Mapped[str] = mapped_column(String(2), unique=True)
    station: Mapped[int] = mapped_column(default=0)  # serial = station * 32**4 + next_serial
    next_serial: Mapped[int] = mapped_column(default=1)
    next_station: Mapped[int] = mapped_column(default=1)  # the next block to give to a boat's database
    name: Mapped[str | None]
    # the office's own: what it gives away is named by it; its boats take it from a file of the office
    uid: Mapped[str] = mapped_column(String(32), unique=True, default=lambda: uuid4().hex)


class Lake(Table):
    """A managed water. Owner and position stay out of what is sent or exported unless asked for."""

    __tablename__ = "lake"
    __table_args__ = (
        CheckConstraint("area_ha IS NULL OR area_ha > 0", name="area_positive"),
        CheckConstraint("latitude IS NULL OR latitude BETWEEN -90 AND 90", name="latitude_range"),
        CheckConstraint("longitude IS NULL OR longitude BETWEEN -180 AND 180", name="longitude_range"),
        CheckConstraint(
            "position_uncertainty_m IS NULL OR position_uncertainty_m > 0",
            name="position_uncertainty_positive",
        ),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    code: Mapped[str] = mapped_column(String(12), unique=True)
    name: Mapped[str]
    owner: Mapped[str | None]
    county: Mapped[str | None]
    state_province: Mapped[str | None]
    country_code: Mapped[str | None] = mapped_column(String(2))
    area_ha: Mapped[float | None]
    latitude: Mapped[float | None]
    longitude: Mapped[float | None]
    position_uncertainty_m: Mapped[float | None]
    # this lake's own size classes; absent: the published five lengths
    scheme: Mapped[OwnSchemes | None] = mapped_column(OwnSchemesText)
    remarks: Mapped[str | None]
    added_at: Mapped[datetime]
    added_by: Mapped[str]
    surveys: Mapped[list[Survey]] = relationship(back_populates="lake")
    _read_scheme = validates("scheme")(read_at_once)


class SamplingPlan(Table):
    """How many fish of which size classes are wanted; surveys opened afterwards take their targets from it."""

    __tablename__ = "sampling_plan"
    __table_args__ = (UniqueConstraint("lake_id", "number"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    lake_id: Mapped[int] = mapped_column(ForeignKey("lake.id"), index=True)
    number: Mapped[int]  # 1, 2, … within its lake; the highest is in force
    scheme: Mapped[Scheme] = mapped_column(SchemeText)
    allocation: Mapped[str]
    inputs: Mapped[PlanInputs] = mapped_column(PlanInputsText)
    made_at: Mapped[datetime]
    made_by: Mapped[str]
    targets: Mapped[list[PlanTarget]] = relationship(
        back_populates="sampling_plan", cascade="all, delete-orphan"
    )
    _read = validates("scheme", "inputs")(read_at_once)


class PlanTarget(Table):
    """Swabs wanted in one size class of a sampling plan."""

    __tablename__ = "plan_target"
    __table_args__ = (CheckConstraint("target >= 0", name="target_not_negative"),)
    sampling_plan_id: Mapped[int] = mapped_column(ForeignKey("sampling_plan.id"), primary_key=True)
    size_class: Mapped[str] = mapped_column(primary_key=True)
    target: Mapped[int]
    sampling_plan: Mapped[SamplingPlan] = relationship(back_populates="targets")


class Survey(Table):
    """One outing on one lake. It keeps the size-class scheme it was opened with."""

    __tablename__ = "survey"
    __table_args__ = (
        CheckConstraint(one_of("length_unit", "mm", "cm", "in"), name="length_unit"),
        CheckConstraint(one_of("weight_unit", "g", "kg", "lb", "oz"), name="weight_unit"),
        CheckConstraint("effort_minutes IS NULL OR effort_minutes > 0", name="effort_positive"),
        CheckConstraint(
            one_of(
                "order_of_work",
                *("any", "vial,length", "vial,length,weight", "length,vial", "length,weight,vial"),
            ),
            name="order_of_work",
        ),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    code: Mapped[str] = mapped_column(String(32), unique=True)
    lake_id: Mapped[int] = mapped_column(ForeignKey("lake.id"), index=True)
    surveyed_on: Mapped[date]
    gear: Mapped[str]
    effort_minutes: Mapped[float | None]
    crew: Mapped[str | None]
    species: Mapped[str]
    length_unit: Mapped[str] = mapped_column(String(2))
    weight_unit: Mapped[str] = mapped_column(String(2))
    scheme: Mapped[Scheme] = mapped_column(SchemeText)
    sampling_plan_id: Mapped[int | None] = mapped_column(ForeignKey("sampling_plan.id"))
    permit: Mapped[str | None]
    permit_from: Mapped[date | None]
    permit_to: Mapped[date | None]
    protocol: Mapped[str | None]  # text the biologist sets: swab seconds, handling
    order_of_work: Mapped[str] = mapped_column(
        default="any", server_default="any"
    )  # see rules/boat/sitting.py
    remarks: Mapped[str | None]
    opened_at: Mapped[datetime]
    opened_by: Mapped[str]
    lake: Mapped[Lake] = relationship(back_populates="surveys")
    sampling_plan: Mapped[SamplingPlan | None] = relationship()
    fish: Mapped[list[Fish]] = relationship(back_populates="survey")
    _read_scheme = validates("scheme")(read_at_once)


class Stocking(Table):
    """Fish put into a lake, so that a change can be seen beside it."""

    __tablename__ = "stocking"
    __table_args__ = (CheckConstraint("n_fish IS NULL OR n_fish > 0", name="n_fish_positive"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    lake_id: Mapped[int] = mapped_column(ForeignKey("lake.id"), index=True)
    stocked_on: Mapped[date]
    taxon: Mapped[str]
    n_fish: Mapped[int | None]
    size: Mapped[str | None]
    source: Mapped[str | None]
    permit: Mapped[str | None]
    remarks: Mapped[str | None]
