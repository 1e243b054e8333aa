"""Writing tables as Apache Parquet, for programs that read columns with their types; it needs pyarrow."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from geneticlog.errors import GeneticlogError


@dataclass(frozen=True)
class ParquetColumn:
    """One column. type: string, integer, number, boolean or date, as in a Table Schema."""

    name: str
    type: str
    description: str


def require_pyarrow() -> None:
    """Raise GeneticlogError with the way out where pyarrow is not installed."""
    try:
        import pyarrow.parquet  # noqa: F401
    except ImportError as missing:
        raise GeneticlogError(
            "Parquet files need pyarrow, which is not installed; install it with: pip install 'geneticlog[parquet]',"
            " or leave out --parquet: the CSV files hold the same"
        ) from missing


def parquet_bytes(columns: Sequence[ParquetColumn], rows: Sequence[Sequence[Any]]) -> bytes:
    """Return rows as a Parquet file: typed columns, absent values null, each column with its description.

    Raises GeneticlogError where pyarrow is not installed.
    """
    require_pyarrow()
    import pyarrow as pa
    import pyarrow.parquet as pq

    kinds = {
        "string": pa.string(),
        "integer": pa.int64(),
        "number": pa.float64(),
        "boolean": pa.bool_(),
        "date": pa.date32(),
    }
    schema = pa.schema(
        [
            pa.field(column.name, kinds[column.type], metadata={"description": column.description})
            for column in columns
        ]
    )
    arrays = [
        pa.array([None if row[at] is None else _as(column.type, row[at]) for row in rows], type=field.type)
        for at, (column, field) in enumerate(zip(columns, schema, strict=True))
    ]
    memory = io.BytesIO()
    pq.write_table(pa.Table.from_arrays(arrays, schema=schema), memory)
    return memory.getvalue()


def _as(kind: str, value: Any) -> Any:
    if kind == "date":
        from datetime import date

        return date.fromisoformat(value) if isinstance(value, str) else value
    return str(value) if kind == "string" else value
