"""The file that carries surveys between databases: lines of JSON, sealed by a digest in its last line."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime
from typing import Any

from geneticlog.errors import SheetFault
from geneticlog.store.tables import Table

FORM = 1
CONTROL = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f]"
)  # what a terminal might obey; line feed and tab are text
DATES = {"surveyed_on", "permit_from", "permit_to"}
MOMENTS = {"at", "added_at", "made_at", "opened_at", "logged_at", "printed_at", "filled_at", "decided_at"}


class CarryFileFault(SheetFault):
    """A file that is no carry file, is damaged or cut short, or comes from a newer program; nothing is read."""


def pack(records: Iterable[Mapping[str, Any]], surveys: list[str], **more: Any) -> bytes:
    """Return the bytes of a carry file; the same records give the same bytes but for the first line and the seal.

    records: each with its "table"; dates and moments as such. surveys: their codes. more: for the first line.
    """
    lines = [_line({"carries": "geneticlog surveys", "form": FORM, "surveys": surveys, **more})]
    lines += [_line(record) for record in records]
    body = "".join(lines).encode()
    seal = {"lines": len(lines), "sha256": hashlib.sha256(body).hexdigest()}
    return body + _line(seal).encode()


def unpack(content: bytes, file: str) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Return the first line and the records of a carry file.

    A long one is read in a process of its own (store/reading_room.py). Raises SheetFault for anything that is not one
    whole carry file, down to a single changed bit.
    """
    from geneticlog.store.reading_room import carry_lines_apart

    first, *others = carry_lines_apart(content, file)
    return first, [dict(_values(line)) for line in others]


def verified_lines(content: bytes, file: str) -> list[dict[str, Any]]:
    """Return the lines of a carry file without its seal, as JSON holds them; each verified. Raises CarryFileFault."""
    way_out = "carry it out again and copy the whole file"
    body, _, last = content.removesuffix(b"\n").rpartition(b"\n")
    body += b"\n"
    if not content.lstrip().startswith(b'{"carries":"geneticlog surveys"'):
        raise CarryFileFault("this is not a file made by: geneticlog carry out", file=file, way_out=way_out)
    try:
        seal = json.loads(last)
        whole = seal["sha256"] == hashlib.sha256(body).hexdigest() and content.endswith(b"\n")
    except (ValueError, KeyError, TypeError):
        whole = False
    if not whole:
        raise CarryFileFault("it is damaged or cut short; nothing of it was read", file=file, way_out=way_out)
    try:
        lines = [json.loads(line, parse_constant=_no_number) for line in body.decode().splitlines()]
        if not all(isinstance(line, dict) for line in lines):
            raise ValueError("a line that is no record")
    except (ValueError, RecursionError):
        raise CarryFileFault(
            "it was not written by carry out: a line of it is no record", file=file, way_out=way_out
        ) from None
    head = lines[0]
    surveys = head.get("surveys")
    if not (isinstance(surveys, list) and all(isinstance(one, str) for one in surveys)):
        raise CarryFileFault("it does not say which surveys it holds", file=file, way_out=way_out)
    if head.get("form") != FORM:
        raise CarryFileFault(
            f"it has form {head.get('form')}, and this program reads form {FORM}",
            file=file, way_out="use the same version of geneticlog on both sides",
        )  # fmt: skip
    for number, line in enumerate(lines[1:], start=2):
        try:
            checked(dict(_values(line)))
        except (ValueError, TypeError) as fault:
            raise CarryFileFault(
                f"it was not written by carry out: {fault}", file=file, row=number, way_out=way_out
            ) from None
    return lines


def checked(record: dict[str, Any]) -> dict[str, Any]:
    """Return a record whose values are of the kinds that its columns hold. Raises ValueError for another one."""
    name = record.get("table")
    if not isinstance(name, str):
        raise ValueError("a record does not say of which table it is")
    table = Table.metadata.tables.get(name)
    for key, value in record.items():
        column = table.columns.get(key) if table is not None else None
        if isinstance(value, str) and CONTROL.search(value):
            raise ValueError(f"{key} holds a control character")
        if column is None or value is None:
            continue
        kind = column.type.python_type
        fits = isinstance(value, int | float if kind is float else kind) and not (
            isinstance(value, bool) and kind is not bool
        )
        if not fits or (kind is date and isinstance(value, datetime)):
            raise ValueError(f"{key} is {str(value)[:40]!r}, which its column cannot hold")
        if isinstance(value, datetime) and value.tzinfo is None:
            raise ValueError(f"{key} is a moment without its offset")
        if isinstance(value, int) and not -(2**31) <= value < 2**31:
            raise ValueError(f"{key} is {str(value)[:40]}, which is too large")
    return record


def _no_number(text: str) -> None:
    raise ValueError(f"{text} is no number")


def _line(record: Mapping[str, Any]) -> str:
    if "carries" in record:  # the first line names the form before all else
        return json.dumps(record, ensure_ascii=True, separators=(",", ":")) + "\n"
    return json.dumps(record, ensure_ascii=True, sort_keys=True, separators=(",", ":"), default=_text) + "\n"


def _text(value: Any) -> str:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} cannot be carried")


def _values(record: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for name, value in record.items():
        if value is not None and name in MOMENTS:
            yield name, datetime.fromisoformat(value)
        elif value is not None and name in DATES:
            yield name, date.fromisoformat(value)
        else:
            yield name, value
