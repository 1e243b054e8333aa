"""Reading the journal again: whether its chain holds, and whether every row is as its last entry left it."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, inspect, literal, select

from geneticlog.store.journal import EVENTS, NOTHING, Rows, entry_hash, moment
from geneticlog.store.row_digests import digests, sealed_tables
from geneticlog.store.tables import JournalEntry

# what is being done, how much of it is done, and how much there is
Watch = Callable[[str, int, int], None]


@dataclass
class Replayed:
    """What the journal says: the digest of each row by table and key, its chain, and where a chain is broken.

    others: the hashes of the chains that were carried in, by station. told: what those say of events, by uid.
    """

    rows: Rows = field(default_factory=lambda: defaultdict(dict))
    hashes: dict[int, str] = field(default_factory=dict)
    others: dict[str, dict[int, str]] = field(default_factory=lambda: defaultdict(dict))
    told: dict[str, tuple[str, str]] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Unlike:
    """A row that is not as the journal says. ``how``: changed, gone, or unknown (no entry names it)."""

    table: str
    key: str
    how: str


def replay(connection: Connection, watch: Watch = lambda *_: None) -> Replayed:
    """Read the whole journal, chain by chain; its faults in plain sentences."""
    replayed = Replayed()
    table = JournalEntry.__table__
    carried: Any = literal(None)  # a database that is brought up from before chains were carried
    if "carried_by" in {column["name"] for column in inspect(connection).get_columns("journal")}:
        carried = table.c.carried_by
    columns = [column for column in table.columns if column.name != "carried_by"]
    question = select(*columns, carried.label("carried_by")).order_by(table.c.station, table.c.number)
    entries = connection.execute(question).all()
    own = [entry for entry in entries if entry.carried_by is None]
    if len({entry.station for entry in own}) > 1:
        replayed.faults.append("the journal holds the chain of another database as if it were its own")
        own.sort(key=lambda entry: entry.number)
    _follow(own, replayed, "the journal", replayed.hashes)
    for done, entry in enumerate(own):
        if done % 500 == 0:
            watch("Checking the journal", done, len(own))
        for name, keys in _told(entry, replayed, "the journal").items():
            replayed.rows[name].update(keys)
        if entry.note:
            replayed.notes.append(f"{moment(entry.at)[:16].replace('T', ' ')} UTC: {entry.note}")
    for station, chain in groupby((one for one in entries if one.carried_by), lambda one: one.station):
        of = f"the chain of station {station[:8]}, which was carried in,"
        kept = list(chain)
        _follow(kept, replayed, of, replayed.others[station])
        for entry in kept:
            for uid, digest in _told(entry, replayed, of).get(EVENTS, {}).items():
                replayed.told[uid] = (station, str(digest))
    return replayed


def _follow(entries: Sequence[Any], replayed: Replayed, of: str, hashes: dict[int, str]) -> None:
    """Follow one chain from its first entry on."""
    previous, expected = NOTHING, 1
    for entry in entries:
        name = f"entry {entry.number} of {of}"
        if entry.number != expected:
            replayed.faults.append(f"entries {expected} to {entry.number - 1} of {of} are missing")
        elif entry.previous != previous:
            replayed.faults.append(f"{name} does not follow the entry before it")
        if entry.hash != entry_hash(
            entry.number, entry.station, moment(entry.at), entry.previous, entry.rows, entry.note
        ):
            replayed.faults.append(f"{name} is not as it was written")
        hashes[entry.number] = entry.hash
        previous, expected = entry.hash, entry.number + 1


def _told(entry: Any, replayed: Replayed, of: str) -> dict[str, dict[str, str | None]]:
    try:
        told = json.loads(entry.rows)
        return {str(name): dict(keys) for name, keys in told.items()}
    except (ValueError, AttributeError, TypeError):
        replayed.faults.append(f"entry {entry.number} of {of} cannot be read")
        return {}


def unlike(
    connection: Connection,
    rows: Mapping[str, Mapping[str, str | None]],
    n_rows: Mapping[str, int] | None = None,
    watch: Watch = lambda *_: None,
) -> list[Unlike]:
    """Return every row that is not as the journal says, in the order of the tables.

    A table or column that this database does not have yet is left out. n_rows: rows of each table, for ``watch``.
    """
    look = inspect(connection)
    tables = set(look.get_table_names())
    differing: list[Unlike] = []
    looked_at: list[str] = []
    for table in sealed_tables():
        if table.name not in tables:
            continue
        of_each = n_rows or {}
        watch("Checking rows", sum(of_each.get(name, 0) for name in looked_at), sum(of_each.values()))
        looked_at.append(table.name)
        held = {column["name"] for column in look.get_columns(table.name)}
        now = digests(connection, table, without={column.name for column in table.c} - held)
        sealed = rows.get(table.name, {})
        for key, digest in sealed.items():
            if digest is not None and key not in now:
                differing.append(Unlike(table.name, key, "gone"))
        for key, digest in now.items():
            if key not in sealed or sealed[key] is None:
                differing.append(Unlike(table.name, key, "unknown"))
            elif sealed[key] != digest:
                differing.append(Unlike(table.name, key, "changed"))
    return differing
