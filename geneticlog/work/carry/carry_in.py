"""Take in surveys that another database carried out: what is newer is taken, what both changed is kept twice."""

from __future__ import annotations

from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.exc import DataError, DBAPIError, IntegrityError, InvalidRequestError, StatementError
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Event, Finding, Survey, Vial
from geneticlog.work.carry.carry_in_chains import take_chains
from geneticlog.work.carry.carry_in_fish import remove_undone_fish, take_fish
from geneticlog.work.carry.carry_in_places import settle_places, take_places, take_print_runs
from geneticlog.work.carry.carry_in_vials import take_vials
from geneticlog.work.carry.carry_merge import CarriedIn, Merge
from geneticlog.work.carry.carry_out import events_about, versions
from geneticlog.work.carry.vial_fates import KIND, keep_told
from geneticlog.work.events import record


def carry_in(
    session: Session,
    head: dict[str, Any],
    lines: list[dict[str, Any]],
    *,
    digest: str,
    stamp: Stamp,
) -> CarriedIn:
    """Take the records of a carry file into this database.

    For each lake, survey, fish and vial the side whose history holds all of the other's is newer, and its values
    stand. Where each side has something that the other has not, parts that do not clash are put together; for those
    that clash ours stand, theirs are kept in a finding. A
    fish whose number is another fish here gets the next free number. Carrying in twice changes nothing.

    digest: SHA-256 of the file, for the history. Raises Refused where a survey of the same code is another one.
    """
    try:
        did = _run(Merge(session, head, [dict(line) for line in lines], stamp), digest)
        session.flush()
    except (
        LookupError, TypeError, ValueError, AttributeError, AssertionError, OverflowError, StatementError,
        InvalidRequestError,
    ) as fault:  # fmt: skip
        if isinstance(fault, DBAPIError) and not isinstance(fault, IntegrityError | DataError):
            raise  # the database cannot be used now: that is not the file's fault
        raise Refused(
            "the file does not hold together: a record is missing, or two of them contradict each other; nothing was"
            " carried in; carry it out again"
        ) from None
    if did.changed:
        taken = {"surveys": list(did.surveys), "n_new": did.n_new, "n_taken": did.n_taken}
        if head.get("journal"):
            taken["journal"] = str(head["journal"])  # how far the other database had come
        record(session, "carried_in", "carry_file", digest, stamp=stamp, new=taken)
        session.flush()
    return did


def _run(merge: Merge, digest: str) -> CarriedIn:
    take_places(merge)
    ours = events_about(
        merge.session, merge.surveys.values(), merge.lakes.values(),
        [line["code"] for line in merge.of.get("vial", [])],
    )  # fmt: skip
    merge.ours = versions(ours)
    merge.events |= {event.uid: event for event in ours}
    known = {event.uid for event in ours}
    settle_places(merge)
    take_print_runs(merge)
    take_fish(merge)
    take_vials(merge)
    remove_undone_fish(merge)
    take_findings(merge)
    take_events(merge, known)
    take_chains(merge, digest=digest)
    return merge.did


def take_findings(merge: Merge) -> None:
    lines = merge.of.get("finding", [])
    here = _by(merge, Finding, Finding.key, [line["key"] for line in lines])
    vials = _by(merge, Vial, Vial.code, [line["vial"] for line in lines if line["vial"]])
    number = merge.session.scalar(select(func.max(Finding.number))) or 0
    for line in lines:
        line = dict(line)
        survey, fish_uid, code = merge.surveys[line.pop("survey")], line.pop("fish"), line.pop("vial")
        ours = here.get(line["key"])
        decided = {name: line[name] for name in ("decision", "decided_at", "decided_by", "why")}
        if ours is not None:
            if ours.decision is None and decided["decision"] is not None:
                for name, value in decided.items():
                    setattr(ours, name, value)
                merge.did.n_taken += 1
            continue
        number += 1
        vial = vials.get(code) if code else None
        fish = merge.fish.get(fish_uid) if fish_uid else None
        finding = Finding(
            **line, number=number, survey_id=survey.id, fish_id=fish.id if fish else None,
            vial_id=vial.id if vial else None,
        )  # fmt: skip
        here[finding.key] = finding
        merge.session.add(finding)
        merge.did.n_new += 1
    merge.session.flush()


def _by(merge: Merge, table: Any, column: Any, values: list[Any]) -> dict[Any, Any]:
    """Return the rows of a table whose column has one of the texts, by that text. Raises TypeError for no text."""
    if not all(isinstance(value, str) for value in values):
        raise TypeError("a finding names its vial and its key by a text")
    rows: dict[Any, Any] = {}
    for some in in_chunks(values):
        found = merge.session.scalars(select(table).where(column.in_(some)))
        rows |= {getattr(row, column.key): row for row in found}
    return rows


def take_events(merge: Merge, known: set[str]) -> None:
    uids = [line["uid"] for line in merge.of.get("event", []) if line["uid"] not in known]
    for some in in_chunks(uids):
        known |= set(merge.session.scalars(select(Event.uid).where(Event.uid.in_(some))))
    new = []
    for line in merge.of.get("event", []):
        if line["uid"] not in known:
            if line["subject_kind"] == KIND:
                merge.did.n_told += 1
                _keep_told(merge, line)
            new.append(line)
    merge.session.flush()
    if new:
        merge.session.execute(insert(Event), new)
    merge.did.n_events += len(new)


def _keep_told(merge: Merge, line: dict[str, Any]) -> None:
    survey = merge.session.scalar(select(Survey).where(Survey.code == line["subject"]))
    if survey is not None:
        keep_told(merge.session, survey, line["at"], line["new"])
