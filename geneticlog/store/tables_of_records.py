"""Tables of what happened: events, the journal, reports that went out, devices, what another database says."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import (
    CheckConstraint,
    ForeignKey,
    Index,
    String,
    text,
)
from sqlalchemy.orm import Mapped, mapped_column

from geneticlog.rules.shipment.told_fate import ToldFate
from geneticlog.store.columns import (
    Word,
)
from geneticlog.store.table_base import Table, one_of


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
    __table_args__ = (
        Index("ix_event_subject_kind_subject", "subject_kind", "subject"),
        # few, and asked for with every fish
        Index(
            "ix_event_undone",
            "verb",
            "subject_kind",
            sqlite_where=text("verb = 'undone'"),
        ),
    )
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
    __table_args__ = (  # the last one of this station's own is asked for with every commit
        Index(
            "ix_journal_own",
            "number",
            sqlite_where=text("carried_by IS NULL"),
        ),
    )
    station: Mapped[str] = mapped_column(String(32), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    previous: Mapped[str] = mapped_column(String(64))
    rows: Mapped[str]  # JSON: table -> key -> digest, null for a row that was deleted
    note: Mapped[str | None]
    hash: Mapped[str] = mapped_column(String(64), unique=True)
    # SHA-256 of the carry file that brought an entry of another station; absent for those written here
    carried_by: Mapped[str | None] = mapped_column(String(64))
