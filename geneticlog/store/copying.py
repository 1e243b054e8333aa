"""A whole database into another one, SQLite or PostgreSQL either way: every row, the journal too, then compared."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from sqlalchemy import Connection, Engine, Table, func, insert, select, text
from sqlalchemy.exc import DBAPIError

from geneticlog.errors import GeneticlogError, Refused
from geneticlog.store.columns import as_stored
from geneticlog.store.migrate import require_ready, standing, upgrade
from geneticlog.store.refusals import in_words
from geneticlog.store.row_digests import digests
from geneticlog.store.tables import Table as Base

AT_A_TIME = 1_000
# what is being done, rows done of it, rows there are
Watch = Callable[[str, int, int], None]


def copy_database(source: Engine, target: Engine, watch: Watch = lambda *_: None) -> dict[str, int]:
    """Copy every row of a database into one that is new or empty; return the rows of each table.

    All of it in one transaction, in which the digests of all rows on both sides are compared before it is kept. What
    is written to the source after the copy has begun is not in it. target: opened without links enforced. watch: called
    with the step, the rows done and the rows there are.

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
            tables = Base.metadata.sorted_tables
            total = sum(origin.scalar(select(func.count()).select_from(table)) or 0 for table in tables)
            rows: dict[str, int] = {}
            for table in tables:
                rows[table.name] = _copy_table(
                    origin, copy, table, partial(_counted_on, watch, sum(rows.values()), total)
                )
            _compare(origin, copy, rows, watch)
            return rows
    except DBAPIError as fault:
        raise in_words(fault) from fault


def _counted_on(watch: Watch, before: int, total: int, n: int) -> None:
    watch("Copying rows", before + n, total)


def _copy_table(origin: Connection, copy: Connection, table: Table, watch: Callable[[int], None]) -> int:
    n = 0
    rows = origin.execute(
        select(*map(as_stored, table.columns)).order_by(*table.primary_key.columns)
    ).mappings()
    for part in rows.partitions(AT_A_TIME):
        copy.execute(insert(table), [dict(row) for row in part])
        n += len(part)
        watch(n)
    key = next(iter(table.primary_key.columns))
    if n and copy.dialect.name == "postgresql" and key.name == "id":
        # the next number of the series follows the last row that came
        move_on = text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :last)")
        last = copy.scalar(select(func.max(key)))
        copy.execute(move_on, {"name": f'"{table.name}"', "last": last})
    return n


def _compare(origin: Connection, copy: Connection, rows: dict[str, int], watch: Watch) -> None:
    done = 0
    for table in Base.metadata.sorted_tables:
        watch("Comparing rows", done, sum(rows.values()))
        done += rows[table.name]
        if digests(origin, table) != digests(copy, table):
            raise GeneticlogError(
                f"after the copy the table {table.name} is not the same on both sides; nothing was kept"
            )
