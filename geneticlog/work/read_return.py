"""Read a lab's return for a shipment: all of it or nothing, its bytes kept, every doubt a finding."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from geneticlog.errors import SheetFault
from geneticlog.rules.cells import number
from geneticlog.rules.headings import Taxa
from geneticlog.rules.layout import Layout
from geneticlog.rules.reading import Reading
from geneticlog.rules.returned_rows import Draft, Drafter, give_panel_loci
from geneticlog.store.bulk import insert_rows, without_collector
from geneticlog.store.layouts import read_layout, read_markers
from geneticlog.store.sheets import EMPTY, Sheet, read_sheets
from geneticlog.store.tables import Genotype, Result, ReturnFile, ReturnRow, Shipment
from geneticlog.work.lab_sheet import find_lab_sheet
from geneticlog.work.record import find_shipment, record
from geneticlog.work.return_findings import (
    Found,
    disagreeing_pairs,
    findings_of,
    open_findings,
)
from geneticlog.work.returned_vials import (
    NO_RESULT,
    Earlier,
    Sent,
    earlier_results,
    result_in_words,
    sent_vials,
    strangers,
)
from geneticlog.work.returned_words import cell_writer, reading_in_json
from geneticlog.work.speaking import in_chunks, settle_return

Progress = Callable[[int, int], None]
AT_A_TIME = 5_000
ROW_COLUMNS = ("return_file_id", "row_number", "code_as_written", "cells", "vial_id", "outcome")
RESULT_COLUMNS = (
    "vial_id", "return_row_id", "panel_id", "outcome", "standing", "q", "other_q", "third_q", "heterozygosity",
    "n_loci", "call_rate", "lab_class", "failure",
)  # fmt: skip


@dataclass(frozen=True)
class ReturnRead:
    """What reading a return came to.

    ``already_read_at`` is set, and nothing changed, for bytes read before.
    """

    shipment: str
    file: str
    sha256: str
    n_rows: int
    n_typed: int = 0
    n_failed: int = 0
    n_held: int = 0
    n_unexpected: int = 0
    n_duplicate_rows: int = 0
    n_superseded: int = 0
    findings: tuple[tuple[int, str, str], ...] = ()  # number, kind, sentence
    doubts: tuple[str, ...] = ()
    already_read_at: datetime | None = None
    already_read_by: str | None = None


@dataclass(slots=True)
class Placed:
    """A draft with its place in the shipment: the vial, the outcome of its row, the standing of its
    result."""

    draft: Draft
    vial: Sent | None
    outcome: str
    standing: str | None = None  # None: the row makes no result
    superseded: list[Earlier] = field(default_factory=list)
    stranger_id: int | None = None  # a vial of ours that is not in this shipment
    where: str = "its code is not one of ours"


def layout_for(session: Session, shipment: Shipment) -> Layout:
    """Return the layout of the shipment's lab, with the taxa and marker table of its panel."""
    panel = shipment.panel
    taxa = Taxa(panel.taxon, panel.other_taxon) if panel else Taxa()
    source = f"layout of lab {shipment.lab.code}"
    layout = read_layout(shipment.lab.layout, source, taxa) if shipment.lab.layout else Layout(taxa=taxa)
    if panel and panel.markers and not layout.markers:
        layout = replace(layout, markers=read_markers(panel.markers, f"markers of panel {panel.code}"))
    return layout


def read_return(
    session: Session,
    content: bytes,
    file_name: str,
    shipment_code: str,
    *,
    now: datetime,
    by: str,
    layout: Layout | None = None,
    progress: Progress | None = None,
) -> ReturnRead:
    """Store what a lab says of the vials of a shipment.

    content, file_name
        the file as it came; the bytes are kept.
    layout
        how the lab lays its file out; without one, the lab's own, and what that leaves open is recognised.
    progress
        called with rows done and rows in all.
    raises
        NotFound for the shipment; SheetFault for a file that cannot be read or can be read in two ways.
        Nothing is stored then.
    """
    with without_collector():
        return _read(session, content, file_name, shipment_code, now, by, layout, progress)


