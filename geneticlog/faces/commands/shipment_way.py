"""``geneticlog shipment send|arrive|close|bill``: a shipment on its way, and what the lab asks for it."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

import click

from geneticlog.errors import Refused
from geneticlog.faces.app.desk import Desk, ShowCommand
from geneticlog.faces.app.options import MOMENT, instant
from geneticlog.rules.sentences import n_of

if TYPE_CHECKING:
    from geneticlog.store.tables import Vial


@click.command(cls=ShowCommand)
@click.argument("code")
@click.option("--carrier", help="Who takes it.")
@click.option("--tracking", help="The carrier's number.")
@click.option(
    "--at", "sent_at", type=MOMENT, metavar="DATE [TIME]", help="When it left, local time (default: now)."
)
@click.option("--seal", help="Number of the custody seal.")
@click.option("--fill-ml", type=float, help="mL of liquid in one vial.")
@click.option(
    "--packages",
    "n_packages",
    type=click.IntRange(1, 999),
    help="Number of packages, over which vials and ethanol are split evenly (default: 1).",
)
@click.pass_obj
def send(desk: Desk, /, code: str, sent_at: datetime | None, **details: Any) -> None:
    """Record that a shipment has left."""
    from geneticlog.faces.shipment.terminal import amber, ethanol_document, medium_warnings
    from geneticlog.work.shipment.correct_shipment import without_medium
    from geneticlog.work.shipment.follow import ethanol_of
    from geneticlog.work.shipment.send import Way
    from geneticlog.work.shipment.send import send as send_off

    with desk.writing() as session:
        sent = send_off(session, code, Way(**details), stamp=desk.stamp(), sent_at=instant(sent_at))
        sentence = f"Shipment {sent.code}: {n_of(len(sent.positions), 'vial')} sent to {sent.lab.name}"
        sentence += f" by {sent.carrier}" if sent.carrier else ""
        sentence += f", tracking {sent.tracking}." if sent.tracking else "."
        ethanol, n_without_medium = ethanol_of(sent), len(without_medium(sent))
        document = {
            "shipment": sent.code,
            "lab": sent.lab.code,
            "n_vials": len(sent.positions),
            "sent_at": sent.sent_at,
            "sent_by": sent.sent_by,
            "carrier": sent.carrier,
            "tracking": sent.tracking,
            "seal": sent.seal,
            "n_without_medium": n_without_medium,
            "ethanol": ethanol_document(ethanol),
        }

    def say() -> None:
        click.echo(sentence)
        if ethanol:
            amber(ethanol.sentences)
        amber(medium_warnings(str(document["shipment"]), n_without_medium))

    desk.show(document, say)


@click.command(cls=ShowCommand)
@click.argument("code")
@click.option(
    "--at",
    "arrived_at",
    type=MOMENT,
    metavar="DATE [TIME]",
    help="When it arrived, local time (default: now).",
)
@click.option("--received-by", help="Who received it at the lab.")
@click.option("--condition", help="Condition on arrival: cool, dry, seal unbroken.")
@click.option("--missing", multiple=True, metavar="VIAL", help="A vial that was not in it.")
@click.option("--broken", multiple=True, metavar="VIAL", help="A vial that broke.")
@click.option("--leaked", multiple=True, metavar="VIAL", help="A vial that leaked.")
@click.option("--ok", multiple=True, metavar="VIAL", help="A vial that turned up after all.")
@click.option("--note", "notes", multiple=True, metavar="VIAL=TEXT", help="Note on one vial.")
@click.pass_obj
def arrive(
    desk: Desk,
    /,
    code: str,
    arrived_at: datetime | None,
    notes: tuple[str, ...],
    received_by: str | None,
    condition: str | None,
    **noted: tuple[str, ...],
) -> None:
    """Record that a shipment has arrived, with missing or broken vials one by one.

    Every vial that is not named arrived undamaged. Repeat it when the lab finds more.
    """
    from geneticlog.rules.shipment.custody import Arrival
    from geneticlog.rules.vialcode import parse, printed
    from geneticlog.work.events import find_shipment
    from geneticlog.work.finding.reconcile import close_answered
    from geneticlog.work.shipment.count_return import returned_of
    from geneticlog.work.shipment.packable import look_up
    from geneticlog.work.shipment.send import arrive as take_in

    words: dict[str, str] = {}
    for note in notes:
        vial, sign, text = note.partition("=")
        if not sign or not text.strip():
            raise click.BadParameter(f"{note!r} is not VIAL=TEXT", param_hint="--note")
        words[parse(vial)] = text.strip()
    with desk.writing() as session:
        arrivals: dict[Vial, tuple[Arrival, str | None]] = {}
        for how, named in noted.items():
            for text in named:
                vial_ = look_up(session, text)
                if vial_ in arrivals:
                    raise Refused(f"{printed(vial_.code)} is named twice; say once how it arrived")
                arrivals[vial_] = (Arrival(how), words.pop(vial_.code, None))
        for left, text in words.items():
            arrivals[look_up(session, left)] = (Arrival.OK, text)
        arrived = take_in(
            session,
            code,
            stamp=desk.stamp(),
            arrived_at=instant(arrived_at),
            received_by=received_by,
            condition=condition,
            noted=arrivals,
        )
        shipment = find_shipment(session, code)
        close_answered(session, shipment, returned_of(session, shipment), stamp=desk.stamp())

    def say() -> None:
        click.echo(f"Shipment {arrived.shipment} arrived: {n_of(arrived.n_ok, 'vial')} undamaged.")
        for vial, how, text in arrived.noted:
            click.echo(f"  {printed(vial)}  {how}" + (f": {text}" if text else ""))

    desk.show(
        {
            "shipment": arrived.shipment,
            "n_ok": arrived.n_ok,
            "vials": [{"vial": v, "arrival": how, "note": text} for v, how, text in arrived.noted],
        },
        say,
    )


@click.command(cls=ShowCommand)
@click.argument("code")
@click.option("--why", required=True, help="The reason, for the record.")
@click.pass_obj
def close(desk: Desk, code: str, why: str) -> None:
    """Record that nothing more is expected of a shipment, complete or not."""
    from geneticlog.work.shipment.count_return import returned_of
    from geneticlog.work.shipment.send import close_shipment

    with desk.writing() as session:
        closed = close_shipment(session, code, stamp=desk.stamp(), why=why)
        counts = returned_of(session, closed).counts
        sentence = (
            f"Shipment {closed.code} closed: {counts.returned} of {n_of(counts.sent, 'vial')} returned."
        )
        document = {
            "shipment": closed.code, "standing": closed.standing, "closed_at": closed.closed_at, "counts": counts
        }  # fmt: skip
    desk.show(document, lambda: click.echo(sentence))


@click.command(cls=ShowCommand)
@click.argument("code")
@click.argument("n_billed", type=int)
@click.option(
    "--amount", type=float, help="Amount of the bill, in dollars (default: the lab's fee x samples)."
)
@click.pass_obj
def bill(desk: Desk, code: str, n_billed: int, amount: float | None) -> None:
    """Record how many samples the lab billed."""
    from geneticlog.faces.shipment.terminal import cost_in_words
    from geneticlog.work.events import find_shipment
    from geneticlog.work.shipment.follow import cost_of
    from geneticlog.work.shipment.send import bill as record_bill

    with desk.writing() as session:
        record_bill(session, code, n_billed, stamp=desk.stamp(), amount=amount)
        found = find_shipment(session, code)
        billed, cost = found.code, cost_of(session, found)
    desk.show({"shipment": billed, "cost": cost}, lambda: click.echo(cost_in_words(cost)))
