"""Tables of what labs return: files, their rows as they came, results, genotypes, and what does not reconcile."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import (
    CheckConstraint,
    ForeignKey,
    Index,
    LargeBinary,
    String,
    UniqueConstraint,
    text,
)
from sqlalchemy.orm import Mapped, mapped_column, relationship, validates

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_data import FindingData
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.store.columns import (
    FindingDataText,
    RowNumbers,
    Word,
)
from geneticlog.store.table_base import Table, one_of, read_at_once

if TYPE_CHECKING:
    from geneticlog.store.tables_of_fish import Fish, Vial
    from geneticlog.store.tables_of_lakes import Survey
    from geneticlog.store.tables_of_shipments import Panel, Shipment


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
        ),
        CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_why IS NULL)", name="withdrawn_has_a_reason"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    shipment_id: Mapped[int] = mapped_column(ForeignKey("shipment.id"))
    sha256: Mapped[str] = mapped_column(String(64), index=True)
    name: Mapped[str]
    content: Mapped[bytes] = mapped_column(LargeBinary)
    reading: Mapped[str]  # JSON: sheet, heading row, each column's meaning, unit and evidence, missing words
    account: Mapped[str | None]  # JSON: what became of everything in it (rules/lab_return/account/account.py)
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
    _read = validates("rows", "data")(read_at_once)
    fish: Mapped[Fish | None] = relationship()
