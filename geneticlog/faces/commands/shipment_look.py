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
        found = find_shipment(session, code)
        at_a_glance = follow(session, found, now=desk.now())
        contents = summed(found)
        ethanol, cost, placed = ethanol_of(found), cost_of(session, found), seats(session, found)
        pairs = compare_duplicates(session, found)
        document = {
            **vars(at_a_glance),
            "lab_name": found.lab.name,
            "panel": found.panel.code if found.panel else None,
            "container": found.container,
            "filling_order": found.filling_order,
            "n_samples": contents.n_samples,
            "n_blind_duplicates": contents.n_blind_duplicates,
            "n_blanks": contents.n_blanks,
            "medium": found.medium,
            "n_without_medium": contents.n_without_medium,
            "fill_ml": found.fill_ml,
            "n_packages": found.n_packages,
            "seal": found.seal,
            "packed_at": found.packed_at,
            "packed_by": found.packed_by,
            "carrier": found.carrier,
            "tracking": found.tracking,
            "sent_by": found.sent_by,
            "received_by": found.received_by,
            "arrival_condition": found.arrival_condition,
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
        there = follow_all(session, now=desk.now())
    if only_open:
        there = [
            one
            for one in there
            if one.n_open_findings or not (one.complete or one.standing == ShipmentStanding.CLOSED)
        ]
    desk.show({"shipments": there}, lambda: said_of_list(there))


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
    from geneticlog.work.shipment.follow import find_shipments, resample_list

    with desk.reading() as session:
        lost = resample_list(session, find_shipments(session, codes), with_never_sent=not codes)
    desk.show({"resample": lost}, lambda: said_of_resample(lost))
