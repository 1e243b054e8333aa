"""``geneticlog shipment``: pack vials for a lab, send them, and follow them until the last result is back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from geneticlog.errors import Refused
from geneticlog.faces.app.desk import Desk, ShowCommand
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.options import PAPERS
from geneticlog.faces.commands.shipment_look import check, list_, resample, show
from geneticlog.faces.commands.shipment_way import arrive, bill, close, send
from geneticlog.rules.sentences import n_of
from geneticlog.rules.shipment.plates import CONTAINERS, ORDERS


@click.group(
    cls=DeskGroup,
    other_names={"add": "pack", "receive": "arrive", "remove": "unpack"},
    elsewhere={"change": "correct shipment", "correct": "correct shipment", "read": "return read"},
)
def shipment() -> None:
    """Pack, send and track shipments."""


@shipment.command(cls=ShowCommand)
@click.argument("code")
@click.argument("vials", nargs=-1)
@click.option("--lab", help="The lab's code.")
@click.option("--survey", "surveys", multiple=True, help="All vials of this survey that are not shipped yet.")
@click.option("--coverage", "planned", multiple=True, help="Only the vials this survey's plan still needs.")
@click.option("--scan", is_flag=True, help="Scan or type the vials one by one, or pipe them in, one a line.")
@click.option("--blank", "blanks", multiple=True, help="A printed vial that holds preservative and no fish.")
@click.option(
    "--container",
    type=click.Choice(list(CONTAINERS)),
    help="Containers to fill (default: as the lab's form says).",
)
@click.option("--order", type=click.Choice(list(ORDERS)), help="Filling order of a plate or box.")
@click.option("--keep-free", help="Positions left empty for the lab's controls: A01,H12.")
@click.option("--panel", help="The panel of loci asked for.")
@click.option("--fill-ml", type=float, help="mL of liquid in one vial.")
@click.option("--medium", help="Medium of vials that have none of their own.")
@click.option("--seal", help="Number of the custody seal.")
@click.option(
    "--packages",
    "n_packages",
    type=click.IntRange(1, 999),
    help="Number of packages, over which vials and ethanol are split evenly (default: 1).",
)
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
    survey or plan, the places of all vials are dealt at random, so that nobody can tell second vials and blanks from
    samples; the picking list that `shipment manifest` writes says which vial goes where. Scanned or named, the order of
    the scan is the order of the places.

    \b
    geneticlog shipment pack SHIP-1 --lab NORTH --survey HERON-2026-05-12
    geneticlog shipment pack SHIP-2 --lab NORTH --scan --container box9x9
    """
    from geneticlog.faces.boat.scanning import scan_vials
    from geneticlog.faces.shipment.terminal import ethanol_document, said_of_packing
    from geneticlog.work.catalogue.labs import find_panel
    from geneticlog.work.events import find_shipment, find_survey
    from geneticlog.work.shipment.follow import ethanol_of
    from geneticlog.work.shipment.left_to_pack import nothing_left
    from geneticlog.work.shipment.pack import Packing
    from geneticlog.work.shipment.pack import pack as pack_vials
    from geneticlog.work.shipment.packable import look_up, vials_by_plan, vials_of_survey

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
        if (surveys or planned) and not chosen:
            raise Refused(nothing_left(session, [find_survey(session, one) for one in (*surveys, *planned)]))
        how = Packing(
            blanks=[look_up(session, text) for text in blanks],
            keep_free=[text.strip() for text in (keep_free or "").split(",") if text.strip()],
            panel=find_panel(session, panel),
            add=add,
            shuffle=not one_by_one,
            **details,
        )
        packed = pack_vials(session, code, chosen, how, lab=lab, stamp=desk.stamp())
        ethanol = ethanol_of(find_shipment(session, code))
    desk.show(
        {**vars(packed), "ethanol": ethanol_document(ethanol)},
        lambda: said_of_packing(packed, ethanol),
    )


@shipment.command(cls=ShowCommand)
@click.argument("code")
@click.argument("vials", nargs=-1, required=True)
@click.option("--why", required=True, help="The reason, for the record.")
@click.pass_obj
def unpack(desk: Desk, code: str, vials: tuple[str, ...], why: str) -> None:
    """Take vials out of a shipment that has not been sent."""
    from geneticlog.work.shipment.pack import unpack as take_out
    from geneticlog.work.shipment.packable import look_up

    with desk.writing() as session:
        left = take_out(
            session, code, [look_up(session, text) for text in vials], stamp=desk.stamp(), why=why
        )
    desk.show(
        vars(left),
        lambda: click.echo(f"Shipment {left.shipment}: {-left.n_new} taken out, {left.n_vials} left."),
    )


@shipment.command(cls=ShowCommand)
@click.argument("code")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path(), help="Folder.")
@click.option("--paper", type=click.Choice(sorted(PAPERS)), default="letter", show_default=True)
@click.option("--replace", is_flag=True, help="Overwrite existing files, whoever wrote them.")
@click.pass_obj
def manifest(desk: Desk, code: str, out: Path, paper: str, replace: bool) -> None:
    """Write the lab's manifest (CSV, XLSX), plate map, custody form and picking list (PDF).

    Columns and headings are those of the lab's own form; lake and owner stay out of it unless the form asks.
    Blind duplicates and blanks are not marked.

    Files of an earlier run are replaced while the vials are being packed. Once the shipment has been sent, a
    manifest that would now differ is replaced only with --replace, nor is a file that geneticlog did not write.
    """
    from geneticlog.faces.shipment.paper import Papers, write_shipment_papers
    from geneticlog.faces.shipment.terminal import amber, ethanol_document
    from geneticlog.work.events import find_shipment
    from geneticlog.work.shipment.custody_facts import custody_facts
    from geneticlog.work.shipment.follow import ethanol_of
    from geneticlog.work.shipment.manifest import manifest as manifest_of
    from geneticlog.work.shipment.pack import summed

    with desk.reading() as session:
        made = manifest_of(session, code)
        entered = find_shipment(session, code)
        ethanol = ethanol_of(entered)
        kept = sorted(entered.kept_free)
        written = write_shipment_papers(
            out,
            Papers(
                made, entered, kept, summed(entered).n_containers, ethanol, custody_facts(session, entered)
            ),
            paper=paper,
            replace=replace,
        )

    def say() -> None:
        click.echo(f"Shipment {made.shipment} to {made.lab}: {n_of(len(made.rows), 'vial')}.")
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


for command in (send, arrive, close, bill, show, list_, check, resample):
    shipment.add_command(command)
