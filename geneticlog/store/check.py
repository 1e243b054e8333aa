"""A look whether a database is whole."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Engine, func, select

from geneticlog.errors import StoreUnready
from geneticlog.store.migrate import revision_of
from geneticlog.store.tables import Table


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