def _read(
    session: Session,
    content: bytes,
    file_name: str,
    shipment_code: str,
    now: datetime,
    by: str,
    layout: Layout | None,
    progress: Progress | None,
) -> ReturnRead:
    shipment = find_shipment(session, shipment_code)
    digest = hashlib.sha256(content).hexdigest()
    before = session.scalar(
        select(ReturnFile).where(ReturnFile.shipment_id == shipment.id, ReturnFile.sha256 == digest)
    )
    if before is not None:
        return ReturnRead(
            shipment.code, file_name, digest, before.n_rows, already_read_at=before.read_at,
            already_read_by=before.read_by,
        )  # fmt: skip
    layout = layout or layout_for(session, shipment)
    sheet, reading = find_lab_sheet(read_sheets(content, file_name), layout, file_name)
    ask(reading)
    refuse_without_samples(reading)
    sent = sent_vials(session, shipment.id)
    panel_loci = shipment.panel.n_loci if shipment.panel else None
    drafts = list(Drafter(reading, sent, panel_loci).drafts(sheet.rows))
    refuse_shares_without_q(reading, drafts, sheet)
    from_panel = give_panel_loci(drafts, panel_loci)
    found: list[Found] = []
    placed = place(session, drafts, sent, shipment, found)
    file = ReturnFile(
        shipment_id=shipment.id, sha256=digest, name=file_name, content=content, n_rows=len(drafts),
        reading=reading_in_json(reading, panel_loci if from_panel else None), read_at=now, read_by=by,
    )  # fmt: skip
    session.add(file)
    session.flush()
    _store(session, file.id, shipment, sheet, reading, placed, progress)
    found += findings_of(placed, sheet, shipment, sent)
    found += disagreeing_pairs(session, file.id)
    numbers = open_findings(
        session, found, shipment_id=shipment.id, return_file_id=file.id, digest=digest, now=now, by=by
    )
    settle_return(session, file.id)
    read = ReturnRead(
        shipment=shipment.code,
        file=file_name,
        sha256=digest,
        n_rows=len(drafts),
        n_typed=sum(p.standing == "current" and p.draft.outcome == "typed" for p in placed),
        n_failed=sum(p.standing == "current" and p.draft.outcome == "failed" for p in placed),
        n_held=sum(p.standing == "held" for p in placed),
        n_unexpected=sum(p.outcome == "unexpected" for p in placed),
        n_duplicate_rows=sum(p.outcome == "duplicate" for p in placed),
        n_superseded=sum(len(p.superseded) for p in placed),
        findings=tuple(numbers),
        doubts=reading.doubts,
    )
    counts = {key: getattr(read, key) for key in vars(read) if key.startswith("n_")}
    record(
        session, "return_read", "shipment", shipment.code, now=now, by=by,
        new={"file": file_name, "sha256": digest, **counts},
    )  # fmt: skip
    session.flush()
    return read


def ask(reading: Reading) -> None:
    """Raise SheetFault with every question that a person has to answer before the file can be read."""
    if reading.questions:
        texts = [f"{question.text}; say {question.options}" for question in reading.questions]
        raise SheetFault(
            "; ".join(texts),
            file=reading.file,
            sheet=reading.sheet or None,
            row=reading.heading_row or None,
            way_out="and keep the answer with: geneticlog return preview … --save-layout",
        )


def refuse_without_samples(reading: Reading) -> None:
    """Raise SheetFault for a file that is a heading and nothing else."""
    if not reading.data_rows:
        raise SheetFault(
            "there is no sample below the heading", file=reading.file, row=reading.heading_row or None
        )


def refuse_shares_without_q(reading: Reading, drafts: Sequence[Draft], sheet: Sheet) -> None:
    """Raise SheetFault where every sample seems to have failed, yet other columns hold shares of its
    alleles."""
    column = reading.column("q")
    if column is None or any(draft.outcome != "failed" for draft in drafts):
        return
    for role in ("other_q", "third_q", "heterozygosity"):
        other = reading.column(role)
        if other is None:
            continue
        for draft in drafts:
            row = sheet.rows[draft.row - 1]
            cell = row[other.number - 1] if len(row) >= other.number else EMPTY
            found = number(cell.text, "." if cell.kind == "number" else reading.decimal)
            if found is not None and found.value > 0:
                raise SheetFault(
                    f"no sample has a value here, yet column {other.heading or other.letter} has numbers, so"
                    " they did not all fail",
                    file=reading.file,
                    sheet=reading.sheet or None,
                    row=draft.row,
                    column=column.heading or column.letter,
                    way_out="name the column of the share with --column q=HEADING, or ask the lab for it",
                )


def place(
    session: Session,
    drafts: Sequence[Draft],
    sent: Mapping[str, Sent],
    shipment: Shipment,
    found: list[Found],
) -> list[Placed]:
    """Return each draft with its vial, the outcome of its row and the standing of its result.

    A later file replaces what an earlier one said, row by row, but a held row replaces nothing that stands.
    """
    placed = place_rows(drafts, sent, found)
    unknown = [each for each in placed if each.vial is None and each.draft.code]
    if unknown:
        ours = strangers(session, [each.draft.code or "" for each in unknown])
        for each in unknown:
            if stranger := ours.get(each.draft.code or ""):
                each.stranger_id, each.where = stranger
    if earlier := earlier_results(session, shipment.id):
        kept_of: dict[int, list[Placed]] = defaultdict(list)
        for each in placed:
            if each.vial is not None and each.standing:
                kept_of[each.vial.id].append(each)
        for vial_id, kept in kept_of.items():
            if vial_id in earlier:
                _replace(kept, earlier[vial_id])
    return placed


