"""Opening a database, SQLite file or PostgreSQL by URL, in the way that keeps it whole; and who writes when.

One program writes at a time, on both engines: a write transaction takes the one lock of the database before it looks
at anything (SQLite: ``BEGIN IMMEDIATE``; PostgreSQL: an advisory lock that ends with the transaction). What it reads
is then what it writes on: the next number of a series, the free vial, the finding that is still open. Unique keys
have the last word. A write waits for its turn instead of failing, and says so after a second.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from geneticlog.errors import StoreUnready
from geneticlog.store import journal  # noqa: F401 - from here on every transaction of a session ends with an entry
from geneticlog.store.address import database_url, sqlite_file
from geneticlog.store.refusals import in_words
from geneticlog.store.whose_file import require_ours

__all__ = ["database_url", "one_transaction", "open_engine", "sqlite_file"]

WORD_AFTER = 1.0  # seconds of waiting after which it is said that somebody else is writing
LONGEST_WAIT = (
    600.0  # seconds; no transaction of ours is near that. The option "longest_wait" of an engine shortens it
)
READER_WAIT = 30  # seconds that a reader waits for a file being recovered or restored
WRITERS_LOCK = 0x676C6F67  # the advisory lock of a PostgreSQL database, which is local to that database

Waiting = Callable[[], None]


def open_engine(url: str, *, enforce_links: bool = True, waiting: Waiting | None = None) -> Engine:
    """Return an engine for a database URL.

    SQLite: foreign keys enforced, write-ahead log, and BEGIN sent by us, because the driver opens no transaction for
    DDL. Migrations pass ``enforce_links=False``: a table rebuilt under its children would otherwise lose them.
    waiting: called once by a write transaction that has waited for a second.

    Raises StoreUnready for a file of another program, which is not touched, and where the PostgreSQL driver is missing.
    """
    file = sqlite_file(url)
    if file is not None:
        require_ours(file)
    try:
        if file is not None:
            engine = create_engine(url, creator=lambda: _connect(file))
        elif url.startswith("sqlite"):
            engine = create_engine(url)
        else:
            engine = create_engine(url, pool_pre_ping=True, connect_args={"application_name": "geneticlog"})
    except ImportError as fault:
        raise StoreUnready(
            "the PostgreSQL driver is not installed; install it with: pip install 'geneticlog[postgres]'"
        ) from fault
    if engine.dialect.name == "sqlite":

        @event.listens_for(engine, "connect")
        def _on_connect(connection: sqlite3.Connection, _record: object) -> None:
            connection.isolation_level = None
            connection.execute(f"PRAGMA busy_timeout = {READER_WAIT * 1000}")
            connection.execute(f"PRAGMA foreign_keys = {'ON' if enforce_links else 'OFF'}")
            if _read_only(connection):
                return
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = FULL")  # a flat battery must not cost a fish
            connection.execute(
                "PRAGMA wal_autocheckpoint = 1"
            )  # nor a write-ahead log that gets lost the last one

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        if connection.dialect.name == "sqlite":
            if writes:
                _begin_writing(connection, waiting)
            else:
                connection.exec_driver_sql("BEGIN")
        elif writes:
            _take_the_lock(connection, waiting)

    return engine


def _connect(file: Path) -> sqlite3.Connection:
    """Open a SQLite file; one on a medium that cannot be written is opened to be read only."""
    writable = os.access(file, os.W_OK) if file.exists() else True
    if writable and os.access(file.parent, os.W_OK):
        return sqlite3.connect(file, check_same_thread=False)
    log = file.with_name(file.name + "-wal")
    # without a log, nobody can be writing on such a medium, and SQLite needs no file of its own beside it
    still = "&immutable=1" if not log.exists() or not log.stat().st_size else ""
    return sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro{still}", uri=True, check_same_thread=False)


def _read_only(connection: sqlite3.Connection) -> bool:
    name = connection.execute("PRAGMA database_list").fetchone()[2]
    return (
        bool(name)
        and Path(name).exists()
        and not (os.access(name, os.W_OK) and os.access(Path(name).parent, os.W_OK))
    )


def _begin_writing(connection: Connection, waiting: Waiting | None) -> None:
    driver: Any = connection.connection.dbapi_connection
    driver.execute(f"PRAGMA busy_timeout = {int(WORD_AFTER * 1000)}")
    since = time.monotonic()
    told_once = False
    try:
        while True:
            try:
                driver.execute("BEGIN IMMEDIATE")
                return
            except sqlite3.OperationalError as fault:
                if not {"locked", "busy"} & set(str(fault).lower().split()):
                    raise DBAPIError.instance("BEGIN IMMEDIATE", None, fault, sqlite3.Error) from fault
            if waiting is not None and not told_once:
                waiting()
            told_once = True
            _give_up_after(since, connection)
    finally:
        driver.execute(f"PRAGMA busy_timeout = {READER_WAIT * 1000}")


def _take_the_lock(connection: Connection, waiting: Waiting | None) -> None:
    since = time.monotonic()
    told_once = False
    pause = 0.005
    while not connection.exec_driver_sql(f"SELECT pg_try_advisory_xact_lock({WRITERS_LOCK})").scalar():
        if not told_once and time.monotonic() - since > WORD_AFTER:
            told_once = True
            if waiting is not None:
                waiting()
        _give_up_after(since, connection)
        time.sleep(pause)
        pause = min(pause * 1.5, 0.05)


def _give_up_after(since: float, connection: Connection) -> None:
    longest = float(connection.get_execution_options().get("longest_wait", LONGEST_WAIT))
    if time.monotonic() - since > longest:
        words = f"{longest / 60:.0f} minutes" if longest >= 120 else f"{longest:.0f} seconds"
        raise StoreUnready(
            f"another program has been writing to the database for {words}; "
            "nothing was stored; close that program and try again"
        )


@contextmanager
def one_transaction(engine: Engine, *, writes: bool = True, **session_options: Any) -> Iterator[Session]:
    """A session that commits at the end of the block and rolls everything back on any error.

    Raises Refused or StoreUnready, in words, for whatever the database refuses.
    """
    try:
        with (
            engine.execution_options(writes=writes).connect() as connection,
            Session(connection, **session_options) as session,
            session.begin(),
        ):
            if writes:
                session.connection()  # its turn comes first: the moment it works with is then later than all before it
            yield session
    except DBAPIError as fault:
        raise in_words(fault) from fault
