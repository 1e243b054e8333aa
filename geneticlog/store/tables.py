"""Everything that is stored: one class a table. Lengths and weights are kept as measured, metric beside them.

A wrong state is made impossible here as far as a database can: a vial on two fish, a vial on a tally of
several fish, a proportion outside 0..1, two results that count for one fish. ``event`` only grows: triggers
in the first migration refuse its update and delete.

A column marked ``insert_sentinel`` lets many rows go to the database in one statement: it tells which number each got.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from uuid import uuid4

from sqlalchemy import (
    CheckConstraint,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    LargeBinary,
    MetaData,
    String,
    Text,
    UniqueConstraint,
    text,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship, validates

from geneticlog.rules.finding.finding_data import FindingData
from geneticlog.rules.lab_return.decision import Decision
from geneticlog.rules.lab_return.finding_kinds import FindingKind
from geneticlog.rules.lab_return.result_states import Outcome, ResultStanding
from geneticlog.rules.label.vial_states import VialRole, VialStanding
from geneticlog.rules.plan.plan_inputs import PlanInputs
from geneticlog.rules.schemes import OwnSchemes, Scheme
from geneticlog.rules.shipment.custody import Arrival, ShipmentStanding
from geneticlog.rules.shipment.told_fate import ToldFate
from geneticlog.store.columns import (
    FindingDataText,
    JsonList,
    JsonText,
    OwnSchemesText,
    PlanInputsText,
    RowNumbers,
    SchemeText,
    UtcInstant,
    Word,
)

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


def one_of(column: str, *words: str) -> str:
    """Return the CHECK that a column holds one of these words (or nothing, where it may be absent)."""
    return f"{column} IN ({', '.join(repr(str(word)) for word in words)})"


def _read_at_once(row: Table, name: str, value: Any) -> Any:
    """A value that comes as text, as in a carry file, is read at once. Raises SchemeError."""
    kept = type(row).__table__.c[name].type
    return kept.read(value) if isinstance(value, str) and isinstance(kept, JsonText) else value


class Table(DeclarativeBase):
    """The base of all tables; ``uid`` columns tell rows apart between databases, ``id`` only within one."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {datetime: UtcInstant(), str: Text()}  # noqa: RUF012 - SQLAlchemy reads it from the class


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
    _read_scheme = validates("scheme")(_read_at_once)


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
    _read = validates("scheme", "inputs")(_read_at_once)


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
    _read_scheme = validates("scheme")(_read_at_once)


