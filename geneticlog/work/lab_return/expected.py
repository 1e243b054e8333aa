"""What is known of a shipment before its return is looked at: everything that a file is held against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet
from geneticlog.rules.shipment.plates import container
from geneticlog.store.tables import Shipment, ShipmentPosition, Vial
from geneticlog.work.catalogue.rule_sets import rule_set_in_force
from geneticlog.work.lab_return.like_before import Before, given_before
from geneticlog.work.lab_return.returned_vials import Sent, sent_vials

Places = Mapping[tuple[int, str], str]  # container number and position, as A01 -> vial code


@dataclass(frozen=True)
class Expected:
    """The vials of a shipment by code, and what else a file is judged by.

    ``sent`` is None where no shipment is named: every code that checks is then taken for one that was sent. ``places``
    is our own map of its plates or boxes, empty for loose vials; ``before`` what the same lab and panel gave for the
    same lakes. Two of them are equal where nothing that matters to a reading has changed.
    """

    sent: Mapping[str, Sent] | None = None
    places: Places = field(default_factory=dict)
    panel_loci: int | None = None
    rule_set: RuleSet = DEFAULT_RULE_SET
    before: Before | None = None


def expected_of(session: Session, shipment: Shipment) -> Expected:
    """Return what is known of a shipment now."""
    return Expected(
        sent=sent_vials(session, shipment.id),
        places=places_of(session, shipment),
        panel_loci=shipment.panel.n_loci if shipment.panel else None,
        rule_set=rule_set_in_force(session),
        before=given_before(session, shipment),
    )


def places_of(session: Session, shipment: Shipment) -> Places:
    """Return which vial is in which well or box position; empty for loose vials, whose place is only a list's."""
    if container(shipment.container).capacity is None:
        return {}
    rows = session.execute(
        select(ShipmentPosition.container_number, ShipmentPosition.position, Vial.code)
        .join(Vial, Vial.id == ShipmentPosition.vial_id)
        .where(ShipmentPosition.shipment_id == shipment.id)
    )
    return {(number, position): code for number, position, code in rows}
