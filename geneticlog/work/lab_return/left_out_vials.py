"""Find the samples whose values an earlier file of a shipment gave and a re-issue of it no longer has."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.doubts_of_files.left_out import left_out
from geneticlog.rules.result.result_states import UNDER_WAY, Outcome
from geneticlog.store.tables import Finding, Result, ReturnFile, ReturnRow, Vial
from geneticlog.work.finding.open_findings import Found
from geneticlog.work.lab_return.known_before.returned_vials import result_in_words

if TYPE_CHECKING:
    from geneticlog.work.lab_return.place_rows import PlacedRow


def left_out_vials(session: Session, file: ReturnFile, placed: Sequence[PlacedRow]) -> list[Found]:
    """Return a finding for each vial that a re-issue of its file leaves out while its value counts, in order of code.

    A vial that an earlier re-issue left out too is not asked about again.
    """
    earlier: dict[int, set[int]] = defaultdict(set)
    names = {}
    for file_id, name, vial_id in session.execute(
        select(ReturnFile.id, ReturnFile.name, ReturnRow.vial_id)
        .join(ReturnRow, ReturnRow.return_file_id == ReturnFile.id)
        .where(
            ReturnFile.shipment_id == file.shipment_id,
            ReturnFile.id != file.id,
            ReturnFile.withdrawn_at.is_(None),
            ReturnRow.vial_id.is_not(None),
        )
    ):
        names[file_id] = name
        if vial_id is not None:
            earlier[file_id].add(vial_id)
    same = {each.vial.id for each in placed if each.vial and each.unchanged}
    repeated = left_out(earlier, {each.vial.id for each in placed if each.vial}, same)
    if not repeated:
        return []
    asked = set(
        session.scalars(
            select(Finding.vial_id)
            .join(ReturnFile, ReturnFile.id == Finding.return_file_id)
            .where(
                Finding.kind == FindingKind.LEFT_OUT,
                Finding.shipment_id == file.shipment_id,
                ReturnFile.withdrawn_at.is_(None),
            )
        )
    )
    out = {}
    for code, q, heterozygosity, vial_id, file_id in session.execute(
        select(Vial.code, Result.q, Result.heterozygosity, Vial.id, ReturnRow.return_file_id)
        .join(Result, Result.vial_id == Vial.id)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .where(
            ReturnRow.return_file_id.in_(repeated),
            Result.outcome == Outcome.TYPED,
            Result.standing.in_(UNDER_WAY),
        )
        .order_by(Vial.code)
    ):
        gone = repeated[file_id]
        if vial_id in gone.vials and vial_id not in asked:
            facts: dict[str, object] = {
                "vial": code, "old": result_in_words(Outcome.TYPED, q, heterozygosity), "earlier": names[file_id],
                "file": file.name, "n_again": gone.n_again, "n_earlier": gone.n_earlier,
            }  # fmt: skip
            out[vial_id] = Found(FindingKind.LEFT_OUT, facts, vial_id=vial_id)
    return list(out.values())
