"""Correct what is stored of a shipment, and say of vials what they are kept in where they do not say it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Lab, Panel, Result, ReturnFile, ReturnRow, Shipment, Vial
from geneticlog.work.events import Corrected, find_shipment, record, require_reason
from geneticlog.work.result.kept_reading import kept_reading
from geneticlog.work.shipment.dates import check_dates
from geneticlog.work.shipment.refuse_packages import refuse_more_packages

SHIPMENT_FIELDS = (
    *("medium", "fill_ml", "seal", "n_packages", "carrier", "tracking", "remarks"),
    *("sent_at", "arrived_at", "lab", "panel"),
)


def without_medium(shipment: Shipment) -> list[Vial]:
    """Return the vials that do not say what they are kept in; a blank holds what the others hold."""
    vials = [at.vial for at in shipment.positions]
    return [vial for vial in vials if vial.medium is None and vial.role != VialRole.BLANK]


def say_medium(session: Session, vials: Iterable[Vial], medium: str, *, stamp: Stamp, why: str) -> int:
    """Write what they are kept in on the vials that do not say it; return how many those were."""
    silent = [vial for vial in vials if vial.medium is None]
    for vial in silent:
        vial.medium = medium
        record(
            session, "corrected", "vial", vial.code, stamp=stamp, why=why,
            old={"medium": None}, new={"medium": medium},
        )  # fmt: skip
    session.flush()
    return len(silent)


def correct_shipment(
    session: Session, code: str, changes: Mapping[str, Any], *, stamp: Stamp, why: str
) -> tuple[Corrected, int]:
    """Change what is stored of a shipment, any of SHIPMENT_FIELDS; None empties a field.

    sent_at and arrived_at are instants, lab and panel rows of their tables. A panel is also written on the results that
    came back, where that changes nothing of what they say.

    A medium is also written on each of its vials that does not say its own; those that do keep theirs. Returns what was
    changed and the number of such vials.

    raises
        NotFound; Refused without a reason, for a field there is not, for a fill or dates that cannot be, a date of
        something that has not happened, and for a panel by which results would have been read in another way.
    """
    require_reason(why, "the correction")
    if unknown := sorted(set(changes) - set(SHIPMENT_FIELDS)):
        raise Refused(
            f"a shipment has no {', '.join(unknown)} to correct; it has {', '.join(SHIPMENT_FIELDS)}"
        )
    fill_ml = changes.get("fill_ml")
    if fill_ml is not None and not fill_ml > 0:
        raise Refused(f"{fill_ml:g} mL is not a possible fill of a vial; it must be above 0")
    shipment = find_shipment(session, code)
    refuse_more_packages(shipment, changes.get("n_packages"))
    _check_dates(session, shipment, changes, stamp.now)
    if "panel" in changes and changes["panel"] is not shipment.panel:
        _change_panel(session, shipment, changes["panel"])
    changed = {
        name: (old, value) for name, value in changes.items() if (old := getattr(shipment, name)) != value
    }
    for name, (_, value) in changed.items():
        setattr(shipment, name, value)
    if changed:
        record(
            session, "corrected", "shipment", shipment.code, stamp=stamp, why=why,
            old={name: _plain(old) for name, (old, _) in changed.items()},
            new={name: _plain(new) for name, (_, new) in changed.items()},
        )  # fmt: skip
    changed = {name: (_plain(old), _plain(new)) for name, (old, new) in changed.items()}
    n_said = 0
    if medium := changes.get("medium"):
        n_said = say_medium(session, without_medium(shipment), medium, stamp=stamp, why=why)
    session.flush()
    return Corrected(shipment.code, changed), n_said


def _plain(value: Any) -> Any:
    """Return a value as events and people have it: labs and panels by their codes, moments in UTC."""
    if isinstance(value, Lab | Panel):
        return value.code
    return value.astimezone(UTC).isoformat(timespec="minutes") if isinstance(value, datetime) else value


def _check_dates(session: Session, shipment: Shipment, changes: Mapping[str, Any], now: datetime) -> None:
    for name, verb in (("sent_at", "send"), ("arrived_at", "arrive")):
        if name in changes and (changes[name] is None or getattr(shipment, name) is None):
            raise Refused(
                f"shipment {shipment.code} has no {name.replace('_at', '')} moment to correct; record it with:"
                f" geneticlog shipment {verb} {shipment.code}"
            )
    check_dates(
        session,
        shipment,
        sent_at=changes.get("sent_at", shipment.sent_at),
        arrived_at=changes.get("arrived_at", shipment.arrived_at),
        now=now,
    )


def _change_panel(session: Session, shipment: Shipment, panel: Panel | None) -> None:
    """Give the results of a shipment another panel; Refused where they would have been read in another way by it."""
    files = list(
        session.scalars(
            select(ReturnFile).where(ReturnFile.shipment_id == shipment.id, ReturnFile.withdrawn_at.is_(None))
        )
    )
    if not files:
        return
    before = shipment.panel
    taxa = [
        (one.taxon, one.other_taxon) if one else (Taxa().taxon, Taxa().other_taxon) for one in (before, panel)
    ]
    loci = [one.n_loci if one else None for one in (before, panel)]
    from_panel = any(kept_reading(file.reading).loci_from_panel for file in files)
    if taxa[0] != taxa[1] or (loci[0] != loci[1] and from_panel):
        what = "the taxa" if taxa[0] != taxa[1] else "the number of loci"
        raise Refused(
            f"{files[0].name} was read with {what} of panel {before.code if before else '(none)'}; take that reading"
            f" back first (geneticlog return withdraw {files[0].name} --why TEXT), correct the panel, and read it again"
        )
    rows = select(ReturnRow.id).where(ReturnRow.return_file_id.in_([file.id for file in files]))
    for result in session.scalars(select(Result).where(Result.return_row_id.in_(rows))):
        result.panel = panel
