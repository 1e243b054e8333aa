"""Where a database is: a path or a URL, read without guessing, and shown without its password."""

from __future__ import annotations

import os
import re
from pathlib import Path

from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

from geneticlog.errors import NotFound, StoreUnready
from geneticlog.settings import PASSWORD_FILE_VARIABLE

# the keywords of a libpq connection string that people write by hand; a file named so would hold the password
LIBPQ = re.compile(
    r"\s*(host|hostaddr|port|dbname|user|password|passfile|service|sslmode|connect_timeout)\s*=",
    re.IGNORECASE,
)
GIVE_A_URL = (
    "give a file, or postgresql://USER@HOST/NAME with the password in PGPASSWORD, in the file that "
    f"{PASSWORD_FILE_VARIABLE} names, or in the password file of PostgreSQL (~/.pgpass)"
)


def database_url(setting: str) -> str:
    """Return the SQLAlchemy URL of a path or a URL; a PostgreSQL URL is sent through psycopg.

    A password that the URL leaves out is taken from the file that GENETICLOG_PASSWORD_FILE names; else PostgreSQL's
    own ways (PGPASSWORD, ~/.pgpass) hold. Raises StoreUnready, without repeating what was given, for a URL that cannot
    be read or of another kind of database, and for a libpq string, which would otherwise become the name of a file.
    """
    if "://" not in setting:
        if LIBPQ.match(setting):
            raise StoreUnready(f"a connection string of PostgreSQL is not a path; {GIVE_A_URL}")
        return _of_a_file(Path(setting).expanduser())
    try:
        url = make_url(setting)
    except (ArgumentError, ValueError) as fault:
        raise StoreUnready(f"this is not a path and not a database URL; {GIVE_A_URL}") from fault
    backend = url.get_backend_name()
    if backend == "postgresql":
        url = url.set(drivername="postgresql+psycopg")
        if url.password is None and not _secrets_of(url):
            url = url.set(password=_password_from_file())
        return url.render_as_string(hide_password=False)
    if backend == "sqlite":
        return setting
    kind = backend if re.fullmatch("[a-z0-9]{1,20}", backend) else "such"
    raise StoreUnready(f"{kind} databases are not supported; give a SQLite file or a postgresql:// URL")


def sqlite_file(url: str) -> Path | None:
    """Return the file behind a SQLite URL; None for a database in memory or on a server."""
    parsed = make_url(url)
    if parsed.get_backend_name() != "sqlite" or parsed.database in (None, "", ":memory:"):
        return None
    return Path(str(parsed.database))


def holds_password(setting: str) -> bool:
    """Return whether a setting has a password in it, which the list of processes would show to everyone."""
    if "://" not in setting:
        return LIBPQ.match(setting) is not None and "password" in setting.lower()
    try:
        url = make_url(setting)
    except (ArgumentError, ValueError):
        return "@" in setting
    return bool(url.password) or bool(_secrets_of(url))


def shown(url: str | URL) -> str:
    """Return a database's address as it may be printed: a SQLite file's path, a server's URL without any secret."""
    parsed = make_url(url)
    if parsed.get_backend_name() == "sqlite":
        return str(parsed.database or "in memory")
    parsed = parsed.difference_update_query(_secrets_of(parsed)).set(drivername=parsed.get_backend_name())
    return parsed.render_as_string(hide_password=True)


def _of_a_file(file: Path) -> str:
    return URL.create("sqlite", database=str(file)).render_as_string(hide_password=False)


def _secrets_of(url: URL) -> list[str]:
    return [name for name in url.query if "password" in name.lower()]


def _password_from_file() -> str | None:
    named = os.environ.get(PASSWORD_FILE_VARIABLE, "").strip()
    if not named:
        return None
    try:
        return Path(named).read_text(encoding="utf-8-sig").rstrip("\r\n") or None
    except (OSError, UnicodeDecodeError):
        raise NotFound(
            f"the password file {named} of {PASSWORD_FILE_VARIABLE} cannot be read; check its name and permissions"
        ) from None
