"""A whole database into another one, SQLite or PostgreSQL either way: every row, the journal too, then compared."""

from __future__ import annotations

from sqlalchemy import Connection, Engine, Table, func, insert, select, text
from sqlalchemy.exc import DBAPIError

from geneticlog.errors import GeneticlogError, Refused
from geneticlog.store.migrate import require_ready, standing, upgrade
from geneticlog.store.refusals import in_words
from geneticlog.store.row_digests import digests
from geneticlog.store.tables import Table as Base

AT_A_TIME = 1_000


def copy_database(source: Engine, target: Engine) -> dict[str, int]:
    """Copy every row of a database into one that is new or empty; return the rows of each table.

    All of it in one transaction, in which the digests of all rows on both sides are compared before it is kept. What
    is written to the source after the copy has begun is not in it. target: opened without links enforced.

    Raises StoreUnready for a source that is not at the revision of this program, Refused for a target that holds data.
    """
    require_ready(source)
    if standing(target).revision is None:
        upgrade(target, seal=False)
    require_ready(target)
    try:
        with source.connect() as origin, target.execution_options(writes=True).begin() as copy:
            if origin.dialect.name == "postgresql":
                origin.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            for table in Base.metadata.sorted_tables:
                if n := copy.scalar(select(func.count()).select_from(table)):
                    raise Refused(
                        f"the database to copy into holds data ({n} in {table.name}); name a new one"
                    )
            rows = {table.name: _copy_table(origin, copy, table) for table in Base.metadata.sorted_tables}
            _compare(origin, copy)
            return rows
    except DBAPIError as fault:
        raise in_words(fault) from fault


def _copy_table(origin: Connection, copy: Connection, table: Table) -> int:
    n = 0
    rows = origin.execute(select(table).order_by(*table.primary_key.columns)).mappings()
    for part in rows.partitions(AT_A_TIME):
        copy.execute(insert(table), [dict(row) for row in part])
        n += len(part)
    key = next(iter(table.primary_key.columns))
    if n and copy.dialect.name == "postgresql" and key.name == "id":
        # the next number of the series follows the last row that came
        move_on = text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :last)")
        last = copy.scalar(select(func.max(key)))
        copy.execute(move_on, {"name": f'"{table.name}"', "last": last})
    return n


def _compare(origin: Connection, copy: Connection) -> None:
    for table in Base.metadata.sorted_tables:
        if digests(origin, table) != digests(copy, table):
            raise GeneticlogError(
                f"after the copy the table {table.name} is not the same on both sides; nothing was kept"
            )
