"""What the lab of a shipment gave for other shipments by the same panel, in the order of its rows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.doubts_of_files.of_another_shipment import Elsewhere, Given
from geneticlog.store.tables import Result, Shipment, ShipmentPosition, Vial
from geneticlog.work.result.in_the_numbers import in_force

MOST = 50_000  # results, the newest: what was pasted by mistake was at hand


def given_elsewhere(session: Session, shipments: Sequence[Shipment]) -> Elsewhere:
    """Return what is in force of all other shipments of the same lab and panel as the first one of a file.

    shipments
        every one that the file is about.
    """
    first = shipments[0]
    same_panel = Shipment.panel_id == first.panel_id if first.panel_id else Shipment.panel_id.is_(None)
    rows = session.execute(
        select(
            Shipment.code, Vial.fish_id, Result.q, Result.heterozygosity, Result.n_loci, ShipmentPosition.id
        )
        .join(Vial, Vial.id == Result.vial_id)
        .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .join(Shipment, Shipment.id == ShipmentPosition.shipment_id)
        .where(
            in_force(),
            Result.q.is_not(None),
            Shipment.lab_id == first.lab_id,
            Shipment.id.not_in([one.id for one in shipments]),
            same_panel,
        )
        .order_by(Result.return_row_id.desc())
        .limit(MOST)
    ).all()
    out: dict[str, list[Given]] = defaultdict(list)
    for shipment, fish_id, q, heterozygosity, n_loci, place in reversed(rows):
        out[shipment].append(Given(fish_id, q or 0.0, heterozygosity, n_loci, place))
    return dict(out)
