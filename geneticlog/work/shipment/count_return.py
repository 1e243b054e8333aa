"""Count what came back of a shipment against what was sent."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.drafts.return_counts import Counts, ReturnedRow, Standing, count_return
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.result.result_states import Outcome
from geneticlog.rules.shipment.custody import GONE
from geneticlog.store.tables import Result, ReturnFile, ReturnRow, Shipment, ShipmentPosition, Vial
from geneticlog.work.result.in_the_numbers import in_force


@dataclass(frozen=True)
class InForce:
    """One row of a return that is in force: no later file has another row about the same code."""

    id: int
    return_file_id: int
    row_number: int
    code_as_written: str | None
    vial_id: int | None
    vial: str | None
    outcome: Outcome


@dataclass(frozen=True)
class Returned:
    """What came back of one shipment: its counts, the rows in force, and whether anything was read at all.

    awaited: the vials, code -> id, that no row is about; one that arrived missing or broken is awaited no longer
    """

    counts: Counts
    rows: tuple[InForce, ...]
    sent: dict[str, int]  # vial code -> vial id
    awaited: dict[str, int]
    n_files: int
    last_read_at: datetime | None
    first_read_at: datetime | None = None

    @property
    def complete(self) -> bool:
        """Whether everything has come back that the lab had."""
        return self.n_files > 0 and not self.awaited

    @property
    def n_gone(self) -> int:
        """How many of the missing vials arrived missing or broken."""
        return self.counts.missing - len(self.awaited)


def returned_of(session: Session, shipment: Shipment) -> Returned:
    """Return the counts of a shipment and the rows they are counted from."""
    positions = session.execute(
        select(Vial.code, Vial.id, Vial.role, ShipmentPosition.arrival)
        .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .where(ShipmentPosition.shipment_id == shipment.id)
        .order_by(ShipmentPosition.id)
    ).all()
    sent = {row.code: row.id for row in positions}
    files = session.execute(
        select(ReturnFile.id, ReturnFile.read_at)
        .where(ReturnFile.shipment_id == shipment.id, ReturnFile.withdrawn_at.is_(None))
        .order_by(ReturnFile.read_at, ReturnFile.id)
    ).all()
    rows = _in_force(session, {file.id: number for number, file in enumerate(files)})
    counts = count_return(
        sent.keys(),
        (ReturnedRow(row.vial, row.outcome) for row in rows),
        _results(session, shipment),
        {row.code for row in positions if row.role == VialRole.BLANK},
    )
    first, last = (files[0].read_at, files[-1].read_at) if files else (None, None)
    back = {row.vial_id for row in rows}
    awaited = {row.code: row.id for row in positions if row.id not in back and row.arrival not in GONE}
    return Returned(counts, tuple(rows), sent, awaited, len(files), last, first)


def _results(session: Session, shipment: Shipment) -> dict[str, set[Standing]]:
    """Return, by vial, standing and outcome of the results that returns of this shipment brought."""
    standings: dict[str, set[Standing]] = defaultdict(set)
    for code, standing, outcome in session.execute(
        select(Vial.code, Result.standing, Result.outcome)
        .join(Result, Result.vial_id == Vial.id)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .join(ReturnFile, ReturnFile.id == ReturnRow.return_file_id)
        .where(ReturnFile.shipment_id == shipment.id, in_force())
    ):
        standings[code].add((standing, outcome))
    return standings


def _in_force(session: Session, files: dict[int, int]) -> list[InForce]:
    """Rows of the newest file that names each code: a corrected re-issue takes over row by row."""
    readings = [
        InForce(*row)
        for row in session.execute(
            select(
                ReturnRow.id,
                ReturnRow.return_file_id,
                ReturnRow.row_number,
                ReturnRow.code_as_written,
                ReturnRow.vial_id,
                Vial.code,
                ReturnRow.outcome,
            )
            .outerjoin(Vial, Vial.id == ReturnRow.vial_id)
            .where(ReturnRow.return_file_id.in_(files))
            .order_by(ReturnRow.id)
        )
    ]
    newest: dict[object, int] = {}
    for row in readings:
        key = _subject(row)
        newest[key] = max(newest.get(key, -1), files[row.return_file_id])
    return [row for row in readings if newest[_subject(row)] == files[row.return_file_id]]


def _subject(row: InForce) -> object:
    if row.vial_id is not None:
        return row.vial_id
    return (row.code_as_written or "").strip().upper() or ("row", row.id)
