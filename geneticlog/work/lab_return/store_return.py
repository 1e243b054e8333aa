"""Store the rows, results and genotypes of a return, many at a time."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.sheet.reading import Reading
from geneticlog.rules.result.result_states import ResultStanding
from geneticlog.store.bulk import insert_rows
from geneticlog.store.chunks import AT_A_TIME, in_chunks
from geneticlog.store.sheets import Sheet
from geneticlog.store.tables import Genotype, Result, ReturnRow, Shipment
from geneticlog.work.lab_return.place_rows import PlacedRow
from geneticlog.work.result.kept_reading import cell_writer

Progress = Callable[[int, int], None]
ROW_COLUMNS = ("return_file_id", "row_number", "code_as_written", "cells", "vial_id", "outcome")
RESULT_COLUMNS = (
    "vial_id", "return_row_id", "panel_id", "outcome", "standing", "q", "other_q", "third_q", "heterozygosity",
    "n_loci", "call_rate", "lab_class", "failure",
)  # fmt: skip


def store_return(
    session: Session,
    file_id: int,
    shipment: Shipment,
    sheet: Sheet,
    reading: Reading,
    placed: Sequence[PlacedRow],
    progress: Progress | None,
) -> None:
    """Store each row as the lab wrote it, and each result with its genotypes; results that are replaced are marked so.

    progress
        called with rows done and rows in all, each counted twice: once as a row, once as a result.
    """
    replaced = [old.id for each in placed for old in each.superseded]
    for chunk in in_chunks(replaced):
        session.execute(
            Result.__table__.update()  # type: ignore[attr-defined]
            .where(Result.id.in_(chunk))
            .values(standing=ResultStanding.SUPERSEDED, fish_id=None, replaced_by_id=file_id)
        )
    write = cell_writer(reading)
    connection = session.connection()
    n_stored = 0
    for part in in_chunks(placed):
        insert_rows(
            connection,
            ReturnRow.__table__,  # type: ignore[arg-type]
            ROW_COLUMNS,
            [
                (
                    file_id,
                    each.draft.row,
                    each.draft.written or None,
                    write(sheet.rows[each.draft.row - 1]),
                    each.vial.id if each.vial else each.stranger_id,
                    each.outcome,
                )
                for each in part
            ],
        )
        n_stored += len(part)
        if progress:
            progress(n_stored, 2 * len(placed))
    stored = connection.execute(
        select(ReturnRow.row_number, ReturnRow.id).where(ReturnRow.return_file_id == file_id)
    ).fetchall()
    ids = {row_number: row_id for row_number, row_id in stored}  # noqa: C416 - rows are no plain pairs to mypy
    with_result = [each for each in placed if each.standing and each.vial]
    n_stored = len(placed)
    for chosen in in_chunks(with_result):
        insert_rows(
            connection,
            Result.__table__,  # type: ignore[arg-type]
            RESULT_COLUMNS,
            [_result(each, ids, shipment.panel_id) for each in chosen],
        )
        n_stored += len(chosen)
        if progress:
            progress(n_stored, 2 * len(placed))
    _store_genotypes(session, file_id, with_result, ids)
    if progress:
        progress(2 * len(placed), 2 * len(placed))


def _result(each: PlacedRow, ids: Mapping[int, int], panel_id: int | None) -> tuple[Any, ...]:
    draft = each.draft
    return (
        each.vial.id if each.vial else None,
        ids[draft.row],
        panel_id,
        draft.outcome,
        each.standing,
        draft.q,
        draft.other_q,
        draft.third_q,
        draft.heterozygosity,
        draft.n_loci,
        draft.call_rate,
        draft.lab_class,
        draft.failure,
    )


def _store_genotypes(
    session: Session, file_id: int, placed: Sequence[PlacedRow], ids: Mapping[int, int]
) -> None:
    typed = {ids[each.draft.row]: each.draft.genotypes for each in placed if each.draft.genotypes}
    if not typed:
        return
    stored = session.execute(
        select(Result.return_row_id, Result.id)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .where(ReturnRow.return_file_id == file_id)
    )
    of_row = {row_id: result_id for row_id, result_id in stored}  # noqa: C416 - as above
    calls = (
        (of_row[row_id], marker, count)
        for row_id, genotypes in typed.items()
        for marker, count in (genotypes or {}).items()
    )
    connection = session.connection()
    for part in in_chunks(calls, 4 * AT_A_TIME):  # never all of them at once: there are dozens a fish
        insert_rows(connection, Genotype.__table__, ("result_id", "marker", "n_alleles"), part)  # type: ignore[arg-type]
