"""Rows of the data door as data frames: exactly the columns of their table, in their order and dtypes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from geneticlog.faces.notebook.columns import TABLES

if TYPE_CHECKING:
    import pandas as pd


def picked(table: str, rows: Sequence[dict[str, Any]]) -> list[tuple[Any, ...]]:
    """Return rows as tuples of the table's columns; a key that is absent is a value that is absent."""
    names = [column.name for column in TABLES[table]]
    return [tuple(row.get(name) for name in names) for row in rows]


def frame_of_table(
    table: str, rows: Sequence[Any], order: dict[str, Callable[[], Sequence[str]]] | None = None
) -> pd.DataFrame:
    names = [column.name for column in TABLES[table]]
    return typed(table, frame_of(names, rows), order)


def frame_of(names: Sequence[str], rows: Sequence[Any]) -> pd.DataFrame:
    """Return rows as a frame, built column by column: pandas asks each row of a database what it is."""
    import pandas as pd

    columns = zip(*rows, strict=True) if rows else ((),) * len(names)
    return pd.DataFrame(
        {name: pd.Series(_as_text(list(column))) for name, column in zip(names, columns, strict=True)}
    )


def _as_text(values: list[Any]) -> list[Any]:
    """Return the values of a column, states as their text and not as objects of this program."""
    first = next((value for value in values if value is not None), None)
    return [None if one is None else str(one) for one in values] if isinstance(first, StrEnum) else values


def typed(
    table: str, frame: pd.DataFrame, order: dict[str, Callable[[], Sequence[str]]] | None = None
) -> pd.DataFrame:
    """Return a frame with exactly the table's columns, in their order and dtypes."""
    import pandas as pd

    columns = {}
    for column in TABLES[table]:
        values: Any = frame[column.name]
        if order and column.name in order:
            columns[column.name] = values.astype(
                pd.CategoricalDtype(list(order[column.name]()), ordered=True)
            )
        elif column.dtype.endswith("UTC]"):
            columns[column.name] = pd.to_datetime(values, utc=True).astype(column.dtype)
        elif column.dtype.startswith("datetime64"):
            columns[column.name] = pd.to_datetime(values).astype(column.dtype)
        else:
            columns[column.name] = values.astype(column.dtype)
    return pd.DataFrame(columns)
