"""Read a lab's return for a shipment: all of it or nothing, its bytes kept, every doubt a finding."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from dataclasses import dataclass, field, replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused, SheetFault
from geneticlog.rules.lab_return.sheet.account_items import Account
from geneticlog.rules.lab_return.sheet.reading import Reading
from geneticlog.rules.lab_return.sheet.sheet_rows import ONE_TABLE, SheetRows
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.result.result_states import Outcome, ReturnedAs
from geneticlog.rules.stamp import Stamp
from geneticlog.store.collector import without_collector
from geneticlog.store.tables import ReturnFile, Shipment
from geneticlog.work.events import find_shipment, record
from geneticlog.work.finding.disagreeing_pairs import disagreeing_pairs
from geneticlog.work.finding.open_findings import Found, open_findings
from geneticlog.work.lab_return.answer_findings import not_asked_twice, settle_earlier_findings
from geneticlog.work.lab_return.find_same_fish import find_same_fish
from geneticlog.work.lab_return.kept_layout import layout_for
from geneticlog.work.lab_return.known_before.expected import Expected, expected_of
from geneticlog.work.lab_return.later_files import place
from geneticlog.work.lab_return.left_out_vials import left_out_vials
from geneticlog.work.lab_return.look_first import Looked
from geneticlog.work.lab_return.place_rows import n_placed
from geneticlog.work.lab_return.return_findings import findings_of
from geneticlog.work.lab_return.right_shipment import check_shipment
from geneticlog.work.lab_return.store_return import Progress, store_return
from geneticlog.work.lab_return.understand import Understood, understand
from geneticlog.work.result.counted_result import fish_of_file, settle_return
from geneticlog.work.result.kept_reading import account_in_json, reading_in_json


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
    n_unchanged: int = 0
    findings: tuple[tuple[int, str, str], ...] = ()  # number, kind, sentence
    doubts: tuple[str, ...] = ()
    already_read_at: datetime | None = None
    already_read_by: str | None = None
    sheet_rows: SheetRows = ONE_TABLE
    account: Account = field(default_factory=lambda: Account(()))


@dataclass(frozen=True)
class LabFile:
    """A file as it came from a lab: its bytes and its name."""

    content: bytes
    name: str


@dataclass(frozen=True)
class Share:
    """What of a file over several shipments is one shipment's, and what is known of the file already.

    elsewhere, only_its_own
        codes whose rows are left to the other shipments, and whether rows about no vial of this one are too.
    together
        codes of every shipment that the file is read for.
    looked
        what ``look_first`` made of the file before the transaction began; it is taken where nothing that it rested on
        has changed since.
    """

    elsewhere: Collection[str] = ()
    only_its_own: bool = False
    looked: Looked | None = None
    together: Collection[str] = ()


def read_return(
    session: Session,
    file: LabFile,
    shipment_code: str,
    *,
    stamp: Stamp,
    layout: Layout | None = None,
    progress: Progress | None = None,
    share: Share = Share(),
) -> ReturnRead:
    """Store what a lab says of the vials of a shipment.

    file
        its bytes are kept.
    layout
        how the lab lays its file out; without one, the lab's own, and what that leaves open is recognised.
    progress
        called with rows done and rows in all.
    share
        what of the file is this shipment's, and what was made of it before.
    raises
        NotFound for the shipment; SheetFault for a file that cannot be read or can be read in two ways; Refused
        where none of its vials is in the shipment.
        Nothing is stored then.
    """
    with without_collector():
        shipment = find_shipment(session, shipment_code)
        digest = hashlib.sha256(file.content).hexdigest()
        if (before := _read_before(session, shipment, digest)) is not None:
            return ReturnRead(
                shipment.code, file.name, digest, before.n_rows, already_read_at=before.read_at,
                already_read_by=before.read_by,
            )  # fmt: skip
        layout = layout or layout_for(session, shipment)
        together = [find_shipment(session, code) for code in share.together]
        expected = expected_of(session, shipment, together, today=stamp.now.astimezone().date())
        if share.looked is not None and share.looked.still_holds(digest, layout, expected):
            seen = share.looked.seen
        else:
            seen = understand(file.content, file.name, layout, expected)
        ask(seen.reading)
        if seen.sheet.by_well and (share.elsewhere or share.only_its_own):
            raise Refused(
                f"{file.name} names wells and no vials, and a well is one of each shipment: read it for one shipment"
            )
        sent = expected.sent or {}
        drafts = [
            draft
            for draft in seen.drafts
            if draft.code not in share.elsewhere and (draft.code in sent or not share.only_its_own)
        ]
        kept = ReturnFile(
            shipment_id=shipment.id, sha256=digest, name=file.name, content=file.content, n_rows=len(drafts),
            reading=reading_in_json(seen.reading, expected.panel_loci if seen.loci_from_panel else None),
            account=account_in_json(seen.account), read_at=stamp.now, read_by=stamp.by,
        )  # fmt: skip
        return _store(session, kept, shipment, replace(seen, drafts=drafts), expected, stamp, progress)


def _read_before(session: Session, shipment: Shipment, digest: str) -> ReturnFile | None:
    """The reading in force of the same bytes for the shipment, or None."""
    return session.scalar(
        select(ReturnFile).where(
            ReturnFile.shipment_id == shipment.id,
            ReturnFile.sha256 == digest,
            ReturnFile.withdrawn_at.is_(None),
        )
    )


def _store(
    session: Session,
    file: ReturnFile,
    shipment: Shipment,
    seen: Understood,
    expected: Expected,
    stamp: Stamp,
    progress: Progress | None,
) -> ReturnRead:
    """Store a file, its rows, results and findings; what was open and is answered by it closes."""
    sheet, reading, sent = seen.sheet, seen.reading, expected.sent or {}
    findings: list[Found] = []
    placed = place(session, seen.drafts, sent, shipment, findings, reading)
    strange = check_shipment(placed, shipment.code, file.name)
    session.add(file)
    session.flush()
    store_return(session, file.id, shipment, sheet, reading, placed, progress)
    findings += findings_of(
        placed, sheet, shipment, sent, expected.rule_set, reading.sheet_rows, reading.layout.taxa
    )
    findings += (disagreeing := disagreeing_pairs(session, fish_of_file(file.id)))
    findings += find_same_fish(session, placed, file.id, reading.sheet_rows)
    findings += left_out_vials(session, file, placed)
    for each in findings:
        each.sheet_rows = reading.sheet_rows
    findings = not_asked_twice(session, findings, placed, shipment.id)
    numbers = open_findings(
        session, findings, shipment_id=shipment.id, return_file_id=file.id, digest=file.sha256, stamp=stamp
    )
    settle_earlier_findings(session, file, placed, disagreeing, stamp=stamp)
    settle_return(session, file.id)
    n = n_placed(placed)
    read = ReturnRead(
        shipment=shipment.code,
        file=file.name,
        sha256=file.sha256,
        n_rows=len(seen.drafts),
        n_typed=n[ReturnedAs.MATCHED],
        n_failed=n[ReturnedAs.FAILED],
        n_held=n[ReturnedAs.HELD],
        n_unexpected=sum(p.outcome == Outcome.UNEXPECTED for p in placed),
        n_duplicate_rows=sum(p.outcome == Outcome.DUPLICATE for p in placed),
        n_superseded=sum(len(p.superseded) for p in placed),
        n_unchanged=sum(p.unchanged for p in placed),
        findings=tuple(numbers),
        doubts=(*reading.doubts, strange) if strange else reading.doubts,
        sheet_rows=reading.sheet_rows,
        account=seen.account,
    )
    counts = {key: getattr(read, key) for key in vars(read) if key.startswith("n_")}
    record(
        session, "return_read", "shipment", shipment.code, stamp=stamp,
        new={"file": file.name, "sha256": file.sha256, **counts},
    )  # fmt: skip
    session.flush()
    return read


def ask(reading: Reading) -> None:
    """Raise SheetFault with every question that a person has to answer before the file can be read."""
    if reading.questions:
        texts = [
            f"{one.text}{' Say' if one.text.endswith('?') else '; say'} {one.options}"
            for one in reading.questions
        ]
        n = len(texts)
        keep = "with --keep the answers are kept for the lab's next files"
        numbered = "".join(f"\n  {i}. {text}" for i, text in enumerate(texts, start=1))
        raise SheetFault(
            texts[0] if n == 1 else f"{n} questions must be answered first:{numbered}\n({keep})",
            file=reading.file,
            sheet=reading.sheet or None,
            row=reading.heading_row or None,
            way_out=keep if n == 1 else None,
        )
