"""Whether a SQLite file is ours, looked at before it is opened: a file of another program is left as it is."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from geneticlog.errors import StoreUnready

APPLICATION_ID = 0x676C6F67  # "glog", at byte 68 of the header of a SQLite file
MAGIC = b"SQLite format 3\0"
OUR_TABLES = {"alembic_version", "office", "lake", "survey", "vial", "print_run"}


def require_ours(file: Path) -> None:
    """Raise StoreUnready for a file that is no SQLite file or that another program made; nothing is written.

    A file that is not there, or is empty, is anybody's. One that an earlier geneticlog made has no application id yet
    and is known by its tables.
    """
    if not file.is_file():
        if file.is_dir():
            raise StoreUnready(f"{file} is a folder; name a file inside it")
        return
    try:
        with file.open("rb") as opened:
            header = opened.read(100)
    except OSError as fault:
        raise StoreUnready(
            f"the database {file} cannot be opened ({(fault.strerror or 'no access').lower()}); "
            "check the path and its permissions"
        ) from fault
    if not header:
        return
    if not header.startswith(MAGIC):
        raise StoreUnready(
            f"the database {file} cannot be opened: it is not a SQLite file; it was left as it is, name another"
        )
    mark = int.from_bytes(header[68:72], "big")
    if mark == APPLICATION_ID:
        return
    if mark or ((there := tables_of(file)) and not there >= OUR_TABLES):
        raise StoreUnready(
            f"{file} is the SQLite file of another program; it was left as it is, name another file"
        )


def tables_of(file: Path) -> set[str]:
    """Return the names of the tables of a SQLite file, opened so that nothing in it can change."""
    try:
        with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)) as connection:
            return {
                name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            }
    except sqlite3.DatabaseError as fault:
        raise StoreUnready(
            f"the database {file} cannot be opened: it is damaged or locked; "
            "restore a copy with: geneticlog database restore"
        ) from fault
