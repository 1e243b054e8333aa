"""Copies of a SQLite database, taken while it is in use, and a look whether a database is whole."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, func, select

from geneticlog.errors import GeneticlogError, Refused, StoreUnready
from geneticlog.store.migrate import revision_of
from geneticlog.store.tables import Table
from geneticlog.store.writing import require_folder


def copy_to(source: Path, target: Path) -> None:
    """Copy a SQLite database by its own backup interface, whole or not at all.

    Raises NotFound for a folder that is not there, GeneticlogError for a place that cannot be written.
    """
    require_folder(target)
    partial = target.with_name(f".{target.name}.partial")
    try:
        with closing(sqlite3.connect(source)) as origin, closing(sqlite3.connect(partial)) as copy:
            origin.backup(copy)
        partial.replace(target)
    except sqlite3.OperationalError as fault:
        raise GeneticlogError(
            f"{source} cannot be copied to {target} ({fault}); check the folder and its permissions"
        ) from fault
    finally:
        partial.unlink(missing_ok=True)


def copy_beside(file: Path, revision: str) -> Path:
    """Copy a database beside itself under the revision it has; returns the copy."""
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    target = file.with_name(f"{file.stem}.{revision}.{stamp}{file.suffix}")
    copy_to(file, target)
    return target


def put_back(copy: Path, target: Path, *, replace: bool) -> Path | None:
    """Put a copy in the place of a database; returns where the one that was there is kept now.

    Raises StoreUnready for a file that is not a whole database of ours, Refused when there is one already
    and it was not said to replace it.
    """
    try:
        with closing(sqlite3.connect(f"{copy.absolute().as_uri()}?mode=ro", uri=True)) as connection:
            whole = connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
            ours = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.DatabaseError as fault:
        raise StoreUnready(
            f"{copy} is not a whole geneticlog database ({fault}); name another copy"
        ) from fault
    if not whole or not ours:
        raise StoreUnready(f"{copy} is not a whole geneticlog database; name another copy")
    kept = None
    if target.exists():
        if not replace:
            raise Refused(f"there is a database at {target}; say --replace to put the copy in its place")
        kept = copy_beside(target, "replaced")
    for suffix in ("-wal", "-shm"):
        target.with_name(target.name + suffix).unlink(missing_ok=True)
    target.parent.mkdir(parents=True, exist_ok=True)
    copy_to(copy, target)
    return kept


def look_over(engine: Engine) -> dict[str, Any]:
    """Return revision and rows of each table. Raises StoreUnready when pages or links are broken."""
    with engine.connect() as connection:
        if engine.dialect.name == "sqlite":
            said = connection.exec_driver_sql("PRAGMA integrity_check").scalar()
            if said != "ok":
                raise StoreUnready(
                    f"the database file is damaged ({said}); restore a copy: geneticlog database restore"
                )
            broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
            if broken:
                raise StoreUnready(
                    f"{len(broken)} rows point at nothing (first: table {broken[0][0]}, row {broken[0][1]}); "
                    "restore a copy: geneticlog database restore"
                )
        rows = {
            table.name: connection.scalar(select(func.count()).select_from(table)) or 0
            for table in Table.metadata.sorted_tables
        }
        return {"revision": revision_of(connection), "rows": rows}
