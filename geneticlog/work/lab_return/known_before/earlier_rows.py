"""What earlier files of a shipment said of its vials, row by row, as a later file is compared with it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.drafts.same_result import FURTHER, SHARES, Before, usual_half_digit
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Finding, Genotype, Result, ReturnFile, ReturnRow, Vial
from geneticlog.work.lab_return.known_before.returned_vials import result_in_words
from geneticlog.work.result.as_the_lab_said import as_the_lab_said, corrections_of
from geneticlog.work.result.in_the_numbers import in_force
from geneticlog.work.result.kept_reading import half_digits_of, kept_cells, kept_reading

_WRITTEN = ("written", "said")  # facts of a finding that hold what was seen in the cell


@dataclass(frozen=True)
class Earlier:
    """A result of an earlier file that no later one replaced; ``said`` is what its row says in a few words.

    ``read`` is what the row said, where a person corrected it since; ``before`` is what stands.
    """

    id: int
    standing: ResultStanding
    said: str
    before: Before
    read: Before | None = None

    @property
    def every(self) -> list[Before]:
        """What stands and, where it was corrected, what the lab's row said: a later row may say either again."""
        return [self.before, *([self.read] if self.read else [])]


@dataclass(frozen=True)
class Stranger:
    """A row of an earlier file about no vial of the shipment: what it said, and the vial a person matched it with."""

    q: float | None
    outcome: Outcome | None
    matched: str | None


def earlier_rows(session: Session, shipment_id: int) -> dict[int, list[Earlier]]:
    """Return, by vial, the results of a shipment's readings in force that are not superseded, the oldest first."""
    rows = session.execute(
        select(Result, Vial.code, ReturnRow.row_number, ReturnRow.cells, ReturnFile.id, ReturnFile.reading)
        .join(Vial, Vial.id == Result.vial_id)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .join(ReturnFile, ReturnFile.id == ReturnRow.return_file_id)
        .where(ReturnFile.shipment_id == shipment_id, in_force())
        .order_by(Result.id)
    ).all()
    if not rows:
        return {}
    kinds = _found(session, shipment_id)
    genotypes = _genotypes(session, [row[0].id for row in rows])
    texts = {file_id: reading for _, _, _, _, file_id, reading in rows}
    readings = {file_id: kept_reading(text) for file_id, text in texts.items()}
    halves = [
        (file_id, half_digits_of(readings[file_id], kept_cells(cells))) for _, _, _, cells, file_id, _ in rows
    ]
    usual = _usual_digits(halves)
    out: dict[int, list[Earlier]] = defaultdict(list)
    corrections = corrections_of(session, {row[1] for row in rows})
    for (result, code, row_number, _, _, _), (file_id, written) in zip(rows, halves, strict=True):
        before = Before(
            outcome=result.outcome,
            values={name: getattr(result, name) for name in (*SHARES, *FURTHER)},
            half_digits={name: min(half, usual[file_id, name]) for name, half in written.items()},
            genotypes=genotypes.get(result.id),
            found=kinds.get((file_id, row_number), {}),
        )
        in_words = result_in_words(result.outcome, result.q, result.heterozygosity)
        read = None
        if as_read := as_the_lab_said(result, corrections.get(code, [])):
            values = {**before.values, **{name: as_read[name] for name in before.values if name in as_read}}
            read = replace(before, outcome=as_read.get("outcome", before.outcome), values=values)
            of_row = result_in_words(read.outcome, values["q"], values["heterozygosity"])
            in_words = f"{of_row} (corrected to {in_words})"
        out[result.vial_id].append(Earlier(result.id, result.standing, in_words, before, read))
    return out


def _usual_digits(rows: Iterable[tuple[int, Mapping[str, float]]]) -> dict[tuple[int, str], float]:
    """Return, by file and share, half the last digit to which its values are usually written."""
    halves: dict[tuple[int, str], list[float]] = defaultdict(list)
    for file_id, written in rows:
        for name, half in written.items():
            halves[file_id, name].append(half)
    return {key: usual_half_digit(each) for key, each in halves.items()}


def _found(session: Session, shipment_id: int) -> dict[tuple[int, int], dict[str, str]]:
    """Return, by file and row, the kinds of findings that were opened, each with the cell as it told it."""
    out: dict[tuple[int, int], dict[str, str]] = defaultdict(dict)
    for file_id, rows, data in session.execute(
        select(Finding.return_file_id, Finding.rows, Finding.data).where(
            Finding.shipment_id == shipment_id, Finding.return_file_id.is_not(None)
        )
    ):
        for row in rows:
            written = next((data.facts[name] for name in _WRITTEN if name in data.facts), "")
            out[file_id or 0, row][str(data.reason)] = str(written)
    return out


def _genotypes(session: Session, ids: Iterable[int]) -> dict[int, dict[str, int | None]]:
    out: dict[int, dict[str, int | None]] = defaultdict(dict)
    for chunk in in_chunks(ids):
        for result_id, marker, n_alleles in session.execute(
            select(Genotype.result_id, Genotype.marker, Genotype.n_alleles).where(
                Genotype.result_id.in_(chunk)
            )
        ):
            out[result_id][marker] = n_alleles
    return dict(out)


def strangers_before(session: Session, shipment_id: int) -> Mapping[str, Stranger]:
    """Return the rows of earlier readings in force that were about no vial of the shipment, by the code as written."""
    rows_found = session.execute(
        select(Finding.return_file_id, Finding.rows, Finding.data, Finding.decision)
        .join(ReturnFile, ReturnFile.id == Finding.return_file_id)
        .where(
            Finding.shipment_id == shipment_id,
            Finding.kind == FindingKind.UNEXPECTED,
            ReturnFile.withdrawn_at.is_(None),
        )
        .order_by(Finding.number)
    ).all()
    written = _written(session, {row.return_file_id for row in rows_found})
    out: dict[str, Stranger] = {}
    for file_id, rows, data, decision in rows_found:
        values = data.facts.get("values") or {}
        for number in rows:
            code, vial = written.get((file_id or 0, number), ("", None))
            matched = vial if decision == Decision.MATCH else None
            outcome = Outcome(values["outcome"]) if values.get("outcome") else None
            out[code] = Stranger(values.get("q"), outcome, matched)
    return out


def _written(
    session: Session, file_ids: Collection[int | None]
) -> dict[tuple[int, int], tuple[str, str | None]]:
    """Return, by file and row, the code as written and the vial that it is about by now."""
    if not file_ids:
        return {}
    rows = session.execute(
        select(ReturnRow.return_file_id, ReturnRow.row_number, ReturnRow.code_as_written, Vial.code)
        .outerjoin(Vial, Vial.id == ReturnRow.vial_id)
        .where(ReturnRow.return_file_id.in_(file_ids))
    )
    return {(file_id, number): ((text or "").strip(), vial) for file_id, number, text, vial in rows}