def place_rows(drafts: Sequence[Draft], sent: Mapping[str, Sent], found: list[Found]) -> list[Placed]:
    """Return each draft with its vial: rows that repeat one another count once, rows that differ are held."""
    placed = []
    first_of: dict[int, Placed] = {}
    rows_of: dict[int, list[Placed]] = {}
    for draft in drafts:
        vial = sent.get(draft.code) if draft.code else None
        each = Placed(draft, vial, "unexpected" if vial is None else draft.outcome)
        placed.append(each)
        if vial is None:
            continue
        each.standing = "held" if draft.held else "current"
        if draft.held and draft.outcome == "typed":
            each.outcome = "doubtful"
        before = first_of.setdefault(vial.id, each)
        if before is not each:
            rows_of.setdefault(vial.id, [before]).append(each)
    for rows in rows_of.values():
        kept = _without_repeats(rows)
        if len(kept) > 1:
            for each in kept:
                each.outcome, each.standing, each.draft.held = "conflicting", "held", True
            found.append(_conflict(kept))
    return placed


def _without_repeats(rows: list[Placed]) -> list[Placed]:
    kept: dict[tuple[object, ...], Placed] = {}
    for each in rows:
        if kept.setdefault(each.draft.said, each) is not each:
            each.outcome, each.standing = "duplicate", None
    return list(kept.values())


def _conflict(kept: list[Placed]) -> Found:
    values = ", ".join(said_of(each.draft) for each in kept)
    vial = kept[0].vial
    assert vial is not None
    rows = [each.draft.row for each in kept]
    return Found("conflicting", {"vial": vial.code, "values": values}, rows, vial.id)


def said_of(draft: Draft) -> str:
    """Return what a row says of its fish, in a few words."""
    return result_in_words(draft.outcome, draft.q, draft.heterozygosity)


def _replace(kept: list[Placed], earlier: list[Earlier]) -> None:
    """Let the rows of a later file replace what earlier files said of the same vial."""
    standing = [result for result in earlier if result.standing == "current"]
    held = [result for result in earlier if result.standing == "held"]
    rejected = [result for result in earlier if result.standing == "rejected"]
    first = kept[0]
    if len(kept) == 1 and not first.draft.held and rejected and not standing and not held:
        first.draft.note("reissue_of_rejected", new=said_of(first.draft))
        first.standing = "held"
        first.outcome = "doubtful" if first.outcome == "typed" else first.outcome
        return
    typed = next((old for old in standing if old.said != NO_RESULT), None)
    if first.draft.outcome == "failed" and first.standing == "current" and typed:
        # A failure says nothing new of the fish, and a column misread looks like one.
        first.draft.noted = [noted for noted in first.draft.noted if noted.kind != "failed"]
        said = f", {first.draft.failure!r}" if first.draft.failure else ""
        first.draft.note("failed_after_result", old=typed.said, said=said)
        first.standing = "held"
    first.superseded = held if first.standing == "held" else standing + held
    if first.standing == "current":
        for old in standing:
            if old.said != said_of(first.draft):
                first.draft.note("reissue_changed", old=old.said, new=said_of(first.draft))


def _store(
    session: Session,
    file_id: int,
    shipment: Shipment,
    sheet: Sheet,
    reading: Reading,
    placed: Sequence[Placed],
    progress: Progress | None,
) -> None:
    replaced = [old.id for each in placed for old in each.superseded]
    for chunk in in_chunks(replaced):
        session.execute(
            Result.__table__.update()  # type: ignore[attr-defined]
            .where(Result.id.in_(chunk))
            .values(standing="superseded", fish_id=None)
        )
    write = cell_writer(reading)
    connection = session.connection()
    for start in range(0, len(placed), AT_A_TIME):
        part = placed[start : start + AT_A_TIME]
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
        if progress:
            progress(start + len(part), 2 * len(placed))
    stored = session.execute(
        select(ReturnRow.row_number, ReturnRow.id).where(ReturnRow.return_file_id == file_id)
    )
    ids = {row_number: row_id for row_number, row_id in stored}  # noqa: C416 - rows are no plain pairs to mypy
    with_result = [each for each in placed if each.standing and each.vial]
    for start in range(0, len(with_result), AT_A_TIME):
        chosen = with_result[start : start + AT_A_TIME]
        insert_rows(
            connection,
            Result.__table__,  # type: ignore[arg-type]
            RESULT_COLUMNS,
            [_result(each, ids, shipment.panel_id) for each in chosen],
        )
        if progress:
            progress(len(placed) + start + len(chosen), 2 * len(placed))
    _store_genotypes(session, file_id, with_result, ids)
    if progress:
        progress(2 * len(placed), 2 * len(placed))


def _result(each: Placed, ids: Mapping[int, int], panel_id: int | None) -> tuple[Any, ...]:
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
    session: Session, file_id: int, placed: Sequence[Placed], ids: Mapping[int, int]
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
    rows = [
        {"result_id": of_row[row_id], "marker": marker, "n_alleles": count}
        for row_id, genotypes in typed.items()
        for marker, count in (genotypes or {}).items()
    ]
    for start in range(0, len(rows), 4 * AT_A_TIME):
        session.execute(insert(Genotype), rows[start : start + 4 * AT_A_TIME])
