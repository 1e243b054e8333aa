"""``geneticlog lab``: who genotypes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.removing import remove_command
from geneticlog.faces.app.toml_files import TOML_FILE, read_toml

if TYPE_CHECKING:
    from geneticlog.store.tables import Lab


@click.group(cls=DeskGroup)
def lab() -> None:
    """Add, list, show, change and remove genotyping labs."""


def held_of_a_lab(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options for what is stored of a lab beside its code and name."""
    for option in (
        click.option("--layout", type=TOML_FILE, help="TOML: how the lab lays out the file it returns."),
        click.option("--manifest", type=TOML_FILE, help="TOML: which columns the lab wants on a manifest."),
        click.option("--fee", type=float, help="Fee for a sample, in dollars."),
        click.option(
            "--usual-days",
            type=click.IntRange(1, 730),
            metavar="N",
            help="Days from sending to results; the inbox shows shipments that are out longer.",
        ),
        click.option("--address"),
    ):
        command = option(command)
    return command


@lab.command(cls=ShowCommand)
@click.argument("code")
@click.argument("name")
@held_of_a_lab
@click.pass_obj
def add(desk: Desk, /, code: str, name: str, **details: Any) -> None:
    """Add a lab under a short code of your own."""
    from geneticlog.work.catalogue.labs import AboutLab, add_lab

    details |= checked(details["manifest"], details["layout"])
    with desk.writing() as session:
        document = lab_document(add_lab(session, code, name, AboutLab(**details), stamp=desk.stamp()))
    desk.show(document, lambda: click.echo(f"Lab {document['lab']}: {document['name']}."))


@lab.command(cls=ShowCommand)
@click.argument("code")
@click.option("--name")
@held_of_a_lab
@click.pass_obj
def change(desk: Desk, /, code: str, **details: Any) -> None:
    """Change what is stored of a lab; only what you give is changed."""
    from geneticlog.work.catalogue.labs import change_lab

    details |= checked(details["manifest"], details["layout"])
    with desk.writing() as session:
        document = lab_document(change_lab(session, code, stamp=desk.stamp(), **details))
    desk.show(document, lambda: click.echo(f"Lab {document['lab']}: {document['name']}."))


def lab_document(row: Lab) -> dict[str, Any]:
    """Return what is shown of a lab."""
    return {
        "lab": row.code,
        "name": row.name,
        "fee": row.fee,
        "usual_days": row.usual_days,
        "has_manifest": row.manifest is not None,
        "has_layout": row.layout is not None,
    }


def checked(manifest: Path | None, layout: Path | None) -> dict[str, str | None]:
    """Return both TOML texts; each has been read and checked before anything is stored."""
    from geneticlog.rules.shipment.manifest_form import parse_form

    form = read_toml(manifest)
    if form is not None:
        parse_form(form, file=str(manifest))
    return {"manifest": form, "layout": read_toml(layout)}


@lab.command("list", cls=ShowCommand)
@click.pass_obj
def list_(desk: Desk) -> None:
    """List the labs and the panels."""
    from sqlalchemy import select

    from geneticlog.faces.commands.panel import panel_document, say_panels
    from geneticlog.store.tables import Lab, Panel

    with desk.reading() as session:
        labs = [lab_document(row) for row in session.scalars(select(Lab).order_by(Lab.code))]
        panels = [panel_document(row) for row in session.scalars(select(Panel).order_by(Panel.code))]

    def say() -> None:
        if not labs:
            click.echo("No lab is entered yet: geneticlog lab add CODE NAME")
        else:
            say_table(
                ["lab", "name", "fee", "usual days", "own manifest", "own layout"],
                [
                    [
                        row["lab"],
                        row["name"],
                        row["fee"],
                        row["usual_days"],
                        "yes" if row["has_manifest"] else "usual columns",
                        "yes" if row["has_layout"] else "recognised by headings",
                    ]
                    for row in labs
                ],
                numbers=["fee", "usual days"],
            )
        if panels:
            say_panels(panels)

    desk.show({"labs": labs, "panels": panels}, say)


@lab.command(cls=ShowCommand)
@click.argument("code")
@click.pass_obj
def show(desk: Desk, code: str) -> None:
    """Show one lab: address, fee, usual days, its manifest and layout."""
    from geneticlog.work.changed_words import name_in_words, value_in_words
    from geneticlog.work.events import find_lab

    with desk.reading() as session:
        row = find_lab(session, code)
        document = lab_document(row) | {
            "address": row.address,
            "manifest": row.manifest,
            "layout": row.layout,
        }

    def say() -> None:
        click.echo(f"{document['lab']}: {document['name']}")
        for key in ("address", "fee", "usual_days"):
            if document[key] is not None:
                click.echo(f"  {name_in_words(key)}: {value_in_words(key, document[key])}")
        for key, usual in (("manifest", "the usual columns"), ("layout", "recognised by its headings")):
            click.echo(f"  {key}: {usual if document[key] is None else ''}".rstrip())
            for line in (document[key] or "").strip().splitlines():
                click.echo(f"    {line}")

    desk.show(document, say)


lab.add_command(remove_command("lab", "shipment"))
