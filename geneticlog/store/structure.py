"""Whether the tables, keys, rules, indexes and triggers of a database are those that this program makes."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from sqlalchemy import Connection, Select, and_, create_engine, select

from geneticlog.store.structure_of_server import differences, server_faults
from geneticlog.store.tables import Table as Base
from geneticlog.store.whose_file import APPLICATION_ID

COMPARED = "tables, keys, rules, indexes and triggers"


def structure_faults(connection: Connection) -> tuple[list[str], str]:
    """Return what is missing, changed or added in the structure of a database, and in words what was compared."""
    if connection.dialect.name == "sqlite":
        return [*_sqlite_faults(connection), *_header_faults(connection), *_loose_ends(connection)], COMPARED
    faults, whole = server_faults(connection)
    by_name = (
        "" if whole else " by their names alone, as this role may make no temporary tables to compare with"
    )
    return [*faults, *_loose_ends(connection)], COMPARED + by_name


def _sqlite_faults(connection: Connection) -> list[str]:
    """Compare with a database newly made by the same migrations, word for word."""
    return differences(_newly_made(), _statements(connection))


@cache
def _newly_made() -> dict[str, list[str]]:
    from alembic import command

    from geneticlog.store.migrate import alembic_config

    fresh = create_engine("sqlite://")
    with fresh.begin() as other:
        command.upgrade(alembic_config(other), "head")
        made = _statements(other)
    fresh.dispose()
    return made


def _statements(connection: Connection) -> dict[str, list[str]]:
    rows = connection.exec_driver_sql(
        "SELECT type || ' ' || name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%' AND sql IS NOT NULL"
    )
    # a table that was made anew may name its rules in another order
    return {str(name): sorted(re.split(r",? +|[(),]", re.sub(r"\s+", " ", str(sql)))) for name, sql in rows}


def _header_faults(connection: Connection) -> list[str]:
    if connection.exec_driver_sql("PRAGMA application_id").scalar() == APPLICATION_ID:
        return []
    return ["the header of the file does not say that it is geneticlog's (application id)"]


def _loose_ends(connection: Connection) -> list[str]:
    """Rows that point at nothing, link by link."""
    faults = []
    for question, table, target in _questions():
        if (loose := connection.scalar(question)) is not None:
            faults.append(f"{table} {loose} points at a {target} that is not there")
    return faults


@cache
def _questions() -> list[tuple[Select[Any], str, str]]:
    """For each link: the first row that points at nothing, its table, and the table it points to."""
    asked = []
    for table in Base.metadata.sorted_tables:
        for link in table.foreign_key_constraints:
            target = link.referred_table.alias("target")
            pairs = [(element.parent, target.c[element.column.name]) for element in link.elements]
            joined = table.outerjoin(target, and_(*(here == there for here, there in pairs)))
            key = next(iter(table.primary_key.columns))
            question = (
                select(key)
                .select_from(joined)
                .where(pairs[0][0].is_not(None), pairs[0][1].is_(None))
                .limit(1)
            )
            asked.append((question, table.name, link.referred_table.name))
    return asked
