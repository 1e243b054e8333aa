"""What a custody form says beside the hand-overs: who sends, who collected, which vial is in which package."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.shipment.packages import in_packages
from geneticlog.store.tables import Office, Shipment
from geneticlog.work.shipment.manifest import hosts_of, in_order


@dataclass(frozen=True)
class Collected:
    """The vials of one survey: when they were taken and by whom, as the survey names its crew; no lake is named."""

    survey: str
    surveyed_on: str
    crew: str | None
    n_vials: int


@dataclass(frozen=True)
class Package:
    """One package: its vials by code, and where they sit from first to last."""

    number: int
    first: str
    last: str
    vials: tuple[str, ...]


@dataclass(frozen=True)
class CustodyFacts:
    """sender: office and person; None where neither is known yet."""

    sender: str | None
    collected: tuple[Collected, ...]
    packages: tuple[Package, ...]


def custody_facts(session: Session, shipment: Shipment) -> CustodyFacts:
    """Return who sends a shipment, who collected its vials, and which vial is in which package."""
    positions = in_order(session, shipment)
    surveys: dict[str, list[str | None]] = {}
    counts: dict[str, int] = {}
    hosts = hosts_of(shipment, positions)  # a sum that falls short would tell the number of blanks
    for at in positions:
        fish = hosts.get(at.vial.code, at.vial).fish
        if fish is not None:
            survey = fish.survey
            surveys[survey.code] = [survey.surveyed_on.isoformat(), survey.crew]
            counts[survey.code] = counts.get(survey.code, 0) + 1
    vial_at = {(at.container_number, at.position): at.vial.code for at in positions}
    many = len({number for number, _ in vial_at}) > 1
    packages = []
    for number, places in enumerate(in_packages(list(vial_at), shipment.n_packages or 1), start=1):
        if places:
            ends = [
                f"{container}, {position}" if many else position
                for container, position in (places[0], places[-1])
            ]
            packages.append(Package(number, ends[0], ends[1], tuple(vial_at[place] for place in places)))
    return CustodyFacts(
        sender=_sender(session, shipment, {at.vial.code[:2] for at in positions}),
        collected=tuple(
            Collected(code, str(when), crew, counts[code]) for code, (when, crew) in sorted(surveys.items())
        ),
        packages=tuple(packages),
    )


def _sender(session: Session, shipment: Shipment, prefixes: set[str]) -> str | None:
    """Return the office whose letters stand on the vials, and the person who sends; the packer before that."""
    names = session.scalars(
        select(Office.name)
        .where(Office.prefix.in_(prefixes), Office.name.is_not(None))
        .order_by(Office.prefix)
    )
    parts = [*(name for name in names if name), shipment.sent_by or shipment.packed_by]
    return ", ".join(parts) or None
