"""A file that was read, as the lab wrote it, beside its account and what was made of each row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.sheet.account_items import Account
from geneticlog.rules.lab_return.sheet.sheet_rows import SheetRows
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.store.tables import Result, ReturnFile, ReturnRow, Vial
from geneticlog.work.result.kept_reading import kept_account, kept_cells, sheet_rows_of


@dataclass(frozen=True)
class ShownRow:
    """One row: its number, its cells as written, and what of it is kept; shares are of one."""

    row: int
    cells: dict[str, str]
    vial: str | None
    outcome: Outcome
    standing: ResultStanding | None
    q: float | None
    heterozygosity: float | None
    n_loci: int | None


@dataclass(frozen=True)
class ShownReturn:
    """A file that was read; ``account`` is None for one that was read before accounts were kept."""

    file: str
    shipment: str
    sha256: str
    read_at: datetime
    read_by: str
    withdrawn_at: datetime | None
    withdrawn_by: str | None
    withdrawn_why: str | None
    account: Account | None
    rows: tuple[ShownRow, ...]
    sheet_rows: SheetRows


def show_return(session: Session, file: ReturnFile) -> ShownReturn:
    """Return a file with its account and its rows, in the file's order."""
    rows_found = session.execute(
        select(ReturnRow, Vial.code, Result.standing, Result.q, Result.heterozygosity, Result.n_loci)
        .outerjoin(Vial, Vial.id == ReturnRow.vial_id)
        .outerjoin(Result, Result.return_row_id == ReturnRow.id)
        .where(ReturnRow.return_file_id == file.id)
        .order_by(ReturnRow.row_number, Result.id)
    ).all()
    rows = {
        row.row_number: ShownRow(
            row.row_number, kept_cells(row.cells), code, row.outcome, standing, q, h, n_loci
        )
        for row, code, standing, q, h, n_loci in rows_found
    }
    return ShownReturn(
        file.name, file.shipment.code, file.sha256, file.read_at, file.read_by, file.withdrawn_at,
        file.withdrawn_by, file.withdrawn_why,
        kept_account(file), tuple(rows.values()), sheet_rows_of(file),
    )  # fmt: skip
