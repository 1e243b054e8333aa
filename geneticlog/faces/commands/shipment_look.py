"""``geneticlog shipment show|list|check|resample``: where shipments and their vials are."""

from __future__ import annotations

import click

from geneticlog.faces.app.desk import Desk, ShowCommand
from geneticlog.rules.shipment.custody import ShipmentStanding


@click.command(cls=ShowCommand)
@click.argument("code")
@click.pass_obj
def show(desk: Desk, code: str) -> None:
    """Show a shipment: what is in it, where each vial is, days out, ethanol, cost."""
    from geneticlog.faces.shipment.terminal import ethanol_document, said_of_shipment
    from geneticlog.work.events import find_shipment
    from geneticlog.work.shipment.compare_duplicates import compare_duplicates
    from geneticlog.work.shipment.follow import cost_of, ethanol_of, follow, seats
    from geneticlog.work.shipment.pack import summed

    with desk.reading() as session:
        shipment = find_shipment(session, code)
        at_a_glance = follow(session, shipment, now=desk.now())
        contents = summed(shipment)
        ethanol, cost, placed = ethanol_of(shipment), cost_of(session, shipment), seats(session, shipment)
        pairs = compare_duplicates(session, shipment)
        document = {
            **vars(at_a_glance),
            "lab_name": shipment.lab.name,
            "panel": shipment.panel.code if shipment.panel else None,
            "container": shipment.container,
            "filling_order": shipment.filling_order,
            "n_samples": contents.n_samples,
            "n_blind_duplicates": contents.n_blind_duplicates,
            "n_blanks": contents.n_blanks,
            "medium": shipment.medium,
            "n_without_medium": contents.n_without_medium,
            "fill_ml": shipment.fill_ml,
            "n_packages": shipment.n_packages,
            "seal": shipment.seal,
            "packed_at": shipment.packed_at,
            "packed_by": shipment.packed_by,
            "carrier": shipment.carrier,
            "tracking": shipment.tracking,
            "sent_by": shipment.sent_by,
            "received_by": shipment.received_by,
            "arrival_condition": shipment.arrival_condition,
            "ethanol": ethanol_document(ethanol),
            "cost": cost,
            "duplicates": pairs,
            "positions": placed,
        }
    desk.show(document, lambda: said_of_shipment(document, at_a_glance, cost, ethanol, placed, pairs))


@click.command("list", cls=ShowCommand)
@click.option("--open", "only_open", is_flag=True, help="Only those that wait for something.")
@click.pass_obj
def list_(desk: Desk, only_open: bool) -> None:
    """List the shipments: days out, what is missing, open findings."""
    from geneticlog.faces.shipment.terminal import said_of_list
    from geneticlog.work.shipment.follow import follow_all

    with desk.reading() as session:
        shipments = follow_all(session, now=desk.now())
    if only_open:
        shipments = [
            one
            for one in shipments
            if one.n_open_findings or not (one.complete or one.standing == ShipmentStanding.CLOSED)
        ]
    desk.show({"shipments": shipments}, lambda: said_of_list(shipments))


@click.command(cls=ShowCommand)
@click.argument("code")
@click.pass_obj
def check(desk: Desk, code: str) -> None:
    """Scan the vials of a packed box: it beeps at one that does not belong.

    Scan or type one vial a line, or pipe them in; an empty line ends. Nothing is changed. Exit code 1 when a
    vial does not belong or has not been seen.
    """
    from geneticlog.faces.boat.scanning import check_vials
    from geneticlog.faces.shipment.terminal import said_of_check

    seen = check_vials(desk, code)
    desk.show(seen, lambda: said_of_check(seen))
    if not seen["whole"]:
        click.get_current_context().exit(1)


@click.command(cls=ShowCommand)
@click.argument("codes", nargs=-1)
@click.pass_obj
def resample(desk: Desk, codes: tuple[str, ...]) -> None:
    """List which size classes lost fish to failures, for the next survey.

    Of the shipments named, or of all of them with the fish whose vials were lost or broken before they were sent.
    """
    from geneticlog.faces.shipment.terminal import said_of_resample
    from geneticlog.work.shipment.follow import find_shipments
    from geneticlog.work.shipment.owed_fish import resample_list

    with desk.reading() as session:
        lost = resample_list(session, find_shipments(session, codes), with_never_sent=not codes)
    desk.show({"resample": lost}, lambda: said_of_resample(lost))
