"""Remove what was entered by mistake: a lake, a survey, a lab, a panel or an office that nothing else needs yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.sentences import listed, n_of
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import (
    Finding,
    Fish,
    KeptReport,
    Lab,
    Lake,
    Office,
    Panel,
    PrintRun,
    Result,
    SamplingPlan,
    Shipment,
    Stocking,
    Survey,
)
from geneticlog.work.events import record, require_reason


def remove_lake(session: Session, lake: Lake, *, stamp: Stamp, why: str) -> None:
    """Remove a lake; that it was entered, and by whom, stays in the history.

    Raises Refused where it has surveys, sampling plans, stockings or reports, or no reason is given.
    """
    needed = {
        ("survey", "surveys"): _n(session, Survey.lake_id == lake.id),
        ("sampling plan", "sampling plans"): _n(session, SamplingPlan.lake_id == lake.id),
        ("stocking", "stockings"): _n(session, Stocking.lake_id == lake.id),
        ("report", "reports"): _n(session, KeptReport.lake_id == lake.id),
    }
    old = {"uid": lake.uid, "name": lake.name, "added_at": lake.added_at, "added_by": lake.added_by}
    correct = f"correct lake {lake.code}"
    _remove(session, lake, _Removal("lake", lake.code, needed, old, correct), stamp=stamp, why=why)


def remove_survey(session: Session, survey: Survey, *, stamp: Stamp, why: str) -> None:
    """Remove a survey that was opened by mistake; that it was opened, and by whom, stays in the history.

    Raises Refused where it has fish, or labels were printed for it, or a finding is about it, or no reason is given.
    """
    needed = {
        ("fish", "fish"): _sum(session, Fish.n_fish, Fish.survey_id == survey.id),
        ("label printed for it", "labels printed for it"): _sum(
            session, PrintRun.n_labels, PrintRun.survey_id == survey.id
        ),
        ("finding", "findings"): _n(session, Finding.survey_id == survey.id),
    }
    old = {
        name: getattr(survey, name)
        for name in ("uid", "surveyed_on", "gear", "species", "opened_at", "opened_by")
    }
    old["lake"] = survey.lake.code
    correct = f"correct survey {survey.code}"
    _remove(session, survey, _Removal("survey", survey.code, needed, old, correct), stamp=stamp, why=why)


def remove_lab(session: Session, lab: Lab, *, stamp: Stamp, why: str) -> None:
    """Remove a lab. Raises Refused where a shipment went to it, or no reason is given."""
    needed = {("shipment", "shipments"): _n(session, Shipment.lab_id == lab.id)}
    old = {"name": lab.name, "fee": lab.fee, "usual_days": lab.usual_days}
    _remove(
        session, lab, _Removal("lab", lab.code, needed, old, f"lab change {lab.code}"), stamp=stamp, why=why
    )


def remove_panel(session: Session, panel: Panel, *, stamp: Stamp, why: str) -> None:
    """Remove a panel. Raises Refused where a shipment asked for it or a result is of it, or no reason is given."""
    needed = {
        ("shipment", "shipments"): _n(session, Shipment.panel_id == panel.id),
        ("result", "results"): _n(session, Result.panel_id == panel.id),
    }
    old = {"name": panel.name, "taxon": panel.taxon, "other_taxon": panel.other_taxon}
    correct = f"panel change {panel.code}"
    _remove(session, panel, _Removal("panel", panel.code, needed, old, correct), stamp=stamp, why=why)


def remove_office(session: Session, office: Office, *, stamp: Stamp, why: str) -> None:
    """Remove an office. Raises Refused once it has vial codes, or no reason is given."""
    needed = {
        ("vial code", "vial codes"): office.next_serial - 1,
        ("print run", "print runs"): _n(session, PrintRun.office == office.prefix),
    }
    old = {"name": office.name, "station": office.station}
    correct = f"office change {office.prefix}"
    _remove(session, office, _Removal("office", office.prefix, needed, old, correct), stamp=stamp, why=why)


def _n(session: Session, which: Any) -> int:
    return session.scalar(select(func.count()).where(which)) or 0


def _sum(session: Session, column: Any, which: Any) -> int:
    return session.scalar(select(func.sum(column)).where(which)) or 0


@dataclass(frozen=True)
class _Removal:
    """What is removed: its kind and code; (one, many) -> how many of them need it; the values that the event keeps; the
    command that changes it instead.
    """

    kind: str
    code: str
    needed: dict[tuple[str, str], int]
    old: dict[str, Any]
    correct: str


def _remove(
    session: Session, row: Lake | Survey | Lab | Panel | Office, what: _Removal, *, stamp: Stamp, why: str
) -> None:
    """Delete a row that nothing needs, with an event that keeps what it held."""
    kind, code = what.kind, what.code
    require_reason(why, f"removing the {kind}")
    if held := [n_of(n, one, many) for (one, many), n in what.needed.items() if n]:
        raise Refused(
            f"{kind} {code} has {listed(held)}, so it stays; correct what is wrong in it with:"
            f" geneticlog {what.correct}"
        )
    record(session, "withdrawn", kind, code, stamp=stamp, old=what.old, why=why)
    session.delete(row)
    session.flush()
