"""What several test files share, beside the fixtures of conftest.py."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

import psycopg
import pytest
from sqlalchemy import Connection, make_url


@pytest.fixture
def database(sqlite_database: str) -> str:
    """SQLite alone, for a file of tests that imports this: what both engines answer alike is held elsewhere."""
    return sqlite_database


# One test on SQLite alone, in a file that asks both engines: what a paper, a sheet or a refusal says is no engine's.
on_sqlite = pytest.mark.parametrize("database", ["sqlite"], indirect=True)


def with_database(url: str, name: str) -> str:
    """Return a server's URL with another database, through psycopg."""
    return (
        make_url(url)
        .set(drivername="postgresql+psycopg", database=name)
        .render_as_string(hide_password=False)
    )


@cache
def _at_the_server(url: str) -> psycopg.Connection:
    return psycopg.connect(dsn(url, "postgres"), autocommit=True)


def admin(url: str, statement: str) -> None:
    """Run one statement on a server outside any transaction, on a connection that is kept until ``leave``."""
    _at_the_server(url).execute(statement.encode())


def leave(url: str) -> None:
    """Close the connection that ``admin`` kept to a server."""
    _at_the_server(url).close()


def dsn(url: str, name: str) -> str:
    """Return a server's URL with another database, as the driver itself takes it."""
    return with_database(url, name).replace("postgresql+psycopg", "postgresql")


@contextmanager
def guards_off(connection: Connection) -> Iterator[None]:
    """As somebody does who takes the triggers and links out of the way, and puts them back afterwards."""
    if connection.dialect.name != "sqlite":
        connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
        yield
        connection.exec_driver_sql("SET LOCAL session_replication_role = origin")
        return
    rows = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    guards = {str(name): str(sql) for name, sql in rows}
    for name in guards:
        connection.exec_driver_sql(f"DROP TRIGGER {name}")
    yield
    for statement in guards.values():
        connection.exec_driver_sql(statement)
