"""The journal: which rows each write transaction left, as digests, in entries chained by hash.

Every write transaction ends with one entry: the digests of the rows that it stored, changed or deleted, and the hash
of the entry before it. Whoever changes a row outside of geneticlog leaves it unlike its digest; whoever changes an
entry breaks the chain. Only somebody who writes rows and every entry after them again is not found by the database
itself: then the head (number and hash of the last entry), printed on paper or kept in a backup, tells.

There is one chain a station, that is a database: what is carried in from a boat brings the boat's own chain along. It
is kept beside ours (``carried_by``) and goes on with the next file. An entry names its events by uid too, so that an
event is known again in every database it travels to.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

from sqlalchemy import Connection, Table, event, insert, inspect, select
from sqlalchemy.orm import ORMExecuteState, Session

from geneticlog.store.row_digests import digests, event_digests, key_column, sealed_tables, together
from geneticlog.store.tables import Event, JournalEntry

NOTHING = "0" * 64  # the hash before the first entry
TOUCHED, ADDED = "journal_touched", "journal_added"
EVENTS = "events by uid"  # beside the tables in an entry: digests that hold in every database
ENTRY_ROWS = 20_000  # rows in one entry, when a whole database is sealed
Rows = dict[str, dict[str, str | None]]  # table -> key -> digest; None: deleted


@dataclass(frozen=True)
class Head:
    """The last entry of a chain; ``station`` tells the chains of two databases apart."""

    station: str
    number: int
    hash: str

    def __str__(self) -> str:
        return f"{self.number}:{self.hash[:16]}"


def head(connection: Connection) -> Head | None:
    """Return the head of this station's chain; None for a database in which nothing was ever written."""
    table = JournalEntry.__table__
    newest = connection.execute(
        select(table.c.station, table.c.number, table.c.hash)
        .where(table.c.carried_by.is_(None))
        .order_by(table.c.number.desc())
        .limit(1)
    ).first()
    return Head(*newest) if newest else None


def entry_hash(number: int, station: str, at: str, previous: str, rows: str, note: str | None) -> str:
    """Return the hash of an entry over all that it says."""
    told = json.dumps([number, station, at, previous, rows, note])
    return hashlib.sha256(told.encode()).hexdigest()


def moment(at: datetime) -> str:
    """Return an entry's moment as it goes into its hash."""
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def write_entry(connection: Connection, rows: Rows, *, note: str | None = None) -> None:
    """Chain one entry to the journal."""
    before = head(connection)
    station = before.station if before else uuid4().hex
    number, previous = (before.number + 1, before.hash) if before else (1, NOTHING)
    at = datetime.now(UTC)
    digests_json = json.dumps(rows, sort_keys=True, separators=(",", ":"))
    connection.execute(
        insert(JournalEntry.__table__).values(  # type: ignore[arg-type]
            number=number, station=station, at=at, previous=previous, rows=digests_json, note=note,
            hash=entry_hash(number, station, moment(at), previous, digests_json, note),
        )
    )  # fmt: skip


def seal_all(connection: Connection, known: Rows, *, note: str) -> None:
    """Write entries for every row that is not as ``known``: the past of a database, or what a migration changed."""
    pending: Rows = defaultdict(dict)
    n = 0
    first = True
    there = [(table.name, digests(connection, table)) for table in sealed_tables()]
    for name, found in (*there, (EVENTS, event_digests(connection)[1])):
        now: dict[str, str | None] = dict(found)
        before = known.get(name, {})
        gone = {key: None for key, digest in before.items() if digest is not None and key not in now}
        for key, digest in (now | gone).items():
            if before.get(key) == digest:
                continue
            pending[name][key] = digest
            n += 1
            if n == ENTRY_ROWS:
                write_entry(connection, pending, note=note if first else None)
                pending, n, first = defaultdict(dict), 0, False
    if n or first:
        write_entry(connection, pending, note=note if first else None)


def note_added(connection: Connection, table: Table, columns: Iterable[str], rows: Iterable[Any]) -> None:
    """Note, before rows are inserted many at a time, which ones will be new."""
    key = key_column(table)
    if together(table) or key.type.python_type is not int:
        at = list(columns).index(key.name)
        connection.info.setdefault(TOUCHED, defaultdict(set))[table.name].update(row[at] for row in rows)
        return
    added = connection.info.setdefault(ADDED, {})
    if table.name not in added:
        added[table.name] = connection.scalar(select(key).order_by(key.desc()).limit(1)) or 0


@event.listens_for(Session, "after_flush")
def _note_flushed(session: Session, _context: object) -> None:
    touched = session.info.setdefault(TOUCHED, defaultdict(set))
    for row in (*session.new, *session.dirty, *session.deleted):
        mapper = inspect(row).mapper
        table = mapper.local_table
        column = key_column(table)
        touched[table.name].add(getattr(row, mapper.get_property_by_column(column).key))


@event.listens_for(Session, "do_orm_execute")
def _note_statement(state: ORMExecuteState) -> None:
    """Note the rows of an UPDATE or DELETE that is sent without objects, before they change."""
    if not (state.is_update or state.is_delete or state.is_insert):
        return
    statement: Any = state.statement
    table: Table = statement.table
    if table is JournalEntry.__table__:
        return
    connection = state.session.connection()
    if state.is_insert:
        given: Any = state.parameters or [statement.compile().params]
        rows = given if isinstance(given, list | tuple) else [given]
        name = key_column(table).name
        note_added(connection, table, [name], [(row[name],) for row in rows if name in row])
        return
    question = select(key_column(table)).select_from(table)
    if statement.whereclause is not None:
        question = question.where(statement.whereclause)
    touched = state.session.info.setdefault(TOUCHED, defaultdict(set))
    touched[table.name].update(connection.execute(question, state.parameters or {}).scalars())


@event.listens_for(Session, "before_commit")
def _end_with_an_entry(session: Session) -> None:
    if session.in_nested_transaction():
        return
    session.flush()
    touched: dict[str, set[Any]] = session.info.pop(TOUCHED, {})
    if not touched and not session.in_transaction():
        return
    connection = session.connection()
    added: dict[str, int] = connection.info.pop(ADDED, {})
    for name, keys in connection.info.pop(TOUCHED, {}).items():
        touched.setdefault(name, set()).update(keys)
    rows: Rows = {}
    for table in sealed_tables():
        keys = touched.get(table.name, set())
        if table.name in added:
            column = key_column(table)
            keys = keys | set(connection.execute(select(column).where(column > added[table.name])).scalars())
        if keys:
            if table is Event.__table__:
                now_stored, by_uid = event_digests(connection, keys)
                rows[EVENTS] = dict(by_uid)
            else:
                now_stored = digests(connection, table, keys)
            rows[table.name] = {str(key): now_stored.get(str(key)) for key in sorted(keys, key=str)}
    if rows:
        write_entry(connection, rows)


@event.listens_for(Session, "after_soft_rollback")
def _forget(session: Session, _previous: object) -> None:
    session.info.pop(TOUCHED, None)
