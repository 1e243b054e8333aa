"""Each SQL statement is compiled once in a test run, not once for each of thousands of short-lived databases.

SQLAlchemy keeps what it compiled with an engine, and a test has an engine of its own for every command it runs. Here
all connections keep it in one place, and dialects of one kind count as the same one, which they are: a run has one
SQLite library and one PostgreSQL server.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Engine, event
from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.engine import Dialect

COMPILED: dict[Any, Any] = {}


def _same(one: Dialect, other: object) -> bool:
    return type(one) is type(other)


def _kind(one: Dialect) -> int:
    return hash(type(one))


def compile_once() -> None:
    """Let all engines of this process share what they compile."""
    for dialect in (SQLiteDialect_pysqlite, PGDialect_psycopg):
        dialect.__eq__ = _same  # type: ignore[method-assign, assignment]
        dialect.__hash__ = _kind  # type: ignore[method-assign, assignment]

    @event.listens_for(Engine, "engine_connect")
    def _share(connection: Connection) -> None:
        connection.execution_options(compiled_cache=COMPILED)
