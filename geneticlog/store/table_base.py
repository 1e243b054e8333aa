"""The base of all tables: the names of constraints, the words of a column, texts that are read at once."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import MetaData, Text
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.orm import DeclarativeBase
from sqlalchemy.schema import CreateIndex

from geneticlog.store.columns import (
    JsonText,
    UtcInstant,
)

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


def one_of(column: str, *words: str) -> str:
    """Return the CHECK that a column holds one of these words (or nothing, where it may be absent)."""
    return f"{column} IN ({', '.join(repr(str(word)) for word in words)})"


def read_at_once(row: Table, name: str, value: Any) -> Any:
    """A value that comes as text, as in a carry file, is read at once. Raises SchemeError."""
    kept = type(row).__table__.c[name].type
    return kept.read(value) if isinstance(value, str) and isinstance(kept, JsonText) else value


class Table(DeclarativeBase):
    """The base of all tables; ``uid`` columns tell rows apart between databases, ``id`` only within one."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {datetime: UtcInstant(), str: Text()}  # noqa: RUF012 - SQLAlchemy reads it from the class


@compiles(CreateIndex, "postgresql")
def with_its_condition(create: CreateIndex, compiler: Any, **more: Any) -> str:
    """Give an index of only some rows its condition on PostgreSQL, too: that of SQLite, by which tables name it.

    Named in a table for both, it would load all of SQLAlchemy's PostgreSQL with every command on a SQLite file.
    """
    where = create.element.dialect_options["sqlite"]["where"]
    if where is not None:
        create.element.dialect_options["postgresql"]["where"] = where
    return str(compiler.visit_create_index(create, **more))
