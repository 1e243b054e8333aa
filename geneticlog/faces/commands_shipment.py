"""``geneticlog shipment``: pack vials for a lab, send them, and follow them until the last result is back."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import click

from geneticlog.errors import Refused
from geneticlog.faces.desk import Desk, DeskCommand, ShowCommand
from geneticlog.rules.plates import CONTAINERS, ORDERS

MOMENT = click.DateTime(["%Y-%m-%d", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"])


def instant(moment: datetime | None) -> datetime | None:
    """Return the instant of a local time as it is typed."""
    return moment.astimezone() if moment is not None else None


@click.group()
def shipment() -> None:
    """Pack vials for a lab, send them, and follow them home."""


@shipment.command(cls=ShowCommand)
@click.argument("code")
@click.argument("vials", nargs=-1)
@click.option("--lab", help="The lab's code.")
@click.option("--survey", "surveys", multiple=True, help="All vials of this survey that are not shipped yet.")
@click.option("--coverage", "planned", multiple=True, help="Only the vials this survey's plan still needs.")
@click.option("--scan", is_flag=True, help="Scan or type the vials one by one, or pipe them in, one a line.")
@click.option("--blank", "blanks", multiple=True, help="A printed vial that holds preservative and no fish.")
@click.option("--container", type=click.Choice(list(CONTAINERS)), help="Else as the lab's form says.")
@click.option("--order", type=click.Choice(list(ORDERS)), help="Filling order of a plate or box.")
@click.option("--keep-free", help="Positions left empty for the lab's controls: A01,H12.")
@click.option("--panel", help="The panel of loci asked for.")
@click.option("--fill-ml", type=float, help="mL of liquid in one vial.")
@click.option("--medium", help="What the vials are kept in, where they do not say it themselves.")
@click.option("--seal", help="Number of the custody seal.")
@click.option("--remarks")
@click.option("--add", is_flag=True, help="Put them into a shipment that is packed already.")
@click.pass_obj
def pack(
    desk: Desk,
    /,
    code: str,
    vials: tuple[str, ...],
    lab: str | None,
    surveys: tuple[str, ...],
    planned: tuple[str, ...],
    scan: bool,
    blanks: tuple[str, ...],
    keep_free: str | None,
    panel: str | None,
    add: bool,
    **details: Any,
) -> None:
    """Put vials into a shipment: by survey, by what the plan needs, or one by one.

    Vials that are void, not filled or in a shipment already are refused, and then nothing is packed. Chosen by
    survey or plan, duplicates and blanks are scattered among the samples; scanned, the order of the scan is
    the order of the positions.

    \b
    geneticlog shipment pack SHIP-1 --lab NORTH --survey HERON-2026-05-12
    geneticlog shipment pack SHIP-2 --lab NORTH --scan --container box9x9
    """
    from geneticlog.faces.scanning import scan_vials
    from geneticlog.faces.shipment_words import said_of_packing
    from geneticlog.work.follow import ethanol_of
    from geneticlog.work.labs import find_panel
    from geneticlog.work.pack import look_up, vials_by_plan, vials_of_survey
    from geneticlog.work.pack import pack as pack_vials
    from geneticlog.work.record import find_shipment, find_survey

    scanned = scan_vials(desk, code) if scan or "-" in vials else []
    with desk.writing() as session:
        if lab is None:
            lab = find_shipment(session, code).lab.code if add else the_only_lab(session)
        chosen = [look_up(session, text) for text in (*(v for v in vials if v != "-"), *scanned)]
        one_by_one = bool(chosen)
        for survey in surveys:
            chosen += vials_of_survey(session, find_survey(session, survey))
        for survey in planned:
            chosen += vials_by_plan(session, find_survey(session, survey))
        packed = pack_vials(
            session,
            code,
            chosen,
            lab=lab,
            now=desk.now(),
            by=desk.by,
            blanks=[look_up(session, text) for text in blanks],
            keep_free=[text.strip() for text in (keep_free or "").split(",") if text.strip()],
            panel=find_panel(session, panel),
            add=add,
            scatter=not one_by_one,
            **details,
        )
        ethanol = ethanol_of(find_shipment(session, code))
    desk.show(
        {**vars(packed), "ethanol": ethanol_document(ethanol)},
        lambda: said_of_packing(packed, ethanol),
    )


@shipment.command(cls=DeskCommand)
@click.argument("code")
@click.argument("vials", nargs=-1, required=True)
@click.option("--why", required=True, help="The reason, for the record.")
@click.pass_obj
def unpack(desk: Desk, code: str, vials: tuple[str, ...], why: str) -> None:
    """Take vials out of a shipment that has not been sent."""
    from geneticlog.work.pack import look_up
    from geneticlog.work.pack import unpack as take_out

    with desk.writing() as session:
        left = take_out(
            session, code, [look_up(session, text) for text in vials], now=desk.now(), by=desk.by, why=why
        )
    click.echo(f"Shipment {left.shipment}: {-left.n_new} taken out, {left.n_vials} left.")


@shipment.command(cls=ShowCommand)
@click.argument("code")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path(), help="Folder.")
@click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True)
@click.pass_obj
def manifest(desk: Desk, code: str, out: Path, paper: str) -> None:
    """Write the lab's manifest (CSV, XLSX), the plate map and the custody form (PDF).

    Columns and headings are those of the lab's own form; lake and owner stay out of it unless the form asks.
    Blind duplicates and blanks are not marked.
    """
    from geneticlog.faces.shipment_paper import write_shipment_papers
    from geneticlog.faces.shipment_words import amber
    from geneticlog.work.follow import ethanol_of
    from geneticlog.work.manifest import manifest as manifest_of
    from geneticlog.work.pack import kept_free_of, summed
    from geneticlog.work.record import find_shipment

    with desk.reading() as session:
        made = manifest_of(session, code)
        found = find_shipment(session, code)
        ethanol = ethanol_of(found)
        kept = sorted(set(kept_free_of(session, found.code)))
        written = write_shipment_papers(
            out, made, found, kept, summed(found).n_containers, ethanol, paper=paper
        )

    def say() -> None:
        click.echo(f"Shipment {made.shipment} to {made.lab}: {len(made.rows)} vials.")
        for path, what in written:
            click.echo(f"  {path}  {what}")
        for warning in made.warnings:
            amber([warning])
        if ethanol:
            amber(ethanol.sentences)

    desk.show(
        {
            "shipment": made.shipment,
            "n_vials": len(made.rows),
            "columns": made.heading,
            "files": [path for path, _ in written],
            "warnings": made.warnings,
            "ethanol": ethanol_document(ethanol),
        },
        say,
    )


@shipment.command(cls=DeskCommand)
@click.argument("code")
@click.option("--carrier", help="Who takes it.")
@click.option("--tracking", help="The carrier's number.")
@click.option("--at", "sent_at", type=MOMENT, help="When it left, local time (else now).")
@click.option("--seal", help="Number of the custody seal.")
@click.option("--fill-ml", type=float, help="mL of liquid in one vial.")
@click.pass_obj
def send(desk: Desk, /, code: str, sent_at: datetime | None, **details: Any) -> None:
    """Record that a shipment has left."""
    from geneticlog.faces.shipment_words import amber
    from geneticlog.work.follow import ethanol_of
    from geneticlog.work.send import send as send_off

    with desk.writing() as session:
        sent = send_off(session, code, now=desk.now(), by=desk.by, sent_at=instant(sent_at), **details)
        told = f"Shipment {sent.code}: {len(sent.positions)} vials sent to {sent.lab.name}"
        told += f" by {sent.carrier}" if sent.carrier else ""
        told += f", tracking {sent.tracking}." if sent.tracking else "."
        ethanol = ethanol_of(sent)
    click.echo(told)
    if ethanol:
        amber(ethanol.sentences)


@shipment.command(cls=ShowCommand)
@click.argument("code")
@click.option("--at", "arrived_at", type=MOMENT, help="When it arrived, local time (else now).")
@click.option("--received-by", help="Who took it in at the lab.")
@click.option("--condition", help="How it looked: cool, dry, seal whole.")
@click.option("--missing", multiple=True, metavar="VIAL", help="A vial that was not in it.")
@click.option("--broken", multiple=True, metavar="VIAL", help="A vial that broke.")
@click.option("--leaked", multiple=True, metavar="VIAL", help="A vial that leaked.")
@click.option("--ok", multiple=True, metavar="VIAL", help="A vial that turned up after all.")
@click.option("--note", "notes", multiple=True, metavar="VIAL=TEXT", help="A word on one vial.")
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

    Every vial that is not named arrived whole. It may be repeated when the lab finds more.
    """
    from geneticlog.rules.vialcode import parse, printed
    from geneticlog.work.pack import look_up
    from geneticlog.work.send import arrive as take_in

    words: dict[str, str] = {}
    for note in notes:
        vial, sign, text = note.partition("=")
        if not sign or not text.strip():
            raise click.BadParameter(f"{note!r} is not VIAL=TEXT", param_hint="--note")
        words[parse(vial)] = text.strip()
    with desk.writing() as session:
        said = {}
        for how, named in noted.items():
            for text in named:
                vial_ = look_up(session, text)
                if vial_ in said:
                    raise Refused(f"{printed(vial_.code)} is named twice; say once how it arrived")
                said[vial_] = (how, words.pop(vial_.code, None))
        for left, text in words.items():
            said[look_up(session, left)] = ("ok", text)
        arrived = take_in(
            session,
            code,
            now=desk.now(),
            by=desk.by,
            arrived_at=instant(arrived_at),
            received_by=received_by,
            condition=condition,
            noted=said,
        )

    def say() -> None:
        click.echo(f"Shipment {arrived.shipment} arrived: {arrived.n_ok} vials whole.")
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


