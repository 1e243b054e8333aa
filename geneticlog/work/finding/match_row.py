"""Match a row of a return with the vial that a person says it is about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.finding.finding_data import Matched
from geneticlog.rules.result.result_states import UNDER_WAY, Outcome, ResultStanding
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Finding, Result, ReturnRow, ShipmentPosition, Vial

SAID = (  # columns of a result that a row fills
    *("outcome", "q", "other_q", "third_q", "heterozygosity"),
    *("n_loci", "call_rate", "lab_class", "failure"),
)


def match_row(session: Session, finding: Finding, vials: Sequence[Vial]) -> None:
    """Let the row of a finding be about a vial of its shipment: the vial gets the result that the row holds.

    Raises Refused for a vial that was not sent or has a result, and a row without a readable proportion.
    """
    name = f"F{finding.number}"
    if not vials:
        raise Refused(
            f"say which vial {name} is about: geneticlog finding decide {name} match VIAL --why TEXT"
        )
    (vial,) = vials
    sent = session.scalar(
        select(ShipmentPosition.id).where(
            ShipmentPosition.shipment_id == finding.shipment_id, ShipmentPosition.vial_id == vial.id
        )
    )
    if sent is None:
        raise Refused(
            f"{printed(vial.code)} was not sent in this shipment, so no row of its return is about it"
        )
    current = session.scalars(
        select(Result).where(Result.vial_id == vial.id, Result.standing.in_(UNDER_WAY))
    ).first()
    if current is not None:
        raise Refused(
            f"{printed(vial.code)} has a result already. Where the row's value is the right one, correct it (geneticlog"
            f' correct result {vial.code} --q "21 %" --why TEXT), then decide {name} with close'
        )
    row = session.scalar(
        select(ReturnRow).where(
            ReturnRow.return_file_id == finding.return_file_id,
            ReturnRow.row_number.in_(finding.rows),
        )
    )
    if row is None:
        raise Refused(f"{name} is about no row of a return, so it cannot be matched")
    values = finding.data.facts.get("values")
    if not values or (values["outcome"] == Outcome.TYPED and values["q"] is None):
        raise Refused(f"row {row.row_number} has no readable proportion, so it cannot be matched")
    result = Result(
        vial_id=vial.id,
        return_row_id=row.id,
        panel_id=row.return_file.shipment.panel_id,
        standing=ResultStanding.HELD,
        **{name: values.get(name) for name in SAID},
    )
    session.add(result)
    session.flush()
    matched = Matched(result.id, vial.code, row.vial_id, row.outcome, finding.vial_id)
    finding.data = replace(finding.data, matched=matched)
    row.vial_id, row.outcome = vial.id, result.outcome
    finding.vial_id = vial.id
