"""Findings as they are shown everywhere: what, where in which file, whom it waits for, who decided what and why."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session, aliased, defer

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FINDINGS, FindingKind
from geneticlog.rules.finding.waits_for import waits_for
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Finding, Fish, Lake, ReturnFile, Shipment, Survey, Vial
from geneticlog.work.events import find_lake, find_shipment, find_survey
from geneticlog.work.finding.answered import closed_itself
from geneticlog.work.finding.lake_findings import concerned
from geneticlog.work.finding.may_decide import OF_THE_LOG, either_of, which_row
from geneticlog.work.result.kept_reading import kept_reading


@dataclass(frozen=True)
class FindingLine:
    """One finding. rows are numbers in the return, as decisions name them; sheet is None for a file of one table.

    lake, survey: of the fish or survey it is about; None where it is about no fish of ours. can: the decisions that it
    takes. closed_itself: it no longer applied, and no person had to decide. either: the vials of which a person says
    which one to reject or resample. which_row: one who accepts says which of the rows is right.
    """

    finding: str
    kind: str
    vial: str | None
    rows: tuple[int, ...]
    text: str
    decision: Decision | None
    file: str | None
    sheet: str | None
    decided_by: str | None
    decided_at: datetime | None
    why: str | None
    shipment: str | None
    lake: str | None
    survey: str | None
    opened_at: datetime
    waits_for: str | None
    can: tuple[str, ...]
    closed_itself: bool
    withdrawn: bool
    either: tuple[str, ...] = ()
    which_row: bool = False

    @property
    def ways(self) -> list[str]:
        """The decisions that it takes, each with what must be said beside it."""
        more = {}
        if self.which_row:
            more[Decision.ACCEPT] = " --row ROW"
        if self.either:
            more |= dict.fromkeys((Decision.REJECT, Decision.RESAMPLE), " VIAL")
        more[Decision.MATCH] = " VIAL"
        return [f"{one}{more.get(Decision(one), '')}" for one in self.can]


def list_findings(
    session: Session,
    *,
    lake: str | None = None,
    survey: str | None = None,
    shipment: str | None = None,
    only_open: bool = False,
) -> list[FindingLine]:
    """Return the findings of every kind in the order of their numbers, of a lake, a survey or a shipment where named.

    raises
        NotFound for a lake, survey or shipment that there is not.
    """
    of: list[ColumnElement[bool]] = []
    if shipment is not None:
        of.append(Finding.shipment_id == find_shipment(session, shipment).id)
    pairs = concerned().subquery()
    if survey is not None:
        its = select(pairs.c.finding_id).where(pairs.c.survey_id == find_survey(session, survey).id)
        of.append(Finding.id.in_(its))
    if lake is not None:
        its = (
            select(pairs.c.finding_id)
            .join(Survey, Survey.id == pairs.c.survey_id)
            .where(Survey.lake_id == find_lake(session, lake).id)
        )
        of.append(Finding.id.in_(its))
    if only_open:
        of.append(Finding.decision.is_(None))
    return finding_lines(session, *of)


def finding_lines(session: Session, *of: ColumnElement[bool]) -> list[FindingLine]:
    """Return findings as they are shown, in the order of their numbers.

    of
        which findings, said of Finding.
    """
    of_vial = aliased(Fish)
    rows = session.execute(
        select(Finding, Vial.code, Shipment.code, Survey.code, Lake.code)
        .outerjoin(Vial, Vial.id == Finding.vial_id)
        .outerjoin(Shipment, Shipment.id == Finding.shipment_id)
        .outerjoin(Fish, Fish.id == Finding.fish_id)
        .outerjoin(of_vial, of_vial.id == Vial.fish_id)
        .outerjoin(
            Survey,
            or_(
                Survey.id == Finding.survey_id,
                Finding.survey_id.is_(None) & (Survey.id == Fish.survey_id),
                Finding.survey_id.is_(None) & Fish.id.is_(None) & (Survey.id == of_vial.survey_id),
            ),
        )
        .outerjoin(Lake, Lake.id == Survey.lake_id)
        .where(*of)
        .order_by(Finding.number)
    ).all()
    files = _files(session, {row[0].return_file_id for row in rows if row[0].return_file_id is not None})
    return [_line(finding, files, *names) for finding, *names in rows]


def _files(session: Session, ids: Iterable[int]) -> dict[int, ReturnFile]:
    files: dict[int, ReturnFile] = {}
    for chunk in in_chunks(ids):
        without_bytes = select(ReturnFile).options(defer(ReturnFile.content)).where(ReturnFile.id.in_(chunk))
        files |= {one.id: one for one in session.scalars(without_bytes)}
    return files


def _line(
    finding: Finding,
    files: dict[int, ReturnFile],
    vial: str | None,
    shipment: str | None,
    survey: str | None,
    lake: str | None,
) -> FindingLine:
    numbers: Sequence[int] = finding.rows
    file = files.get(finding.return_file_id or 0) if numbers or finding.kind != FindingKind.MISSING else None
    kind = FINDINGS.get(finding.kind)
    return FindingLine(
        finding=f"F{finding.number}",
        kind=finding.kind,
        vial=vial,
        rows=tuple(numbers),
        text=finding.text,
        decision=finding.decision,
        file=file.name if file else None,
        sheet=_sheet(file, numbers) if file else None,
        decided_by=finding.decided_by,
        decided_at=finding.decided_at,
        why=finding.why,
        shipment=shipment,
        lake=lake,
        survey=survey,
        opened_at=finding.opened_at,
        waits_for=waits_for(finding.kind) if finding.decision is None else None,
        can=kind.decisions if kind else OF_THE_LOG,
        closed_itself=closed_itself(finding),
        withdrawn=bool(file and file.withdrawn_at is not None),
        either=either_of(finding),
        which_row=which_row(finding),
    )


def _sheet(file: ReturnFile, numbers: Sequence[int]) -> str | None:
    """Return the sheet that the rows are of; of several, all of them."""
    reading = kept_reading(file.reading)
    if not reading.sheet_rows.sheets:
        return reading.sheet
    named = dict.fromkeys(reading.sheet_rows.place(number)[0] or "" for number in numbers)
    return ", ".join(named) or None
