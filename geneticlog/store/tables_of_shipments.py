"""Tables of labs, their panels, rule sets, and the shipments that are sent to them."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import (
    CheckConstraint,
    ForeignKey,
    String,
    UniqueConstraint,
)
from sqlalchemy.orm import Mapped, mapped_column, relationship

from geneticlog.rules.shipment.custody import Arrival, ShipmentStanding
from geneticlog.store.columns import (
    JsonList,
    Word,
)
from geneticlog.store.table_base import Table, one_of

if TYPE_CHECKING:
    from geneticlog.store.tables_of_fish import Vial


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
