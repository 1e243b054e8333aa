"""What a lab's row said of a vial before a person corrected it, worked out from the corrections in the history."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Event, Result


@dataclass(frozen=True)
class Correction:
    """When and what one correction of a vial's result changed, by the names of a result's columns."""

    at: datetime
    old: Mapping[str, Any]
    new: Mapping[str, Any]


def corrections_of(session: Session, vials: Iterable[str]) -> dict[str, list[Correction]]:
    """Return by vial code the corrections of its results, the newest first; vials without one are left out."""
    out: dict[str, list[Correction]] = defaultdict(list)
    for chunk in in_chunks(vials):
        for event in session.scalars(
            select(Event)
            .where(Event.subject_kind == "vial", Event.subject.in_(chunk), Event.verb == "result_corrected")
            .order_by(Event.id.desc())
        ):
            out[event.subject].append(
                Correction(event.at, json.loads(event.old or "{}"), json.loads(event.new or "{}"))
            )
    return dict(out)


def as_the_lab_said(result: Result, corrections: Sequence[Correction]) -> dict[str, Any]:
    """Return the columns that were corrected since the lab's row was read, as the row has them; empty without one.

    A correction is of this result where the row was read before it and its new values are those that stand, once the
    later ones are taken back.

    corrections
        of its vial, the newest first.
    """
    as_read: dict[str, Any] = {}
    row = result.return_row
    for correction in corrections:
        if row is not None and row.return_file.read_at > correction.at:
            break
        if all(as_read.get(name, getattr(result, name)) == value for name, value in correction.new.items()):
            as_read |= correction.old
    return as_read
