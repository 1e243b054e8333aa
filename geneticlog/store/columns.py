"""Column types that behave alike on SQLite and PostgreSQL, and give back what they were given."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime
from enum import StrEnum
from functools import lru_cache
from typing import Any, Generic, TypeVar

from sqlalchemy import ColumnElement, DateTime, Dialect, Text, type_coerce
from sqlalchemy.orm import InstrumentedAttribute
from sqlalchemy.types import TypeDecorator

from geneticlog.rules.finding.finding_data import FindingData
from geneticlog.rules.plan.plan_inputs import PlanInputs
from geneticlog.rules.schemes import OwnSchemes, Scheme


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


Kept = TypeVar("Kept")


class JsonText(TypeDecorator[Kept], Generic[Kept]):
    """Values of one class, kept as the text of JSON that it writes; a text, as a carry file has it, is kept as it is.

    write, read: from a value to its text and back
    """

    impl = Text
    cache_ok = True

    def __init__(self, write: Callable[[Kept], str], read: Callable[[str], Kept]) -> None:
        super().__init__()
        self.write = write
        self.read = read

    def process_bind_param(self, value: Kept | str | None, dialect: Dialect) -> str | None:
        return value if value is None or isinstance(value, str) else self.write(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Kept | None:
        return None if value is None else self.read(value)


# read often and never changed in place, so the same text gives the same scheme
SchemeText = JsonText(Scheme.to_json, lru_cache(maxsize=512)(Scheme.from_json))
OwnSchemesText = JsonText(OwnSchemes.to_json, OwnSchemes.from_json)
PlanInputsText = JsonText(PlanInputs.to_json, PlanInputs.from_json)
FindingDataText = JsonText(FindingData.to_json, FindingData.from_json)


def _numbers(text: str) -> list[int]:
    return [int(number) for number in json.loads(text)]


RowNumbers: JsonText[list[int]] = JsonText(json.dumps, _numbers)


def as_stored(column: ColumnElement[Any] | InstrumentedAttribute[Any]) -> ColumnElement[Any]:
    """Return a column whose stored text is wanted as it is, whatever a state or a class would make of it."""
    return type_coerce(column, Text()) if isinstance(column.type, Word | JsonText) else column  # type: ignore[return-value]


class JsonList(TypeDecorator[list[str]]):
    """A list of words, kept as the text of a JSON list; give it a new list, a list changed in place is not seen."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: list[str] | None, dialect: Dialect) -> str | None:
        return None if value is None else json.dumps(value, ensure_ascii=False)

    def process_result_value(self, value: str | None, dialect: Dialect) -> list[str] | None:
        return None if value is None else list(json.loads(value))
