"""What is known of a shipment before its return is looked at: everything that a file is held against."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet
from geneticlog.rules.lab_return.account.other_jobs import Job, days_of_file
from geneticlog.rules.lab_return.account.other_lakes import Lakes, lakes_by_name, line_of_other_lake
from geneticlog.rules.lab_return.account.other_names import Names, names_known
from geneticlog.rules.lab_return.doubts_of_files.of_another_shipment import Elsewhere
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.account_items import lines_of
from geneticlog.rules.result.result_states import ResultStanding
from geneticlog.rules.shipment.plates import container, sort_key
from geneticlog.store.tables import (
    Fish,
    Lab,
    Lake,
    Office,
    Result,
    ReturnFile,
    ReturnRow,
    Shipment,
    ShipmentPosition,
    Survey,
    Vial,
)
from geneticlog.work.catalogue.rule_sets import rule_set_in_force
from geneticlog.work.events import find_shipment
from geneticlog.work.lab_return.known_before.given_elsewhere import given_elsewhere
from geneticlog.work.lab_return.known_before.like_before import Before, given_before, unlike_before
from geneticlog.work.lab_return.known_before.returned_vials import Sent, sent_vials
from geneticlog.work.result.kept_reading import kept_account

Places = Mapping[tuple[int, str], str]  # container number and position, as A01 -> vial code


@dataclass(frozen=True)
class Expected:
    """The vials of a shipment by code, and what else a file is judged by.

    ``sent`` is None where no shipment is named: every code that checks is then taken for one that was sent. ``places``
    is our own map of its plates or boxes, empty for loose vials; ``before`` what the same lab and panel gave for the
    same lakes; ``lakes`` the names of these lakes and of all others; ``filling`` the kind of container and
    the order in which it is filled; ``job`` and ``names`` what else is known of the
    shipment; ``said_before`` the shares, by vial, that earlier files gave and that stand; ``elsewhere`` what the
    same lab and panel gave for other shipments; ``dated_before`` the latest day by which an earlier file is dated.
    Two of them are equal where nothing that matters to a reading has changed.
    """

    sent: Mapping[str, Sent] | None = None
    places: Places = field(default_factory=dict)
    panel_loci: int | None = None
    rule_set: RuleSet = DEFAULT_RULE_SET
    before: Before | None = None
    lakes: Lakes = field(default_factory=Lakes)
    job: Job = field(default_factory=Job)
    names: Names = field(default_factory=Names)
    filling: tuple[str, str] = ("loose", "by_column")
    said_before: Mapping[str, float] = field(default_factory=dict)
    elsewhere: Elsewhere = field(default_factory=dict)
    dated_before: date | None = None
    befores: tuple[
        tuple[frozenset[str], Before], ...
    ] = ()  # of several shipments: the codes of each, and ``before``

    def in_order(self) -> list[str]:
        """Return the codes of the vials in the order in which we filled the plates, or of our list."""
        kind, order = self.filling
        sent = (self.sent or {}).values()
        at = {
            one.code: sort_key(kind, one.container_number, one.position, order)
            for one in sent
            if one.position
        }
        return sorted(at, key=at.__getitem__)

    def unlike_before(self, drafts: Sequence[Draft]) -> str:
        """Return in words that the shares of a shipment are unlike those that its lab gave before, or ""."""
        if self.before is None and not self.befores:
            return ""
        every = self.befores or (
            (frozenset(self.sent or (draft.code or "" for draft in drafts)), self.before),
        )
        return next(
            (
                words
                for codes, before in every
                if before and (words := unlike_before([one for one in drafts if one.code in codes], before))
            ),
            "",
        )

    def known(self, drafts: Sequence[Draft], what: str) -> dict[int, Any]:
        """Return by row what is known of the fish or its vial: a field of ``Sent``, or ``list_number`` of our list."""
        sent = self.sent or {}
        if what == "list_number":
            numbers = {code: i for i, code in enumerate(self.in_order(), start=1)}
            return {draft.row: numbers[draft.code] for draft in drafts if draft.code in numbers}
        vials = ((draft.row, sent.get(draft.code or "")) for draft in drafts)
        return {row: value for row, vial in vials if vial and (value := getattr(vial, what))}

    def doubt_in(self, line: str) -> str:
        """Return what a line of a file says that is not of this shipment, in words, or the empty text."""
        return line_of_other_lake(line, self.lakes) or self.job.doubt_in(line) or self.names.doubt_in(line)


def expected_of(
    session: Session, shipment: Shipment, together: Sequence[Shipment] = (), *, today: date | None = None
) -> Expected:
    """Return what is known of a shipment now.

    together
        every shipment that the same file is about: what it says of the others is no doubt about this one.
    today
        the day of reading: nothing of the lab's work is later.
    """
    every = [one for one in together if one.id != shipment.id]
    sent = sent_vials(session, shipment.id)
    surveys = _surveys_of(session, sent, every)
    return Expected(
        sent=sent,
        places=_places_of(sent, shipment),
        filling=(shipment.container, shipment.filling_order),
        panel_loci=shipment.panel.n_loci if shipment.panel else None,
        rule_set=rule_set_in_force(session),
        before=given_before(session, shipment),
        lakes=_lakes_of(session, surveys),
        job=replace(_job_of(session, shipment, every, surveys), today=today),
        names=_names_of(session, [shipment, *every], surveys),
        said_before=_said_before(session, [shipment, *every]),
        elsewhere=given_elsewhere(session, [shipment, *every]),
        dated_before=_dated_before(session, [shipment, *every]),
    )


def _dated_before(session: Session, shipments: Sequence[Shipment]) -> date | None:
    """Return the latest day by which a file of shipments that counts is dated; None where none is dated."""
    files = session.scalars(
        select(ReturnFile).where(
            ReturnFile.shipment_id.in_([one.id for one in shipments]), ReturnFile.withdrawn_at.is_(None)
        )
    )
    accounts = [account for file in files if (account := kept_account(file))]
    days = [both[0] for account in accounts if (both := days_of_file(lines_of(account)))]
    return max(days, default=None)


def _said_before(session: Session, shipments: Sequence[Shipment]) -> dict[str, float]:
    """Return, by vial, the share that an earlier file of shipments gave and that stands."""
    rows = session.execute(
        select(Vial.code, Result.q)
        .join(Result, Result.vial_id == Vial.id)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .join(ReturnFile, ReturnFile.id == ReturnRow.return_file_id)
        .where(
            ReturnFile.shipment_id.in_([one.id for one in shipments]),
            Result.standing == ResultStanding.CURRENT,
            Result.q.is_not(None),
        )
    )
    return {code: q for code, q in rows if q is not None}


def _surveys_of(session: Session, sent: Mapping[str, Sent], together: Sequence[Shipment]) -> set[int]:
    """Return the surveys whose fish are in a shipment, whose vials are known, and in those of one file with it."""
    here = {one.survey_id for one in sent.values() if one.survey_id is not None}
    if together:
        of_others = (
            select(Fish.survey_id)
            .join(Vial, Vial.fish_id == Fish.id)
            .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
            .where(ShipmentPosition.shipment_id.in_([one.id for one in together]))
            .distinct()
        )
        here |= set(session.scalars(of_others))
    return here


def expected_of_each(
    session: Session, codes: Sequence[str], *, today: date | None = None
) -> dict[str, Expected]:
    """Return by code what is known of the shipments that one file is about; raise NotFound for an unknown one.

    today
        the day of reading.
    """
    shipments = [find_shipment(session, code) for code in codes]
    return {one.code: expected_of(session, one, shipments, today=today) for one in shipments}


def all_together(each: Mapping[str, Expected]) -> Expected:
    """Return what is known of the first shipment with the vials of all, for a look at the whole file."""
    first, *_ = each.values()
    return replace(
        first,
        sent={code: vial for one in each.values() for code, vial in (one.sent or {}).items()},
        befores=tuple((frozenset(one.sent or ()), one.before) for one in each.values() if one.before),
    )


def _names_of(session: Session, shipments: Sequence[Shipment], surveys: Collection[int]) -> Names:
    """Return the names that a file about shipments may have: their waters, the office and its people, lab and panel."""
    rows = session.execute(
        select(Lake.name, Lake.code, Lake.owner, Lake.county, Survey.code, Survey.crew, Survey.opened_by)
        .join(Survey, Survey.lake_id == Lake.id)
        .where(Survey.id.in_(surveys))
    )
    panels = [name for one in shipments if one.panel for name in (one.panel.code, one.panel.name)]
    of_shipments = [
        name
        for one in shipments
        for name in (one.code, one.packed_by, one.sent_by, one.lab.code, one.lab.name)
    ]
    offices = session.scalars(select(Office.name))
    labs = session.scalars(select(Lab.name).where(Lab.id.not_in([one.lab_id for one in shipments])))
    return names_known([*(name for row in rows for name in row), *of_shipments, *panels, *offices], labs)


def _job_of(
    session: Session, shipment: Shipment, together: Sequence[Shipment], surveys: Collection[int]
) -> Job:
    """Return by what a file is seen to be of this shipment and of no other."""
    caught_from = session.scalar(select(func.min(Survey.surveyed_on)).where(Survey.id.in_(surveys)))
    panel = shipment.panel
    panels = [one.panel for one in (shipment, *together) if one.panel]
    also = frozenset(one.code for one in together)
    sent = [one.sent_at for one in (shipment, *together) if one.sent_at]
    others = session.scalars(select(Shipment.code).where(Shipment.id != shipment.id))
    every_survey = session.execute(select(Survey.id, Survey.code)).all()
    return Job(
        shipment=shipment.code,
        others=frozenset(others) - also,
        panel=tuple(dict.fromkeys(name for one in panels for name in (one.code, one.name))),
        panel_loci=panel.n_loci if panel else None,
        caught_from=caught_from,
        sent_on=min(sent).astimezone().date() if sent else None,
        together=also,
        surveys=frozenset(code for survey_id, code in every_survey if survey_id in surveys),
        other_surveys=frozenset(code for survey_id, code in every_survey if survey_id not in surveys),
    )


def _lakes_of(session: Session, surveys: Collection[int]) -> Lakes:
    """Return by name and code the lakes of some surveys, and all others."""
    here = session.execute(select(Survey.lake_id, Survey.surveyed_on).where(Survey.id.in_(surveys))).all()
    ids, years = {lake_id for lake_id, _ in here}, {day.year for _, day in here}
    rows = session.execute(select(Lake.id, Lake.name, Lake.code)).all()
    names = [(its, name) for its, *both in rows for name in both]
    return lakes_by_name([name for its, name in names if its in ids], [name for _, name in names], years)


def _places_of(sent: Mapping[str, Sent], shipment: Shipment) -> Places:
    """Return which vial is in which well or box position; empty for loose vials, whose place is only a list's."""
    if container(shipment.container).capacity is None:
        return {}
    return {(vial.container_number, vial.position): code for code, vial in sent.items()}
