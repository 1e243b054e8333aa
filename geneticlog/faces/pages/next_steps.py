"""What a person at the desk does next about a shipment: the page that does it, or the words of what no page does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from geneticlog.rules.shipment.custody import ShipmentState
from geneticlog.work.inbox.inbox import DEBTS, LATE, NOT_RECONCILED

if TYPE_CHECKING:
    from geneticlog.work.inbox.inbox import Inbox, WaitingShipment


WITHOUT_PAGE: dict[str, str] = {
    ShipmentState.NOT_SENT: "Record the carrier when the box goes.",
    **dict.fromkeys(NOT_RECONCILED, "Look for the vials that did not come back."),
    DEBTS: "List the fish that must be sampled again.",
}


@dataclass(frozen=True)
class NextStep:
    """What to do, in words; page: the address that does it; None where only a command does, which is then shown."""

    words: str
    page: str | None = None


def next_steps(waiting: Inbox) -> list[NextStep]:
    """Return the next step about each shipment of the inbox, in its order."""
    open_of: dict[str, list[str]] = {}
    for one in waiting.findings:
        if one.finding.shipment:
            open_of.setdefault(one.finding.shipment, []).append(one.finding.finding)
    return [_next_step(one, open_of.get(one.shipment, [])) for one in waiting.shipments]


def _next_step(shipment: WaitingShipment, findings: Sequence[str]) -> NextStep:
    if shipment.reason in NOT_RECONCILED and findings:
        return NextStep(f"Decide {findings[0]}, its oldest finding", f"/inbox/{findings[0]}")
    if shipment.reason == LATE:
        return NextStep("See which vials are still out", f"/shipments/{quote(shipment.shipment, safe='')}")
    return NextStep(WITHOUT_PAGE[shipment.reason])
