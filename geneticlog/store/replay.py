"""Reading the journal again: whether its chain holds, and whether every row is as its last entry left it."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlalchemy import Connection, inspect, select

from geneticlog.store.journal import NOTHING, Rows, entry_hash, moment
from geneticlog.store.row_digests import digests, sealed_tables
from geneticlog.store.tables import JournalEntry


@dataclass
class Replayed:
    """What the journal says: the digest of each row by table and key, its chain, and where the chain is broken."""

    rows: Rows = field(default_factory=lambda: defaultdict(dict))
    hashes: dict[int, str] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Unlike:
    """A row that is not as the journal says. ``how``: changed, gone, or unknown (no entry tells of it)."""

    table: str
    key: str
    how: str


def replay(connection: Connection) -> Replayed:
    """Read the whole journal; its faults in plain sentences."""
    found = Replayed()
    table = JournalEntry.__table__
    previous, expected, station = NOTHING, 1, ""
    for entry in connection.execute(select(table).order_by(table.c.number)):
        name = f"entry {entry.number} of the journal"
        if entry.number != expected:
            found.faults.append(f"entries {expected} to {entry.number - 1} of the journal are missing")
        elif entry.previous != previous:
            found.faults.append(f"{name} does not follow the entry before it")
        if station and entry.station != station:
            found.faults.append(f"{name} is of another database")
        if entry.hash != entry_hash(
            entry.number, entry.station, moment(entry.at), entry.previous, entry.rows, entry.note
        ):
            found.faults.append(f"{name} is not as it was written")
        try:
            told = json.loads(entry.rows)
            for name_of, keys in told.items():
                found.rows[name_of].update(keys)
        except (ValueError, AttributeError, TypeError):
            found.faults.append(f"{name} cannot be read")
        if entry.note:
            found.notes.append(f"{moment(entry.at)[:16].replace('T', ' ')} UTC: {entry.note}")
        found.hashes[entry.number] = entry.hash
        previous, expected, station = entry.hash, entry.number + 1, entry.station
    return found


def unlike(connection: Connection, rows: Mapping[str, Mapping[str, str | None]]) -> list[Unlike]:
    """Return every row that is not as the journal says, in the order of the tables.

    A table or column that this database does not have yet is left out.
    """
    look = inspect(connection)
    there = set(look.get_table_names())
    found: list[Unlike] = []
    for table in sealed_tables():
        if table.name not in there:
            continue
        held = {column["name"] for column in look.get_columns(table.name)}
        now = digests(connection, table, without={column.name for column in table.c} - held)
        sealed = rows.get(table.name, {})
        for key, digest in sealed.items():
            if digest is not None and key not in now:
                found.append(Unlike(table.name, key, "gone"))
        for key, digest in now.items():
            if key not in sealed or sealed[key] is None:
                found.append(Unlike(table.name, key, "unknown"))
            elif sealed[key] != digest:
                found.append(Unlike(table.name, key, "changed"))
    return found
