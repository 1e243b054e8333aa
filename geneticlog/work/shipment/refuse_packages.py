"""Refuse more packages than the plates or boxes of a shipment can go in."""

from __future__ import annotations

from geneticlog.rules.shipment.packages import refuse_cut_containers
from geneticlog.rules.shipment.plates import container
from geneticlog.store.tables import Shipment


def refuse_more_packages(shipment: Shipment, n_packages: int | None) -> None:
    """Raise Refused where a plate or box of a shipment would be cut in two; None is one package."""
    numbers = [at.container_number for at in shipment.positions]
    refuse_cut_containers(shipment.code, container(shipment.container), numbers, n_packages or 1)
