"""Which parts of a row each side changed: parts that do not clash are put together, and all is said in words."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from geneticlog.settings import local_time

# Columns that are one part: they change together, and the first speaks for them.
PARTS = {
    "length": ("length", "length_unit", "length_mm"),
    "weight": ("weight", "weight_unit", "weight_g"),
    "position": ("latitude", "longitude", "position_uncertainty_m"),
}
# What follows from other parts, or only says where a row came from: never a clash of its own.
FOLLOWS = {"size_class", "relative_weight", "source", "logged_at", "logged_by"}
_PART_OF = {column: part for part, columns in PARTS.items() for column in columns}


@dataclass(frozen=True)
class Difference:
    """The parts in which two rows differ: those that only they changed, and those that both changed."""

    only_theirs: tuple[str, ...]
    clashing: tuple[str, ...]

    @property
    def put_together(self) -> tuple[str, ...]:
        """The columns to take from them."""
        return tuple(column for part in self.only_theirs for column in PARTS.get(part, (part,)))


def part_of(column: str) -> str:
    return _PART_OF.get(column, column)


def differences(
    ours: Mapping[str, Any],
    theirs: Mapping[str, Any],
    our_events: Iterable[Any],
    their_events: Iterable[Any],
) -> Difference:
    """Return the parts in which two rows of the same thing differ, by what each side did that the other did not.

    our_events, their_events: only those that the other side does not have
    """
    differ = {part_of(name) for name in theirs if name not in FOLLOWS and ours.get(name) != theirs.get(name)}
    if (
        ours.get("length") is None
        and theirs.get("length") is None
        and ours.get("size_class") != theirs.get("size_class")
    ):
        differ.add("size_class")  # ticked in a tally box: a part of its own
    we, they = _touched(our_events), _touched(their_events)
    only_theirs = {part for part in differ if part in they and part not in we}
    clashing = {part for part in differ if part in we and part in they}
    clashing |= {part for part in differ if part not in we and part not in they and not (we or they)}
    return Difference(tuple(sorted(only_theirs)), tuple(sorted(clashing)))


def _touched(events: Iterable[Any]) -> set[str]:
    """Return the parts that some events changed."""
    parts: set[str] = set()
    for event in events:
        get = event.get if isinstance(event, dict) else lambda name, event=event: getattr(event, name)
        old, new = json.loads(get("old") or "{}"), json.loads(get("new") or "{}")
        parts |= {part_of(name) for name in {*old, *new} if old.get(name) != new.get(name) and name != "uid"}
    return parts


def part_words(part: str, row: Mapping[str, Any]) -> str:
    """Return a part of a row as people read it: "16.5 in", "2.3 lb", "nothing"."""
    if part in ("length", "weight"):
        value, unit = row.get(part), row.get(f"{part}_unit")
        return "nothing" if value is None else f"{value:.10g} {unit}"
    if part == "position":
        lat, lon = row.get("latitude"), row.get("longitude")
        return "nothing" if lat is None else f"{lat:.10g}, {lon:.10g}"
    value = row.get(part)
    if isinstance(value, datetime):
        return local_time(value)
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.10g}" if isinstance(value, float) else str(value).replace("_", " ")


def fish_words(row: Mapping[str, Any], vials: Iterable[str]) -> str:
    """Return which fish that is, by its vial, or by its number and length: "(vial BG 000 001 J)", "(16.5 in)"."""
    from geneticlog.rules.vialcode import printed

    codes = [printed(code) for code in vials]
    if codes:
        return f" (vial {' and '.join(codes)})"
    length = part_words("length", row)
    return f" ({length})" if length != "nothing" else ""