class Fish(Table):
    """One fish measured, swabbed or not; or, with n_fish above 1, a tally of several that were not swabbed."""

    __tablename__ = "fish"
    __table_args__ = (
        UniqueConstraint("survey_id", "number"),
        UniqueConstraint("survey_id", "source"),
        UniqueConstraint(
            "id", "n_fish"
        ),  # what vial's link points at: only a row of one fish can have a vial
        CheckConstraint("number > 0", name="number_positive"),
        CheckConstraint("n_fish > 0", name="n_fish_positive"),
        CheckConstraint("length IS NULL OR length > 0", name="length_positive"),
        CheckConstraint("(length IS NULL) = (length_unit IS NULL)", name="length_has_unit"),
        CheckConstraint("(length IS NULL) = (length_mm IS NULL)", name="length_has_mm"),
        CheckConstraint("weight IS NULL OR weight > 0", name="weight_positive"),
        CheckConstraint("(weight IS NULL) = (weight_unit IS NULL)", name="weight_has_unit"),
        CheckConstraint("(weight IS NULL) = (weight_g IS NULL)", name="weight_has_g"),
        CheckConstraint(one_of("length_unit", "mm", "cm", "in"), name="length_unit"),
        CheckConstraint(one_of("weight_unit", "g", "kg", "lb", "oz"), name="weight_unit"),
        CheckConstraint(one_of("fate", "released", "kept", "died"), name="fate"),
        CheckConstraint("length_mm IS NULL OR length_mm BETWEEN 10 AND 1200", name="length_mm_range"),
        Index("ix_fish_survey_id_size_class", "survey_id", "size_class"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True, insert_sentinel=True)
    survey_id: Mapped[int] = mapped_column(ForeignKey("survey.id"))
    number: Mapped[int]
    n_fish: Mapped[int] = mapped_column(default=1)
    species: Mapped[str]
    length: Mapped[float | None]  # total length as measured
    length_unit: Mapped[str | None] = mapped_column(String(2))
    length_mm: Mapped[float | None]
    weight: Mapped[float | None]
    weight_unit: Mapped[str | None] = mapped_column(String(2))
    weight_g: Mapped[float | None]
    size_class: Mapped[
        str | None
    ]  # judged in the unit measured; absent when the length or the class is unknown
    relative_weight: Mapped[float | None]  # absent below the least length of the standard-weight equation
    fate: Mapped[str | None]
    site: Mapped[str | None]
    remarks: Mapped[str | None]
    source: Mapped[
        str | None
    ]  # where the row came from (file digest and row), so that it is not read in twice
    logged_at: Mapped[datetime]
    logged_by: Mapped[str]
    survey: Mapped[Survey] = relationship(back_populates="fish")
    vials: Mapped[list[Vial]] = relationship(back_populates="fish", order_by="Vial.id")


class OpenCard(Table):
    """A fish that is being entered on one device: kept over a flat battery, gone when it is stored."""

    __tablename__ = "open_card"
    __table_args__ = (UniqueConstraint("survey_id", "device"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    survey_id: Mapped[int] = mapped_column(ForeignKey("survey.id", ondelete="CASCADE"))
    device: Mapped[str]  # made by the prompt or page that holds it
    content: Mapped[str]  # JSON, see rules/boat/card_json.py
    kept_at: Mapped[datetime]
    kept_by: Mapped[str]


class ShownCard(Table):
    """What is on the open card of a device, so that the other devices of the survey see it; never a fish."""

    __tablename__ = "shown_card"
    __table_args__ = (UniqueConstraint("survey_id", "device"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    survey_id: Mapped[int] = mapped_column(ForeignKey("survey.id", ondelete="CASCADE"))
    device: Mapped[str]
    person: Mapped[str]
    words: Mapped[str]
    shown_at: Mapped[datetime]


class DroppedFile(Table):
    """A lab's file dropped on a page and not stored as a return: it waits for answers, and is gone soon."""

    __tablename__ = "dropped_file"
    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(String(32), unique=True)
    name: Mapped[str]
    content: Mapped[bytes] = mapped_column(LargeBinary)
    shipments: Mapped[str]  # JSON list of codes
    answers: Mapped[str]  # JSON list of [setting, role, value]
    dropped_at: Mapped[datetime]
    dropped_by: Mapped[str]


class PrintRun(Table):
    """One printing of labels: a block of codes on one stock."""

    __tablename__ = "print_run"
    __table_args__ = (
        CheckConstraint("n_labels > 0", name="n_labels_positive"),
        CheckConstraint("start_slot > 0", name="start_slot_positive"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    number: Mapped[int] = mapped_column(unique=True)
    office: Mapped[str] = mapped_column(String(2))
    n_labels: Mapped[int]
    stock: Mapped[str]
    start_slot: Mapped[int] = mapped_column(default=1)
    content: Mapped[str] = mapped_column(default="wrap")
    survey_id: Mapped[int | None] = mapped_column(ForeignKey("survey.id"), index=True)
    printed_at: Mapped[datetime]
    printed_by: Mapped[str]
    survey: Mapped[Survey | None] = relationship()
    vials: Mapped[list[Vial]] = relationship(back_populates="print_run", order_by="Vial.id")


class Vial(Table):
    """One vial: a code that is never used again, on one fish at most, filled once.

    standing: printed (free), filled, blank (preservative without a fish), void (with its reason), lost and broken
    (filled, then gone, with its reason). A trigger refuses a change from one fish to another: a correction empties
    the vial first.
    """

    __tablename__ = "vial"
    __table_args__ = (
        ForeignKeyConstraint(["fish_id", "fish_n"], ["fish.id", "fish.n_fish"]),
        CheckConstraint("fish_n IS NULL OR fish_n = 1", name="one_fish_a_vial"),
        CheckConstraint("(fish_id IS NULL) = (fish_n IS NULL)", name="fish_with_its_n"),
        CheckConstraint(one_of("standing", *VialStanding), name="standing"),
        CheckConstraint(
            "(fish_id IS NOT NULL) = (standing IN ('filled', 'lost', 'broken'))", name="filled_has_a_fish"
        ),
        CheckConstraint(one_of("tissue", "mouth_swab", "fin_clip"), name="tissue"),
        CheckConstraint(one_of("role", *VialRole), name="role"),
        CheckConstraint("(standing = 'void') = (void_why IS NOT NULL)", name="void_has_a_reason"),
        Index("ix_vial_fish_id", "fish_id"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(String(9), unique=True, insert_sentinel=True)
    print_run_id: Mapped[int | None] = mapped_column(ForeignKey("print_run.id"), index=True)
    standing: Mapped[VialStanding] = mapped_column(Word(VialStanding), default=VialStanding.PRINTED)
    role: Mapped[VialRole] = mapped_column(Word(VialRole), default=VialRole.SAMPLE)
    fish_id: Mapped[int | None]
    fish_n: Mapped[int | None]
    tissue: Mapped[str | None]
    medium: Mapped[str | None]
    filled_at: Mapped[datetime | None]
    filled_by: Mapped[str | None]
    void_why: Mapped[str | None]
    gone_why: Mapped[str | None]  # of a vial that is lost or broken
    print_run: Mapped[PrintRun | None] = relationship(back_populates="vials")
    fish: Mapped[Fish | None] = relationship(back_populates="vials")


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


class Lab(Table):
    """A genotyping laboratory: what its manifest holds, and how it lays out a return (both TOML text)."""

    __tablename__ = "lab"
    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(String(12), unique=True)
    name: Mapped[str]
    address: Mapped[str | None]
    manifest: Mapped[str | None]  # TOML: columns, their order and headings, wells kept free
    layout: Mapped[str | None]  # TOML, see store/layouts.py
    fee: Mapped[float | None]  # a sample, in dollars
    usual_days: Mapped[int | None]  # from sending to results; a shipment out longer asks for attention


class Panel(Table):
    """A set of loci and the two taxa it distinguishes; q counts the alleles of ``taxon``."""

    __tablename__ = "panel"
    __table_args__ = (CheckConstraint("n_loci IS NULL OR n_loci > 0", name="n_loci_positive"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(String(24), unique=True)
    name: Mapped[str]
    taxon: Mapped[str] = mapped_column(default="Florida")
    other_taxon: Mapped[str] = mapped_column(default="northern")
    n_loci: Mapped[int | None]  # of the panel; each result has its own number scored
    markers: Mapped[str | None]  # TOML: marker table for per-locus returns
    source: Mapped[str | None]
    miscall_rate: Mapped[float | None]  # share of alleles misread, as its source states it
    miscall_high: Mapped[float | None]  # and the most it may be


class KnownVial(Table):
    """A vial of a fish whose kind is known without its genotype, which shows how often a panel misreads.

    kind: F1, or the name of one of a panel's two taxa.
    """

    __tablename__ = "known_vial"
    vial_id: Mapped[int] = mapped_column(ForeignKey("vial.id"), primary_key=True)
    kind: Mapped[str]
    why: Mapped[str]
    said_at: Mapped[datetime]
    said_by: Mapped[str]


class KeptRuleSet(Table):
    """A rule set that names ancestry classes, as its TOML came. Triggers refuse update and delete: a changed one
    gets another date or name. ``rule_set_choice`` says which one is in force; the house default needs no row.
    """

    __tablename__ = "rule_set"
    __table_args__ = (UniqueConstraint("name", "dated"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    dated: Mapped[date]
    content: Mapped[str]  # TOML, see rules/genetics/rule_set.py
    added_at: Mapped[datetime]
    added_by: Mapped[str]


class RuleSetChoice(Table):
    """Which rule set is in force from when on: the last row, or the house default without one. Triggers refuse update
    and delete.
    """

    __tablename__ = "rule_set_choice"
    id: Mapped[int] = mapped_column(primary_key=True)
    rule_set_id: Mapped[int | None] = mapped_column(ForeignKey("rule_set.id"))  # absent: the house default
    at: Mapped[datetime]
    by: Mapped[str]
    rule_set: Mapped[KeptRuleSet | None] = relationship()


class Shipment(Table):
    """A box or plates of vials on the way to a lab and back as results."""

    __tablename__ = "shipment"
    __table_args__ = (
        CheckConstraint(one_of("standing", *ShipmentStanding), name="standing"),
        CheckConstraint("fill_ml IS NULL OR fill_ml > 0", name="fill_positive"),
        CheckConstraint("(standing = 'packed') = (sent_at IS NULL)", name="sent_has_a_moment"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(String(24), unique=True)
    lab_id: Mapped[int] = mapped_column(ForeignKey("lab.id"), index=True)
    panel_id: Mapped[int | None] = mapped_column(ForeignKey("panel.id"))
    standing: Mapped[ShipmentStanding] = mapped_column(
        Word(ShipmentStanding), default=ShipmentStanding.PACKED
    )
    container: Mapped[str]  # plate96, box9x9, box10x10, loose
    filling_order: Mapped[str] = mapped_column(default="by_column")
    medium: Mapped[str | None]
    fill_ml: Mapped[float | None]
    seal: Mapped[str | None]
    n_packages: Mapped[int | None]  # None: one
    packed_at: Mapped[datetime]
    packed_by: Mapped[str]
    carrier: Mapped[str | None]
    tracking: Mapped[str | None]
    sent_at: Mapped[datetime | None]
    sent_by: Mapped[str | None]
    arrived_at: Mapped[datetime | None]
    received_by: Mapped[str | None]
    arrival_condition: Mapped[str | None]
    closed_at: Mapped[datetime | None]
    kept_free: Mapped[list[str]] = mapped_column(JsonList, default=list, server_default="[]")  # wells
    n_billed: Mapped[int | None]  # samples on the lab's bill
    billed_amount: Mapped[float | None]  # as on the bill, in dollars
    shuffle_seed: Mapped[str | None] = mapped_column(
        String(16)
    )  # of its positions; None: in the order of a scan
    remarks: Mapped[str | None]
    lab: Mapped[Lab] = relationship()
    panel: Mapped[Panel | None] = relationship()
    positions: Mapped[list[ShipmentPosition]] = relationship(
        back_populates="shipment", order_by="ShipmentPosition.id"
    )


class ShipmentPosition(Table):
    """Where one vial sits in a shipment; a loose vial has its place in the list as position."""

    __tablename__ = "shipment_position"
    __table_args__ = (
        UniqueConstraint("shipment_id", "vial_id"),
        UniqueConstraint("shipment_id", "container_number", "position"),
        CheckConstraint(one_of("arrival", *Arrival), name="arrival"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    shipment_id: Mapped[int] = mapped_column(ForeignKey("shipment.id"))
    vial_id: Mapped[int] = mapped_column(ForeignKey("vial.id"), index=True, insert_sentinel=True)
    container_number: Mapped[int] = mapped_column(default=1)
    position: Mapped[str]  # A01, or 1, 2, …
    arrival: Mapped[Arrival | None] = mapped_column(Word(Arrival))
    arrival_note: Mapped[str | None]
    shipment: Mapped[Shipment] = relationship(back_populates="positions")
    vial: Mapped[Vial] = relationship(
        lazy="joined", innerjoin=True
    )  # every use of a position looks at its vial


class ReturnFile(Table):
    """A file a lab sent, its original bytes, and how it was read.

    A reading that was withdrawn keeps its rows, and nothing of it counts; the same bytes may then be read again.
    """

    __tablename__ = "return_file"
    __table_args__ = (
        Index(
            "ix_return_file_shipment_id_sha256",
            "shipment_id",
            "sha256",
            unique=True,
            sqlite_where=text("withdrawn_at IS NULL"),
            postgresql_where=text("withdrawn_at IS NULL"),
        ),
        CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_why IS NULL)", name="withdrawn_has_a_reason"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    shipment_id: Mapped[int] = mapped_column(ForeignKey("shipment.id"))
    sha256: Mapped[str] = mapped_column(String(64), index=True)
    name: Mapped[str]
    content: Mapped[bytes] = mapped_column(LargeBinary)
    reading: Mapped[str]  # JSON: sheet, heading row, each column's meaning, unit and evidence, missing words
    account: Mapped[str | None]  # JSON: what became of everything in it (rules/lab_return/account.py)
    n_rows: Mapped[int]
    read_at: Mapped[datetime]
    read_by: Mapped[str]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str | None]
    withdrawn_why: Mapped[str | None]
    shipment: Mapped[Shipment] = relationship()


class ReturnRow(Table):
    """One row of a return as the lab wrote it; ``vial_id`` is absent when its code is not one of ours."""

    __tablename__ = "return_row"
    __table_args__ = (
        UniqueConstraint("return_file_id", "row_number"),
        CheckConstraint(
            one_of("outcome", *Outcome),
            name="outcome",
        ),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    return_file_id: Mapped[int] = mapped_column(ForeignKey("return_file.id"))
    row_number: Mapped[int]  # as a person counts them in the sheet, the first row is 1
    code_as_written: Mapped[str | None]
    cells: Mapped[str]  # JSON: heading -> text as it came
    vial_id: Mapped[int | None] = mapped_column(ForeignKey("vial.id"), index=True)
    outcome: Mapped[Outcome] = mapped_column(Word(Outcome))
    return_file: Mapped[ReturnFile] = relationship()
    vial: Mapped[Vial | None] = relationship()


class Result(Table):
    """What a lab said of one vial. ``q`` is the share of ``panel.taxon`` alleles; the loci scored are its own.

    standing: current (in the numbers), superseded (a later file replaced it, or its reading was withdrawn), rejected (a
    person decided), held (conflicting or impossible, in no number until a person decides). ``fish_id`` marks the one
    result that counts for its fish, so that every count and mean is one join.
    """

    __tablename__ = "result"
    __table_args__ = (
        CheckConstraint("q IS NULL OR q BETWEEN 0 AND 1", name="q_range"),
        CheckConstraint("other_q IS NULL OR other_q BETWEEN 0 AND 1", name="other_q_range"),
        CheckConstraint("third_q IS NULL OR third_q BETWEEN 0 AND 1", name="third_q_range"),
        CheckConstraint(
            "heterozygosity IS NULL OR heterozygosity BETWEEN 0 AND 1", name="heterozygosity_range"
        ),
        CheckConstraint("call_rate IS NULL OR call_rate BETWEEN 0 AND 1", name="call_rate_range"),
        CheckConstraint("n_loci IS NULL OR n_loci > 0", name="n_loci_positive"),
        CheckConstraint(one_of("outcome", Outcome.TYPED, Outcome.FAILED), name="outcome"),
        CheckConstraint("outcome = 'typed' OR q IS NULL", name="failed_has_no_q"),
        CheckConstraint("outcome = 'failed' OR q IS NOT NULL OR standing <> 'current'", name="typed_has_q"),
        CheckConstraint(one_of("standing", *ResultStanding), name="standing"),
        CheckConstraint("fish_id IS NULL OR standing = 'current'", name="only_current_speaks"),
        Index("ix_result_vial_id_standing", "vial_id", "standing"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    vial_id: Mapped[int] = mapped_column(ForeignKey("vial.id"))
    return_row_id: Mapped[int | None] = mapped_column(ForeignKey("return_row.id"), index=True)
    panel_id: Mapped[int | None] = mapped_column(ForeignKey("panel.id"))
    outcome: Mapped[Outcome] = mapped_column(Word(Outcome))
    standing: Mapped[ResultStanding] = mapped_column(Word(ResultStanding), default=ResultStanding.CURRENT)
    q: Mapped[float | None]
    other_q: Mapped[float | None]
    third_q: Mapped[float | None]
    heterozygosity: Mapped[float | None]
    n_loci: Mapped[int | None]
    call_rate: Mapped[float | None]
    lab_class: Mapped[str | None]
    failure: Mapped[str | None]  # the lab's own word for it
    fish_id: Mapped[int | None] = mapped_column(ForeignKey("fish.id"), unique=True)
    replaced_by_id: Mapped[int | None] = mapped_column(index=True)  # the return_file that superseded it
    vial: Mapped[Vial] = relationship()
    return_row: Mapped[ReturnRow | None] = relationship()
    panel: Mapped[Panel | None] = relationship()


class Genotype(Table):
    """Alleles of ``panel.taxon`` at one marker: 0, 1 or 2; absent where the lab made no call."""

    __tablename__ = "genotype"
    __table_args__ = (
        CheckConstraint("n_alleles IS NULL OR n_alleles BETWEEN 0 AND 2", name="n_alleles_range"),
    )
    result_id: Mapped[int] = mapped_column(ForeignKey("result.id"), primary_key=True)
    marker: Mapped[str] = mapped_column(primary_key=True)
    n_alleles: Mapped[int | None]


class Finding(Table):
    """What does not reconcile, in one plain sentence; it is decided on, never deleted."""

    __tablename__ = "finding"
    __table_args__ = (
        CheckConstraint(
            one_of("decision", *Decision),
            name="decision",
        ),
        CheckConstraint("(decision IS NULL) = (decided_at IS NULL)", name="decision_has_a_moment"),
        CheckConstraint("(decision IS NULL) = (decided_by IS NULL)", name="decision_has_a_person"),
        CheckConstraint("(decision IS NULL) = (why IS NULL)", name="decision_has_a_reason"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)  # what the person types: F12
    key: Mapped[str] = mapped_column(
        unique=True, insert_sentinel=True
    )  # kind and subject, so that a second look opens nothing twice
    kind: Mapped[FindingKind] = mapped_column(Word(FindingKind), index=True)
    shipment_id: Mapped[int | None] = mapped_column(ForeignKey("shipment.id"), index=True)
    survey_id: Mapped[int | None] = mapped_column(ForeignKey("survey.id"), index=True)
    vial_id: Mapped[int | None] = mapped_column(ForeignKey("vial.id"), index=True)
    fish_id: Mapped[int | None] = mapped_column(ForeignKey("fish.id"))
    return_file_id: Mapped[int | None] = mapped_column(ForeignKey("return_file.id"))
    rows: Mapped[list[int]] = mapped_column(RowNumbers, default=list)  # in the return
    text: Mapped[str]
    data: Mapped[FindingData] = mapped_column(FindingDataText, default=FindingData)
    opened_at: Mapped[datetime]
    decision: Mapped[Decision | None] = mapped_column(Word(Decision))
    decided_at: Mapped[datetime | None]
    decided_by: Mapped[str | None]
    why: Mapped[str | None]
    vial: Mapped[Vial | None] = relationship()
    shipment: Mapped[Shipment | None] = relationship()
    survey: Mapped[Survey | None] = relationship()
    _read = validates("rows", "data")(_read_at_once)
    fish: Mapped[Fish | None] = relationship()


class KeptReport(Table):
    """A report that was sent out: what it said, to whom, and what it rested on. Never changed or deleted."""

    __tablename__ = "kept_report"
    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    lake_id: Mapped[int] = mapped_column(ForeignKey("lake.id"), index=True)
    survey: Mapped[str | None]  # the code of the survey it turned on
    written_at: Mapped[datetime]
    written_by: Mapped[str]
    fingerprint: Mapped[str]
    told: Mapped[str]  # JSON: the lines of its first page
    basis: Mapped[str]  # JSON: results and catch behind it, see work/report/basis.py


class ToldSurvey(Table):
    """When another database last told what became of a survey's vials at the lab."""

    __tablename__ = "told_survey"
    survey_id: Mapped[int] = mapped_column(ForeignKey("survey.id", ondelete="CASCADE"), primary_key=True)
    told_at: Mapped[datetime]


class ToldVial(Table):
    """What became of one vial of a survey at the lab, as another database told it last."""

    __tablename__ = "told_vial"
    __table_args__ = (CheckConstraint(one_of("fate", *ToldFate), name="fate"),)
    survey_id: Mapped[int] = mapped_column(ForeignKey("survey.id", ondelete="CASCADE"), primary_key=True)
    code: Mapped[str] = mapped_column(String(9), primary_key=True)
    fate: Mapped[ToldFate] = mapped_column(Word(ToldFate))


class Pairing(Table):
    """A one-time token by which a device is paired with the served pages; only its digest is kept."""

    __tablename__ = "pairing"
    id: Mapped[int] = mapped_column(primary_key=True)
    token: Mapped[str] = mapped_column(String(64), unique=True)  # SHA-256
    writes: Mapped[bool]  # or only looks
    offered_at: Mapped[datetime]
    offered_by: Mapped[str]
    ends_at: Mapped[datetime]
    used_at: Mapped[datetime | None]


class PairingTry(Table):
    """One try of a pairing code, kept for the minute in which tries from an address are counted."""

    __tablename__ = "pairing_try"
    id: Mapped[int] = mapped_column(primary_key=True)
    address: Mapped[str]
    tried_at: Mapped[datetime]


class Device(Table):
    """A paired phone, tablet or computer, and who uses it; only the digest of its session is kept."""

    __tablename__ = "device"
    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    name: Mapped[str]
    person: Mapped[str]
    writes: Mapped[bool]  # or only looks
    secret: Mapped[str] = mapped_column(String(64), unique=True)  # SHA-256
    paired_at: Mapped[datetime]
    used_at: Mapped[datetime]
    ends_at: Mapped[datetime]
    revoked_at: Mapped[datetime | None]


class Event(Table):
    """What happened, in order, for ever. A correction keeps the old value, who, when and why."""

    __tablename__ = "event"
    __table_args__ = (Index("ix_event_subject_kind_subject", "subject_kind", "subject"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True, insert_sentinel=True)
    at: Mapped[datetime]
    by: Mapped[str]
    verb: Mapped[str]  # filled, corrected, packed, sent, arrived, result_read, decided, …
    subject_kind: Mapped[str]  # lake, survey, fish, vial, shipment, finding, …
    subject: Mapped[str]  # its code; SURVEY#number for a fish, F12 for a finding
    old: Mapped[str | None]  # JSON
    new: Mapped[str | None]  # JSON
    why: Mapped[str | None]


class JournalEntry(Table):
    """Which rows one write transaction left, as digests, chained by hash, one chain a station (store/journal.py).
    Triggers refuse update and delete."""

    __tablename__ = "journal"
    station: Mapped[str] = mapped_column(String(32), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    previous: Mapped[str] = mapped_column(String(64))
    rows: Mapped[str]  # JSON: table -> key -> digest, null for a row that was deleted
    note: Mapped[str | None]
    hash: Mapped[str] = mapped_column(String(64), unique=True)
    # SHA-256 of the carry file that brought an entry of another station; absent for those written here
    carried_by: Mapped[str | None] = mapped_column(String(64))
