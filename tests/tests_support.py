"""What several test files share, beside the fixtures of conftest.py."""

from __future__ import annotations

from sqlalchemy import create_engine, make_url, text


def with_database(url: str, name: str) -> str:
    """Return a server's URL with another database, through psycopg."""
    return (
        make_url(url)
        .set(drivername="postgresql+psycopg", database=name)
        .render_as_string(hide_password=False)
    )


def admin(url: str, statement: str) -> None:
    """Run one statement on a server outside any transaction."""
    engine = create_engine(with_database(url, "postgres"), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(statement))
    engine.dispose()
