"""Many rows of one table stored at once, without the cost of an object or a dictionary for each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, Table, insert

from geneticlog.store.journal import note_added


def insert_rows(
    connection: Connection, table: Table, columns: Sequence[str], rows: Sequence[tuple[Any, ...]]
) -> None:
    """Insert rows of plain values (text, numbers, None), in the order of ``columns``.

    Values go to the driver as they are: not for columns whose type converts them, as moments of time do.
    """
    if not rows:
        return
    note_added(connection, table, columns, rows)
    compiled = insert(table).compile(dialect=connection.dialect, column_keys=list(columns))
    if compiled.positional:
        order = [columns.index(name) for name in compiled.positiontup or ()]
        if order == list(range(len(columns))):
            given: Any = rows if isinstance(rows, list) else list(rows)
        else:
            given = [tuple(row[i] for i in order) for row in rows]
    else:
        given = [dict(zip(columns, row, strict=True)) for row in rows]
    connection.exec_driver_sql(str(compiled), given)
