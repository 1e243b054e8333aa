"""What waits for the office today: findings that nobody decided, and shipments that have come to a stop."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session, aliased

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.sentences import n_of
from geneticlog.rules.shipment.custody import ShipmentStanding, ShipmentState
from geneticlog.store.tables import Finding, Fish, Lake, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.finding.list_findings import FindingLine, finding_lines
from geneticlog.work.lakes.progress import progress_of_surveys
from geneticlog.work.report.kept_reports import sent_reports
from geneticlog.work.shipment.count_return import returned_of
from geneticlog.work.shipment.follow import days_out, state_of
from geneticlog.work.shipment.owed_fish import resample_list

LATE = "out longer than the lab's usual days"
NOT_RECONCILED = (ShipmentState.OPEN, ShipmentState.PARTLY_OPEN)
DEBTS = "closed while fish must be sampled again"


@dataclass(frozen=True)
class WaitingFinding:
    """One open finding and the whole days since it was opened.

    lakes: of the fish it is about; of one about no fish of ours, such as a code that nobody knows, those of its
    shipment.
    """

    age_days: int
    finding: FindingLine
    lakes: tuple[str, ...] = ()


@dataclass(frozen=True)
class WaitingShipment:
    """One shipment that has come to a stop, once for each reason.

    since: from when the age counts: packed, sent, first return read, closed. do: the command that goes on.
    """

    shipment: str
    lab: str
    reason: str
    text: str
    since: datetime
    age_days: int
    lakes: tuple[str, ...]
    do: str


@dataclass(frozen=True)
class WaitingSurvey:
    """A survey with swabs that went nowhere yet, all or some, or whose vials did not come to the lab whole."""

    survey: str
    lake: str
    text: str
    age_days: int
    do: str


@dataclass(frozen=True)
class WaitingReport:
    """A report that was sent out and no longer holds: whoever got it must be told again; age since it was sent out."""

    report: str
    lake: str
    text: str
    age_days: int
    do: str


@dataclass(frozen=True)
class Inbox:
    """Everything that waits, the oldest first; n_waiting_for counts the findings by whom they wait for."""

    findings: tuple[WaitingFinding, ...]
    shipments: tuple[WaitingShipment, ...]
    surveys: tuple[WaitingSurvey, ...]
    n_waiting_for: dict[str, int]
    reports: tuple[WaitingReport, ...] = ()


def inbox(session: Session, *, now: datetime, waits_for: str | None = None) -> Inbox:
    """Return what waits; with ``waits_for`` only the findings that wait for these (the lab, the crew, …)."""
    lines = finding_lines(session, Finding.decision.is_(None))
    waiting = Counter(line.waits_for for line in lines if line.waits_for)
    if waits_for is not None:
        lines = [line for line in lines if line.waits_for == waits_for]
    of_shipments = _lakes_by_code(session) if any(line.lake is None for line in lines) else {}
    findings = [
        WaitingFinding(
            _days(line.opened_at, now),
            line,
            (line.lake,) if line.lake else of_shipments.get(line.shipment or "", ()),
        )
        for line in lines
    ]
    shipments = sorted(_shipments(session, now), key=lambda one: one.since)
    surveys = sorted(_surveys(session, now), key=lambda one: -one.age_days)
    return Inbox(
        tuple(sorted(findings, key=lambda one: one.finding.opened_at)),
        tuple(shipments) if waits_for is None else (),
        tuple(surveys) if waits_for is None else (),
        dict(waiting),
        tuple(_reports(session, now)) if waits_for is None else (),
    )


def _days(since: datetime, now: datetime) -> int:
    return max(0, (now - since).days)


def _shipments(session: Session, now: datetime) -> Iterator[WaitingShipment]:
    lakes = _lakes_of_shipments(session)
    missing = _findings_of_shipments(session, Finding.kind == FindingKind.MISSING)
    n_open = _findings_of_shipments(session, Finding.decision.is_(None))

    def line(one: Shipment, reason: str, text: str, since: datetime, do: str) -> WaitingShipment:
        its = tuple(lakes.get(one.id, ()))
        return WaitingShipment(one.code, one.lab.code, reason, text, since, _days(since, now), its, do)

    for shipment in session.scalars(
        select(Shipment).where(Shipment.standing != ShipmentStanding.CLOSED).order_by(Shipment.id)
    ):
        if shipment.standing == ShipmentStanding.PACKED:
            text = f"{n_of(len(shipment.positions), 'vial')} packed by {shipment.packed_by}"
            yield line(
                shipment,
                ShipmentState.NOT_SENT,
                text,
                shipment.packed_at,
                f"geneticlog shipment send {shipment.code}",
            )
            continue
        returned = returned_of(session, shipment)
        out, usual = days_out(shipment, returned, now), shipment.lab.usual_days
        if (
            not returned.complete
            and shipment.sent_at is not None
            and usual
            and out is not None
            and out > usual
        ):
            text = (
                f"out {n_of(out, 'day')}, usual are {usual}; {n_of(len(returned.awaited), 'vial')} not back"
            )
            yield line(shipment, LATE, text, shipment.sent_at, f"geneticlog shipment show {shipment.code}")
        waits, n_missed = n_open.get(shipment.id, 0), missing.get(shipment.id, 0)
        state = state_of(shipment, returned, n_open=waits, n_missed=n_missed)
        if returned.first_read_at is not None and state in NOT_RECONCILED:
            text = f"{n_of(waits, 'finding')} to decide"
            if len(returned.awaited) > n_missed:
                text += f", {n_of(len(returned.awaited), 'vial')} not looked for"
            do = f"geneticlog reconcile {shipment.code}"
            yield line(shipment, state, text, returned.first_read_at, do)
    yield from _debts(session, line)


def _debts(
    session: Session, line: Callable[[Shipment, str, str, datetime, str], WaitingShipment]
) -> Iterator[WaitingShipment]:
    """Closed shipments that still owe fish: until the lake is surveyed again, which is when they can be caught."""
    later = aliased(Survey)
    again = (
        select(later.id)
        .where(
            later.lake_id == Survey.lake_id,
            later.species == Survey.species,
            later.surveyed_on > Survey.surveyed_on,
        )
        .exists()
    )
    recent = (
        select(ShipmentPosition.shipment_id)
        .join(Vial, Vial.id == ShipmentPosition.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(~again)
    )
    closed = (
        select(Shipment)
        .where(Shipment.standing == ShipmentStanding.CLOSED, Shipment.id.in_(recent))
        .order_by(Shipment.id)
    )
    for shipment in session.scalars(closed):
        lost = resample_list(session, [shipment])
        n = sum(group.n_lost for group in lost)
        if n and shipment.closed_at is not None:
            have = "has" if n == 1 else "have"
            surveys = ", ".join(dict.fromkeys(group.survey for group in lost))
            text = f"{n} fish {have} no result that counts: {surveys}"
            yield line(
                shipment, DEBTS, text, shipment.closed_at, f"geneticlog shipment resample {shipment.code}"
            )


def _findings_of_shipments(session: Session, of: ColumnElement[bool]) -> dict[int, int]:
    rows = session.execute(
        select(Finding.shipment_id, func.count())
        .where(of, Finding.shipment_id.is_not(None))
        .group_by(Finding.shipment_id)
    )
    return {shipment_id: int(n) for shipment_id, n in rows if shipment_id is not None}


def _lakes_of_shipments(session: Session) -> dict[int, list[str]]:
    lakes: dict[int, list[str]] = {}
    for shipment_id, lake in session.execute(
        select(ShipmentPosition.shipment_id, Lake.code)
        .join(Vial, Vial.id == ShipmentPosition.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .join(Lake, Lake.id == Survey.lake_id)
        .distinct()
        .order_by(Lake.code)
    ):
        lakes.setdefault(shipment_id, []).append(lake)
    return lakes


def _lakes_by_code(session: Session) -> dict[str, tuple[str, ...]]:
    codes = session.execute(select(Shipment.id, Shipment.code)).all()
    code_of = {shipment_id: code for shipment_id, code in codes}  # noqa: C416 - rows are no plain pairs to mypy
    return {code_of[its]: tuple(lakes) for its, lakes in _lakes_of_shipments(session).items()}


def _surveys(session: Session, now: datetime) -> Iterator[WaitingSurvey]:
    every = progress_of_surveys(session)
    rows = session.execute(select(Survey, Lake.code).join(Lake, Lake.id == Survey.lake_id))
    for survey, lake in rows:
        its = every.get(survey.id)
        text = (its.words if its.none_packed else "; ".join(its.left_behind)) if its else ""
        if its and text:
            pack = f"geneticlog shipment pack CODE --survey {survey.code}"
            do = pack if its.n_unpacked else f"geneticlog coverage {survey.code}"
            yield WaitingSurvey(survey.code, lake, text, max(0, (now.date() - survey.surveyed_on).days), do)


def _reports(session: Session, now: datetime) -> Iterator[WaitingReport]:
    for report in reversed(sent_reports(session)):
        if report.tell_again:
            do = f"geneticlog report lake {report.lake} --out DIR"
            yield WaitingReport(
                report.report, report.lake, "; ".join(report.changes), _days(report.written_at, now), do
            )
