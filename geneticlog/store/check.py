"""A database proves itself: its file, its structure, its journal, and every row against the journal."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Engine, String, cast, func, select
from sqlalchemy.exc import DBAPIError

from geneticlog.errors import Refused
from geneticlog.store.journal import Head, head
from geneticlog.store.migrate import NEWEST, revision_of
from geneticlog.store.refusals import in_words
from geneticlog.store.replay import Replayed, Unlike, Watch, replay, unlike
from geneticlog.store.row_digests import event_digests
from geneticlog.store.structure import structure_faults
from geneticlog.store.tables import Event, Finding, Fish, Result, ReturnFile, Survey, Table, Vial

MOST_TOLD = 200  # rows that are not as the journal says; one is enough to stop trusting the rest
HOW = {
    "changed": "was changed outside of geneticlog",
    "gone": "is gone: it was deleted outside of geneticlog",
    "unknown": "was added outside of geneticlog",
}


@dataclass
class Checked:
    """What a look at a database came to. ``checked`` says in words what was looked at; ``faults`` what is wrong."""

    revision: str | None = None
    head: str | None = None
    rows: dict[str, int] = field(default_factory=dict)
    checked: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    carried: dict[str, str] = field(default_factory=dict)  # station -> head of its chain that was carried in


def look_over(engine: Engine, *, known_head: str | None = None, watch: Watch = lambda *_: None) -> Checked:
    """Check a whole database; everything that is wrong is in ``faults``.

    known_head: NUMBER:HASH as a report, a backup or ``status`` printed it; it must be in the chain still.
    watch: called with the step, how much of it is done and how much there is.
    """
    checked = Checked()
    try:
        with engine.connect() as connection:
            look(connection, checked, known_head, watch)
    except DBAPIError as fault:
        checked.faults.append(str(in_words(fault)))
    except (ValueError, TypeError, AttributeError):  # SQLite takes any value into any column
        checked.faults.append(
            "a row holds a value that its column cannot hold, put there outside of geneticlog"
        )
    return checked


def look(
    connection: Connection, checked: Checked, known_head: str | None = None, watch: Watch = lambda *_: None
) -> None:
    """Check what a connection sees, into ``found``."""
    checked.revision = revision_of(connection)
    if connection.dialect.name == "sqlite":
        pages = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check")]
        checked.checked.append("pages and indexes of the file")
        if pages != ["ok"]:
            checked.faults.append(
                f"the file is damaged ({pages[0]}); restore a copy: geneticlog database restore"
            )
            return
    if checked.revision != NEWEST:
        checked.faults.append(f"the revision is {checked.revision}, and this program needs {NEWEST}")
    faults, compared = structure_faults(connection)
    checked.checked.append(f"{compared}; every link between rows")
    checked.faults += faults
    checked.rows = {
        table.name: connection.scalar(select(func.count()).select_from(table)) or 0
        for table in Table.metadata.sorted_tables
    }
    replayed = replay(connection, watch)
    checked.notes = replayed.notes
    checked.faults += replayed.faults
    last = head(connection)
    checked.head = str(last) if last else None
    checked.checked.append(f"the chain of {len(replayed.hashes):,} journal entries, and every row against it")
    others = unlike(connection, replayed.rows, checked.rows, watch)
    checked.faults += [f"{_named(connection, one)} {HOW[one.how]}" for one in others[:MOST_TOLD]]
    if len(others) > MOST_TOLD:
        checked.faults.append(f"{len(others) - MOST_TOLD:,} further rows are not as the journal says")
    if replayed.others:
        n = sum(map(len, replayed.others.values()))
        checked.checked.append(
            f"{len(replayed.others)} chains of other stations with {n:,} entries, and every event they name"
        )
        checked.carried = {
            station: str(Head(station, max(hashes), hashes[max(hashes)]))
            for station, hashes in replayed.others.items()
        }
        checked.faults += _told_otherwise(connection, replayed)
    checked.checked.append("the bytes of every return against its SHA-256")
    for file in connection.execute(
        select(ReturnFile.id, ReturnFile.name, ReturnFile.sha256, ReturnFile.content)
    ):
        content = file.content if isinstance(file.content, bytes) else str(file.content).encode()
        if hashlib.sha256(content).hexdigest() != file.sha256:
            checked.faults.append(f"the file {file.name} of a return is not as the lab sent it")
    if known_head is not None:
        checked.checked.append(f"that the head {known_head} is in the chain")
        checked.faults += _head_faults(known_head, replayed)


def _told_otherwise(connection: Connection, replayed: Replayed) -> list[str]:
    """Events that are not as the station that wrote them says."""
    _, there = event_digests(connection)
    wrong = [uid for uid, (_, digest) in replayed.told.items() if there.get(uid, digest) != digest]
    faults = []
    for uid in wrong[:MOST_TOLD]:
        of = connection.execute(select(Event.verb, Event.subject).where(Event.uid == uid)).one()
        station = replayed.told[uid][0]
        faults.append(
            f"event {of.verb} {of.subject} is not as station {station[:8]} wrote it, where it was carried from"
        )
    return faults


def _head_faults(known: str, replayed: Replayed) -> list[str]:
    given = re.fullmatch(r"([0-9]{1,9}):([0-9a-f]{16,64})", known.strip().lower())
    if given is None:
        raise Refused(f"{known!r} is not a head; write it as it was printed, such as 1234:0f3a5b7c9d1e2f40")
    number, hashes = int(given[1]), replayed.hashes
    if any(of.get(number, "").startswith(given[2]) for of in replayed.others.values()):
        return []  # a head that was printed on the boat
    if number not in hashes:
        return [f"entry {number} of the journal is gone: this database was set back to an earlier state"]
    if not hashes[number].startswith(given[2]):
        return [
            f"entry {number} of the journal is another one: the history was rewritten, or is of another database"
        ]
    return []


def _named(connection: Connection, unlike: Unlike) -> str:
    """A row as a person knows it."""
    key = int(unlike.key) if unlike.key.isdigit() else -1
    names: dict[str, Any] = {
        "fish": select(Survey.code + "#" + _text(Fish.number)).join(Fish).where(Fish.id == key),
        "vial": select(Vial.code).where(Vial.id == key),
        "finding": select("F" + _text(Finding.number)).where(Finding.id == key),
        "result": select("of vial " + Vial.code).join(Result, Result.vial_id == Vial.id).where(Result.id == key),
        "event": select(Event.verb + " " + Event.subject).where(Event.id == key),
        "survey": select(Survey.code).where(Survey.id == key),
    }  # fmt: skip
    name = connection.scalar(names[unlike.table]) if unlike.table in names else None
    return f"{unlike.table.replace('_', ' ')} {name or unlike.key}"


def _text(column: Any) -> Any:
    return cast(column, String)
