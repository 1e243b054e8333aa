"""The rows a finding is about: each cell as the lab wrote it, beside what was read from it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.words.roles import ROLES, ColumnRole
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Finding, Result, ReturnFile, ReturnRow, Vial
from geneticlog.work.result.kept_reading import kept_cells, kept_reading

MOST_SHOWN = 20  # rows of one finding on a page
READ = ("q", "other_q", "third_q", "heterozygosity", "n_loci", "call_rate", "lab_class", "failure")


@dataclass(frozen=True)
class CellRead:
    """One cell: its heading, the text as written, what its column was taken for ("" for nothing), the value read."""

    heading: str
    text: str
    taken_for: str
    read: str | None


@dataclass(frozen=True)
class RowRead:
    """One row, as a person counts it in the sheet. outcome: of the row; standing: of its result, if it has one."""

    row: str
    outcome: str
    standing: str | None
    cells: tuple[CellRead, ...]


def finding_rows(session: Session, finding: Finding) -> list[RowRead]:
    """Return the rows of the lab's file that a finding is about; none for a finding about no file."""
    numbers = finding.rows[:MOST_SHOWN]
    file = session.get(ReturnFile, finding.return_file_id) if finding.return_file_id else None
    if file is None or not numbers:
        return []
    reading = kept_reading(file.reading)
    roles = {column.key: column.role for column in reading.columns}
    rows = session.execute(
        select(ReturnRow, Result, Vial.code)
        .outerjoin(Result, Result.return_row_id == ReturnRow.id)
        .outerjoin(Vial, Vial.id == ReturnRow.vial_id)
        .where(ReturnRow.return_file_id == file.id, ReturnRow.row_number.in_(numbers))
        .order_by(ReturnRow.row_number)
    )
    return [
        RowRead(
            reading.sheet_rows.words([row.row_number]),
            row.outcome,
            None if result is None else result.standing,
            tuple(_cells(kept_cells(row.cells), roles, result, vial)),
        )
        for row, result, vial in rows
    ]


def _cells(
    cells: dict[str, str], roles: dict[str, ColumnRole], result: Result | None, vial: str | None
) -> Iterator[CellRead]:
    taxa = {
        "taxon": result.panel.taxon if result is not None and result.panel else "Florida",
        "other_taxon": result.panel.other_taxon if result is not None and result.panel else "northern",
    }
    for heading, text in cells.items():
        role = roles.get(heading, ColumnRole.NOT_USED)
        read = None
        if role == ColumnRole.VIAL:
            read = printed(vial) if vial else None
        elif role in READ and result is not None:
            value = getattr(result, role)
            read = f"{value:.6g}" if isinstance(value, float) else None if value is None else str(value)
        yield CellRead(heading, text, ROLES[role].format(**taxa) if role else "", read)
