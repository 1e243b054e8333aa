"""Correct what is stored of a shipment, and say of vials what they are kept in where they do not say it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.store.tables import Shipment, Vial
from geneticlog.work.events import Corrected, find_shipment, record

SHIPMENT_FIELDS = ("medium", "fill_ml", "seal", "n_packages", "carrier", "tracking", "remarks")


def without_medium(shipment: Shipment) -> list[Vial]:
    """Return the vials that do not say what they are kept in; a blank holds what the others hold."""
    vials = [at.vial for at in shipment.positions]
    return [vial for vial in vials if vial.medium is None and vial.role != "blank"]


def say_medium(
    session: Session, vials: Iterable[Vial], medium: str, *, now: datetime, by: str, why: str
) -> int:
    """Write what they are kept in on the vials that do not say it; return how many those were."""
    silent = [vial for vial in vials if vial.medium is None]
    for vial in silent:
        vial.medium = medium
        record(
            session, "corrected", "vial", vial.code, now=now, by=by, why=why,
            old={"medium": None}, new={"medium": medium},
        )  # fmt: skip
    session.flush()
    return len(silent)


def correct_shipment(
    session: Session, code: str, changes: Mapping[str, Any], *, now: datetime, by: str, why: str
) -> tuple[Corrected, int]:
    """Change what is stored of a shipment, any of SHIPMENT_FIELDS; None empties a field.

    A medium is also written on each of its vials that does not say its own; those that do keep theirs. Returns what was
    changed and the number of such vials.

    raises
        NotFound; Refused without a reason, for a field there is not, and for a fill that cannot be.
    """
    if not why.strip():
        raise Refused("a correction needs its reason; say it with --why")
    if unknown := sorted(set(changes) - set(SHIPMENT_FIELDS)):
        raise Refused(
            f"a shipment has no {', '.join(unknown)} to correct; it has {', '.join(SHIPMENT_FIELDS)}"
        )
    fill_ml = changes.get("fill_ml")
    if fill_ml is not None and not fill_ml > 0:
        raise Refused(f"a fill of {fill_ml:g} mL cannot be")
    shipment = find_shipment(session, code)
    changed = {
        name: (old, value) for name, value in changes.items() if (old := getattr(shipment, name)) != value
    }
    for name, (_, value) in changed.items():
        setattr(shipment, name, value)
    if changed:
        record(
            session, "corrected", "shipment", shipment.code, now=now, by=by, why=why,
            old={name: old for name, (old, _) in changed.items()},
            new={name: new for name, (_, new) in changed.items()},
        )  # fmt: skip
    n_said = 0
    if medium := changes.get("medium"):
        n_said = say_medium(session, without_medium(shipment), medium, now=now, by=by, why=why)
    session.flush()
    return Corrected(shipment.code, changed), n_said
