"""The file that carries surveys between databases: lines of JSON, sealed by a digest in its last line."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime
from typing import Any

from geneticlog.errors import SheetFault

FORM = 1
DATES = {"surveyed_on", "permit_from", "permit_to"}
MOMENTS = {"at", "added_at", "made_at", "opened_at", "logged_at", "printed_at", "filled_at", "decided_at"}


class CarryFileFault(SheetFault):
    """A file that is no carry file, is damaged or cut short, or comes from a newer program; nothing is read."""


def pack(records: Iterable[Mapping[str, Any]], surveys: list[str], **more: Any) -> bytes:
    """Return the bytes of a carry file; the same records give the same bytes.

    records: each with its "table"; dates and moments as such. surveys: their codes. more: for the first line.
    """
    lines = [_line({"carries": "geneticlog surveys", "form": FORM, "surveys": surveys, **more})]
    lines += [_line(record) for record in records]
    body = "".join(lines).encode()
    seal = {"lines": len(lines), "sha256": hashlib.sha256(body).hexdigest()}
    return body + _line(seal).encode()


def unpack(content: bytes, file: str) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Return the first line and the records of a carry file.

    Raises CarryFileFault for anything that is not one whole carry file, down to a single changed bit.
    """
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
    lines = [json.loads(line) for line in body.decode().splitlines()]
    head = lines[0]
    if head.get("form") != FORM:
        raise CarryFileFault(
            f"it has form {head.get('form')}, and this program reads form {FORM}",
            file=file, way_out="use the same version of geneticlog on both sides",
        )  # fmt: skip
    return head, [dict(_values(line)) for line in lines[1:]]


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
