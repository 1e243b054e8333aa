"""A connection to a test's own PostgreSQL database is kept from one command to the next, while the test lasts.

Each command that a test runs has an engine of its own, and each new connection starts a process of the server that
learns the catalogue anew: that takes longer than what most commands ask. Kept is one connection for each database of
the fixture ``postgres_database``, by the process that made it, once nothing is open on it; all others close as ever.
"""

from __future__ import annotations

import os
import select
from typing import Any

from psycopg.pq import TransactionStatus
from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg

OWN = "test_"  # what the names of databases begin with that belong to one test
IDLE: dict[tuple[int, str], Any] = {}
ENDED: set[str] = set()  # databases whose tests are over: an engine that is thrown away later closes its own
_connect, _close = PGDialect_psycopg.connect, PGDialect_psycopg.do_close


def _key(connection: Any) -> tuple[int, str]:
    return os.getpid(), connection.info.dbname


def _kept_or_new(self: PGDialect_psycopg, *arguments: Any, **named: Any) -> Any:
    kept = IDLE.pop((os.getpid(), str(named.get("dbname"))), None)
    if kept is not None and not kept.closed:
        if not select.select([kept.fileno()], [], [], 0)[0]:  # the server has not hung up
            return kept
        kept.close()
    return _connect(self, *arguments, **named)


def _keep_or_close(self: PGDialect_psycopg, connection: Any) -> None:
    idle = not connection.closed and connection.info.transaction_status == TransactionStatus.IDLE
    name = connection.info.dbname if idle and not connection.autocommit else ""
    if name.startswith(OWN) and name not in ENDED and _key(connection) not in IDLE:
        IDLE[_key(connection)] = connection
    else:
        _close(self, connection)


def keep_connections() -> None:
    """Let all engines of this process share the connection that is kept of a test's database."""
    PGDialect_psycopg.connect = _kept_or_new  # type: ignore[method-assign]
    PGDialect_psycopg.do_close = _keep_or_close  # type: ignore[method-assign]


def let_go(database: str) -> None:
    """Close the connection that is kept of a database, and keep none of it from here on."""
    ENDED.add(database)
    if (kept := IDLE.pop((os.getpid(), database), None)) is not None:
        kept.close()
