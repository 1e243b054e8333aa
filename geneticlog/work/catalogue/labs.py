"""Laboratories and their panels."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass, replace
from math import inf

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.genetics.miscalls import stated_rate
from geneticlog.rules.stamp import Stamp
from geneticlog.store.layouts import read_markers
from geneticlog.store.tables import Lab, Panel
from geneticlog.work.events import find_lab, record

CODE = re.compile(r"[A-Z][A-Z0-9-]{1,11}")


@dataclass(frozen=True)
class AboutLab:
    """What is held of a lab beside its name. ``manifest`` and ``layout`` are TOML texts that have been checked already.

    usual_days
        from sending to results; a shipment that is out longer asks for attention.
    """

    address: str | None = None
    fee: float | None = None
    manifest: str | None = None
    layout: str | None = None
    usual_days: int | None = None


@dataclass(frozen=True)
class AboutPanel:
    """What is held of a panel beside its name: its two taxa, whose alleles q counts, how many loci it has in all, and
    what share of alleles its source says it misreads, at most with ``miscall_high``.
    """

    taxon: str = "Florida"
    other_taxon: str = "northern"
    n_loci: int | None = None
    markers: str | None = None
    source: str | None = None
    miscall_rate: float | None = None
    miscall_high: float | None = None


NOTHING_OF_A_LAB, NOTHING_OF_A_PANEL = AboutLab(), AboutPanel()


def add_lab(
    session: Session,
    code: str,
    name: str,
    about: AboutLab = NOTHING_OF_A_LAB,
    *,
    stamp: Stamp,
) -> Lab:
    """Enter a lab. Raises Refused for a code that cannot be or is taken, and for a fee below 0."""
    code = code.strip().upper()
    if not CODE.fullmatch(code):
        raise Refused(
            f"{code!r} cannot be a lab code; use 2 to 12 letters, digits or hyphens, a letter first"
        )
    if session.scalar(select(Lab.id).where(Lab.code == code)):
        raise Refused(f"there is a lab {code} already; change it with: geneticlog lab change {code}")
    _check_fee(about.fee)
    lab = Lab(code=code, name=name.strip(), **asdict(about))
    session.add(lab)
    session.flush()
    record(
        session,
        "entered",
        "lab",
        code,
        stamp=stamp,
        new={"name": lab.name, "fee": about.fee, "usual_days": about.usual_days},
    )
    return lab


def _check_fee(fee: object) -> None:
    if isinstance(fee, int | float) and not 0 <= fee < inf:
        raise Refused(f"a fee of {fee:g} is not possible; it must be 0 dollars or above")


def change_lab(session: Session, code: str, *, stamp: Stamp, **changes: str | float | None) -> Lab:
    """Change what is held of a lab (only what is given); the old values stay in the record."""
    lab = find_lab(session, code)
    changed = {
        key: value for key, value in changes.items() if value is not None and getattr(lab, key) != value
    }
    _check_fee(changed.get("fee"))
    old = {key: getattr(lab, key) for key in changed}
    for key, value in changed.items():
        setattr(lab, key, value)
    if changed:
        record(session, "corrected", "lab", lab.code, stamp=stamp, old=old, new=changed)
    return lab


def add_panel(
    session: Session,
    code: str,
    name: str,
    about: AboutPanel = NOTHING_OF_A_PANEL,
    *,
    stamp: Stamp,
) -> Panel:
    """Enter a panel. Raises Refused for a code that is taken, and for a code, taxa, loci or rates that cannot be."""
    code = code.strip().upper()
    if not re.fullmatch(r"[A-Z][A-Z0-9-]{1,23}", code):
        raise Refused(
            f"{code!r} cannot be a panel code; use 2 to 24 letters, digits or hyphens, a letter first"
        )
    if session.scalar(select(Panel.id).where(Panel.code == code)):
        raise Refused(
            f"there is a panel {code} already; give this one another code, or change it with: geneticlog panel"
            f" change {code}"
        )
    _check_loci(about.n_loci, about.markers)
    _check_miscalls(about.miscall_rate, about.miscall_high)
    taxon, other_taxon = about.taxon.strip(), about.other_taxon.strip()
    if taxon.lower() == other_taxon.lower():
        raise Refused(f"a panel tells two taxa apart; both are {about.taxon!r}")
    panel = Panel(
        code=code,
        name=name.strip(),
        **asdict(replace(about, taxon=taxon, other_taxon=other_taxon)),
    )
    session.add(panel)
    session.flush()
    record(
        session,
        "entered",
        "panel",
        code,
        stamp=stamp,
        new={"taxa": [about.taxon, about.other_taxon], "n_loci": about.n_loci},
    )
    return panel


def _check_loci(n_loci: int | None, markers: str | None) -> None:
    if n_loci is not None and n_loci <= 0:
        raise Refused(f"a panel of {n_loci} loci is not possible; it has 1 or more")
    n_markers = len(read_markers(markers, "the marker table")) if markers else 0
    if n_loci is not None and n_markers > n_loci:
        raise Refused(
            f"the marker table holds {n_markers} markers, and the panel {n_loci} loci; correct one of them"
        )


def _check_miscalls(rate: float | None, high: float | None) -> None:
    if rate is None and high is not None:
        raise Refused("an upper limit of the miscall rate needs the rate beside it")
    if rate is not None:
        stated_rate(rate, high)


def change_panel(session: Session, code: str, *, stamp: Stamp, **changes: str | float | None) -> Panel:
    """Change name, n_loci, markers, source or miscall rate of a panel (only what is given); the old values stay in the
    record.

    Its taxa stay: every q read with it counts the alleles of one of them. Raises NotFound, Refused.
    """
    panel = find_panel(session, code)
    assert panel is not None
    changed = {
        key: value for key, value in changes.items() if value is not None and getattr(panel, key) != value
    }
    old = {key: getattr(panel, key) for key in changed}
    for key, value in changed.items():
        setattr(panel, key, value)
    if {"n_loci", "markers"} & set(changed):
        _check_loci(panel.n_loci, panel.markers)
    if {"miscall_rate", "miscall_high"} & set(changed):
        _check_miscalls(panel.miscall_rate, panel.miscall_high)
    if changed:
        record(session, "corrected", "panel", panel.code, stamp=stamp, old=old, new=changed)
    return panel


def find_panel(session: Session, code: str | None) -> Panel | None:
    """Return the panel named; with no name, the only one there is, or none. Raises NotFound for a wrong name."""
    panels = list(session.scalars(select(Panel).order_by(Panel.code)))
    if code is None:
        return panels[0] if len(panels) == 1 else None
    fitting = [panel for panel in panels if panel.code == code.strip().upper()]
    if not fitting:
        there = ", ".join(panel.code for panel in panels) or "none yet"
        raise NotFound(f"no panel {code!r}; there are: {there} (see: geneticlog panel list)")
    return fitting[0]