@shipment.command(cls=ShowCommand)
@click.argument("code")
@click.pass_obj
def show(desk: Desk, code: str) -> None:
    """Show a shipment: what is in it, where each vial is, days out, ethanol, cost."""
    from geneticlog.faces.shipment_words import said_of_shipment
    from geneticlog.work.compare_duplicates import compare_duplicates
    from geneticlog.work.follow import cost_of, ethanol_of, follow, seats
    from geneticlog.work.pack import summed
    from geneticlog.work.record import find_shipment

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
            "fill_ml": found.fill_ml,
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


@shipment.command("list", cls=ShowCommand)
@click.option("--open", "only_open", is_flag=True, help="Only those that wait for something.")
@click.pass_obj
def list_(desk: Desk, only_open: bool) -> None:
    """List the shipments: days out, what is missing, open findings."""
    from geneticlog.faces.shipment_words import said_of_list
    from geneticlog.work.follow import follow_all

    with desk.reading() as session:
        there = follow_all(session, now=desk.now())
    if only_open:
        there = [
            one for one in there if one.n_open_findings or not (one.complete or one.standing == "closed")
        ]
    desk.show({"shipments": there}, lambda: said_of_list(there))


@shipment.command(cls=ShowCommand)
@click.argument("code")
@click.pass_obj
def check(desk: Desk, code: str) -> None:
    """Scan the vials of a packed box: it beeps at one that does not belong.

    Scan or type one vial a line, or pipe them in; an empty line ends. Nothing is changed. Exit code 1 when a
    vial does not belong or has not been seen.
    """
    from geneticlog.faces.scanning import check_vials
    from geneticlog.faces.shipment_words import said_of_check

    seen = check_vials(desk, code)
    desk.show(seen, lambda: said_of_check(seen))
    if not seen["whole"]:
        click.get_current_context().exit(1)


