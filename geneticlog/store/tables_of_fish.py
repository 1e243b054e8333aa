"""Tables of the boat: fish as they were measured, their vials and labels, cards that are open on a device."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import (
    CheckConstraint,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    LargeBinary,
    String,
    UniqueConstraint,
    text,
)
from sqlalchemy.orm import Mapped, mapped_column, relationship

from geneticlog.rules.label.vial_states import VialRole, VialStanding
from geneticlog.store.columns import (
    Word,
)
from geneticlog.store.table_base import Table, one_of

if TYPE_CHECKING:
    from geneticlog.store.tables_of_lakes import Survey


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
        # with all that a count by size class reads of a fish: it then looks up none
        Index("ix_fish_survey_id_size_class", "survey_id", "size_class", "species", "n_fish"),
        Index(
            "ix_fish_survey_id_site",
            "survey_id",
            "site",
            sqlite_where=text("site IS NOT NULL"),
        ),
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
        Index("ix_vial_fish_id", "fish_id", "standing"),
        Index(
            "ix_vial_role",
            "role",
            sqlite_where=text("role <> 'sample'"),
        ),
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
