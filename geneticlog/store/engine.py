"""Opening a database, SQLite file or PostgreSQL by URL, in the way that keeps it whole."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.orm import Session

from geneticlog.errors import StoreUnready

BUSY_SECONDS = 30  # two programs on one file wait for each other that long before they give up


def database_url(setting: str) -> str:
    """Return the SQLAlchemy URL of a path or a URL; a PostgreSQL URL is sent through psycopg.

    Raises StoreUnready for a URL of another kind of database.
    """
    if "://" not in setting:
        return f"sqlite:///{Path(setting).expanduser()}"
    try:
        url = make_url(setting)
    except ArgumentError as fault:
        raise StoreUnready(
            f"{setting!r} is not a path and not a database URL; give a file or postgresql://…"
        ) from fault
    backend = url.get_backend_name()
    if backend == "postgresql":
        return url.set(drivername="postgresql+psycopg").render_as_string(hide_password=False)
    if backend == "sqlite":
        return setting
    raise StoreUnready(f"{backend} databases are not supported; give a SQLite file or a postgresql:// URL")


def sqlite_file(url: str) -> Path | None:
    """Return the file behind a SQLite URL; None for a database in memory or on a server."""
    parsed = make_url(url)
    if parsed.get_backend_name() != "sqlite" or parsed.database in (None, "", ":memory:"):
        return None
    return Path(str(parsed.database))


def open_engine(url: str, *, enforce_links: bool = True) -> Engine:
    """Return an engine for a database URL.

    SQLite: foreign keys enforced, write-ahead log, and BEGIN sent by us, because the driver opens no
    transaction for DDL. Migrations pass ``enforce_links=False``: a table rebuilt under its children would
    otherwise lose them.
    """
    try:
        engine = create_engine(url)
    except ImportError as fault:
        raise StoreUnready(
            "the PostgreSQL driver is not installed; install it with: pip install 'geneticlog[postgres]'"
        ) from fault
    if engine.dialect.name == "sqlite":

        @event.listens_for(engine, "connect")
        def _on_connect(connection: sqlite3.Connection, _record: object) -> None:
            connection.isolation_level = None
            connection.execute(f"PRAGMA busy_timeout = {BUSY_SECONDS * 1000}")
            connection.execute(f"PRAGMA foreign_keys = {'ON' if enforce_links else 'OFF'}")
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = FULL")  # a flat battery must not cost a fish

        @event.listens_for(engine, "begin")
        def _on_begin(connection: Connection) -> None:
            # IMMEDIATE where the caller is going to write: two writers then queue instead of one failing late
            immediate = connection.get_execution_options().get("writes", False)
            connection.exec_driver_sql("BEGIN IMMEDIATE" if immediate else "BEGIN")

    return engine


@contextmanager
def one_transaction(engine: Engine, *, writes: bool = True, **session_options: Any) -> Iterator[Session]:
    """A session that commits at the end of the block and rolls everything back on any error."""
    with (
        engine.execution_options(writes=writes).connect() as connection,
        Session(connection, **session_options) as session,
        session.begin(),
    ):
        yield session