@shipment.command(cls=DeskCommand)
@click.argument("code")
@click.option("--why", required=True, help="The reason, for the record.")
@click.pass_obj
def close(desk: Desk, code: str, why: str) -> None:
    """Record that nothing more is expected of a shipment, complete or not."""
    from geneticlog.work.count_return import returned_of
    from geneticlog.work.send import close_shipment

    with desk.writing() as session:
        closed = close_shipment(session, code, now=desk.now(), by=desk.by, why=why)
        counts = returned_of(session, closed).counts
        said = f"Shipment {closed.code} closed: {counts.returned} of {counts.sent} vials returned."
    click.echo(said)


@shipment.command(cls=DeskCommand)
@click.argument("code")
@click.argument("n_billed", type=int)
@click.option(
    "--amount", type=float, help="Of the bill, in your own currency (else the lab's fee x samples)."
)
@click.pass_obj
def bill(desk: Desk, code: str, n_billed: int, amount: float | None) -> None:
    """Record how many samples the lab billed."""
    from geneticlog.faces.shipment_words import cost_in_words
    from geneticlog.work.follow import cost_of
    from geneticlog.work.record import find_shipment
    from geneticlog.work.send import bill as record_bill

    with desk.writing() as session:
        record_bill(session, code, n_billed, now=desk.now(), by=desk.by, amount=amount)
        cost = cost_of(session, find_shipment(session, code))
    click.echo(cost_in_words(cost))


@shipment.command(cls=ShowCommand)
@click.argument("codes", nargs=-1)
@click.pass_obj
def resample(desk: Desk, codes: tuple[str, ...]) -> None:
    """List which size classes lost fish to failures, for the next survey.

    Of the shipments named, or of all of them.
    """
    from geneticlog.faces.shipment_words import said_of_resample
    from geneticlog.work.follow import find_shipments, resample_list

    with desk.reading() as session:
        lost = resample_list(session, find_shipments(session, codes))
    desk.show({"resample": lost}, lambda: said_of_resample(lost))


def the_only_lab(session: Any) -> str:
    """Return the code of the one lab there is. Raises Refused when a lab has to be named."""
    from sqlalchemy import select

    from geneticlog.store.tables import Lab

    codes = list(session.scalars(select(Lab.code).order_by(Lab.code)))
    if len(codes) == 1:
        return str(codes[0])
    if not codes:
        raise Refused("no lab is entered yet; enter one with: geneticlog lab add CODE NAME")
    raise Refused(f"say which lab with --lab; there are: {', '.join(codes)}")


def ethanol_document(ethanol: Any) -> dict[str, Any] | None:
    """Return what a shipment's ethanol comes to, for --json."""
    if ethanol is None:
        return None
    return {
        "n_vials": ethanol.n_vials,
        "fill_ml": ethanol.fill_ml,
        "total_ml": ethanol.total_ml,
        "amber": ethanol.amber,
        "above": [
            {"rule": f.rule, "limits": f.limits, "ml": f.ml, "source": f.source} for f in ethanol.above
        ],
        "text": list(ethanol.sentences),
    }
