"""Chains of the journal on their way between databases: what a carry file brings along of them, and what is kept."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, func, insert, select

from geneticlog.store.journal import EVENTS, NOTHING, entry_hash, head, moment
from geneticlog.store.tables import JournalEntry

TABLE = JournalEntry.__table__
TRAVELS = [column for column in TABLE.columns if column.name != "carried_by"]
# Of a chain that still travels whole, some 650,000 rows written: years of an office. A longer one stays, and it is
# said so: what it tells of is checked where it is, and a chain is of no use in part.
MOST_LETTERS = 20_000_000


@dataclass(frozen=True)
class Parted:
    """A chain that does not go on as the one known here: from entry ``number`` on it is another one."""

    station: str
    number: int


def entries_to_carry(
    connection: Connection, uids: Collection[str]
) -> tuple[list[dict[str, Any]], tuple[str, ...]]:
    """Return the entries of this database's own chain and of every chain held here that names one of the events; and
    the stations whose chains are too long to travel."""
    own = head(connection)
    letters = connection.execute(
        select(TABLE.c.station, func.sum(func.length(TABLE.c.rows))).group_by(TABLE.c.station)
    )
    carried: list[dict[str, Any]] = []
    wanted = set(uids)
    sizes = {one[0]: one[1] for one in letters}
    for station in [station for station, n in sizes.items() if n <= MOST_LETTERS]:
        question = select(*TRAVELS).where(TABLE.c.station == station).order_by(TABLE.c.number)
        entries = [dict(row) for row in connection.execute(question).mappings()]
        if (own and station == own.station) or any(wanted & events_told(one).keys() for one in entries):
            carried += entries
    return carried, tuple(sorted(station for station, n in sizes.items() if n > MOST_LETTERS))


def require_whole(entries: Sequence[dict[str, Any]]) -> None:
    """Raise ValueError for entries that are not whole chains from their first entry on."""
    for station, of in groupby(entries, lambda one: one["station"]):
        previous = NOTHING
        for number, entry in enumerate(of, start=1):
            expected = entry_hash(
                entry["number"], station, moment(entry["at"]), entry["previous"], entry["rows"], entry["note"]
            )
            if entry["number"] != number or entry["previous"] != previous or entry["hash"] != expected:
                raise ValueError(
                    f"entry {number} of the chain of station {station[:8]} is missing or was changed"
                )
            previous = entry["hash"]


def events_told(entry: dict[str, Any]) -> dict[str, str]:
    """Return what an entry says of events: uid -> digest."""
    try:
        events = json.loads(entry["rows"]).get(EVENTS, {})
    except (ValueError, AttributeError):
        return {}
    return events if isinstance(events, dict) else {}


def keep_entries(
    connection: Connection, entries: Sequence[dict[str, Any]], *, carried_by: str
) -> tuple[int, list[Parted]]:
    """Keep what is new of whole chains that came in a carry file; return how many entries, and which chains parted.

    A chain that parts from the one known here is not kept: ours is what was known first.
    """
    n_new, parted = 0, []
    for station, of in groupby(entries, lambda one: one["station"]):
        theirs = list(of)
        question = select(TABLE.c.number, TABLE.c.hash).where(TABLE.c.station == station)

        ours = {row.number: row.hash for row in connection.execute(question)}
        other = [one["number"] for one in theirs if ours.get(one["number"], one["hash"]) != one["hash"]]
        if other:
            parted.append(Parted(station, other[0]))
            continue
        new = [one | {"carried_by": carried_by} for one in theirs if one["number"] not in ours]
        own = head(connection)
        if new and own and own.station == station:  # a copy of this database went on where we have stopped
            parted.append(Parted(station, new[0]["number"]))
            continue
        if new:
            connection.execute(insert(TABLE), new)  # type: ignore[arg-type]
        n_new += len(new)
    return n_new, parted
