"""A short digest of each stored row, the same on SQLite and PostgreSQL."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Callable, Collection, Iterator
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import Column, Connection, Select, Table, select

from geneticlog.store.chunks import in_chunks
from geneticlog.store.collector import without_collector
from geneticlog.store.columns import as_stored
from geneticlog.store.tables import DroppedFile, Event, JournalEntry, OpenCard, ShownCard
from geneticlog.store.tables import Table as Base

NOT_SEALED = {one.__tablename__ for one in (JournalEntry, OpenCard, ShownCard, DroppedFile)}
LENGTH = 16  # hexadecimal characters of a row's digest: 64 bits, against a row made to fit
AT_A_TIME = 400  # keys in one question to the database
_encode = json.JSONEncoder(sort_keys=True, default=str).encode  # made once: a large return has many rows


@lru_cache(maxsize=1)  # sorting them takes as long as to digest a fish
def sealed_tables() -> list[Table]:
    """Return the tables whose rows the journal holds: all but itself, the cards in hand and files not stored yet."""
    return [table for table in Base.metadata.sorted_tables if table.name not in NOT_SEALED]


def together(table: Table) -> bool:
    """Whether rows of a table are written with their parent and never alone: all of one parent have one digest."""
    return len(table.primary_key.columns) > 1


def key_column(table: Table) -> Column[Any]:
    """Return the column that names a row of a table, or rows that are written together."""
    return next(iter(table.primary_key.columns))


def digests(
    connection: Connection,
    table: Table,
    keys: Collection[Any] | None = None,
    *,
    without: Collection[str] = (),
) -> dict[str, str]:
    """Return the digest of each row by its key as text; of all rows, or of those that are there of ``keys``.

    A column that is empty adds nothing, so that a further column leaves the digests of older rows as they were.
    without: columns that this database does not have yet.
    """
    columns = [column for column in table.c if column.name not in without]
    names = [column.name for column in columns]
    key = key_column(table)
    at = names.index(key.name)
    by_key: dict[str, list[str]] = defaultdict(list)
    with without_collector():  # each row makes a few objects that are let go at once
        for row in _rows(connection, select(*map(as_stored, columns)), key, keys):
            by_key[str(row[at])].append(row_digest(zip(names, row, strict=True)))
    if not together(table):
        return {name: one[0] for name, one in by_key.items()}
    return {
        name: hashlib.sha256("".join(sorted(several)).encode()).hexdigest()[:LENGTH]
        for name, several in by_key.items()
    }


def event_digests(
    connection: Connection, keys: Collection[Any] | None = None
) -> tuple[dict[str, str], dict[str, str]]:
    """Return the digests of events by their number here, and by uid: the latter, taken without the number, is the same
    in every database that an event travels to. Of all events, or of those with these numbers."""
    table = Event.__table__
    names = [column.name for column in table.columns]
    number, uid = names.index("id"), names.index("uid")
    here: dict[str, str] = {}
    everywhere: dict[str, str] = {}
    for row in _rows(connection, select(*table.columns), key_column(table), keys):  # type: ignore[arg-type]
        values = dict(zip(names, row, strict=True))
        here[str(row[number])] = row_digest(values.items())
        del values["id"]
        everywhere[row[uid]] = row_digest(values.items())
    return here, everywhere


def row_digest(values: Any) -> str:
    """Return the digest of one row's (name, value) pairs."""
    kept = {
        name: form(value) if (form := PLAIN.get(type(value))) else value
        for name, value in values
        if value is not None
    }
    return hashlib.sha256(_encode(kept).encode()).hexdigest()[:LENGTH]


def _rows(
    connection: Connection, question: Select[Any], key: Column[Any], keys: Collection[Any] | None
) -> Iterator[Any]:
    if keys is None:
        yield from _many(connection, question)
        return
    wanted = list(keys)
    if len(wanted) > AT_A_TIME and all(type(one) is int for one in wanted):
        first, last = min(wanted), max(wanted)
        if last - first + 1 == len(wanted):  # rows stored one after the other, as those of a large return
            yield from _many(connection, question.where(key.between(first, last)))
            return
    for some in in_chunks(wanted, AT_A_TIME):
        yield from connection.execute(question.where(key.in_(some)))


def _many(connection: Connection, question: Select[Any]) -> Iterator[Any]:
    """The rows of a question, taken from the database many at a time."""
    for part in connection.execute(question).partitions(5_000):
        yield from part


def _moment(value: datetime) -> str:
    return (
        (value if value.tzinfo else value.replace(tzinfo=UTC))
        .astimezone(UTC)
        .isoformat(timespec="microseconds")
    )


PLAIN: dict[type, Callable[[Any], Any]] = {
    datetime: _moment,
    date: lambda value: value.isoformat(),
    bytes: lambda value: hashlib.sha256(value).hexdigest(),
    memoryview: lambda value: hashlib.sha256(value).hexdigest(),
}
