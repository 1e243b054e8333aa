"""Column types that behave alike on SQLite and PostgreSQL, and give back what they were given."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from enum import StrEnum
from functools import lru_cache
from typing import Any, Generic, TypeVar

from sqlalchemy import ColumnElement, DateTime, Dialect, Text, type_coerce
from sqlalchemy.types import TypeDecorator

from geneticlog.rules.schemes import Scheme


class UtcInstant(TypeDecorator[datetime]):
    """A moment: an aware datetime in UTC; a naive one is refused, because nobody knows what it meant."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"a moment without a time zone cannot be stored: {value}")
        value = value.astimezone(UTC)
        return value.replace(tzinfo=None) if dialect.name == "sqlite" else value

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        moment: datetime = value
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


State = TypeVar("State", bound=StrEnum)


class Word(TypeDecorator[State], Generic[State]):
    """A state, kept as its word; any other word is refused on its way in.

    states: the StrEnum whose words the column holds
    """

    impl = Text
    cache_ok = True

    def __init__(self, states: type[State]) -> None:
        super().__init__()
        self.states = states

    def process_bind_param(self, value: State | str | None, dialect: Dialect) -> str | None:
        return None if value is None else self.states(value).value

    def process_result_value(self, value: str | None, dialect: Dialect) -> State | None:
        return None if value is None else self.states(value)


@lru_cache(maxsize=512)
def _scheme(text: str) -> Scheme:
    return Scheme.from_json(text)


class SchemeText(TypeDecorator[Scheme]):
    """A size-class scheme, kept as one line of JSON."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Scheme | str | None, dialect: Dialect) -> str | None:
        return value.to_json() if isinstance(value, Scheme) else value

    def process_result_value(self, value: str | None, dialect: Dialect) -> Scheme | None:
        return None if value is None else _scheme(value)


def as_stored(column: ColumnElement[Any]) -> ColumnElement[Any]:
    """Return a column whose stored text is wanted as it is, whatever a state or a scheme would make of it."""
    return type_coerce(column, Text()) if isinstance(column.type, Word | SchemeText) else column


class JsonList(TypeDecorator[list[str]]):
    """A list of words, kept as the text of a JSON list; give it a new list, a list changed in place is not seen."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: list[str] | None, dialect: Dialect) -> str | None:
        return None if value is None else json.dumps(value, ensure_ascii=False)

    def process_result_value(self, value: str | None, dialect: Dialect) -> list[str] | None:
        return None if value is None else list(json.loads(value))
