"""``geneticlog panel``: sets of loci, and the two taxa that each distinguishes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.removing import remove_command
from geneticlog.faces.app.toml_files import TOML_FILE, read_toml

if TYPE_CHECKING:
    from geneticlog.store.tables import Panel

LOCI_HELP = "How many loci the panel has; a result has its own number scored."
MARKERS_HELP = (
    "TOML file for returns with a column for each locus: under [markers] one line a marker with the letter (A, C, G,"
    ' T or B) of the allele that q counts, such as M01 = "B".'
)

MISCALL_HELP = (
    "Share of alleles the panel misreads, as its source states it, such as 0.005 (default: 0.005, at most 0.02). Blind"
    " duplicates with genotypes and known fish replace it."
)
HIGH_HELP = "The most it may be (default: four times the rate)."


@click.group(cls=DeskGroup)
def panel() -> None:
    """Add, list, show, change and remove panels: their loci and two taxa."""


@panel.command(cls=ShowCommand)
@click.argument("code")
@click.argument("name")
@click.option("--taxon", default="Florida", show_default=True, help="Whose alleles q counts.")
@click.option("--other-taxon", default="northern", show_default=True)
@click.option("--loci", "n_loci", type=int, help=LOCI_HELP)
@click.option("--markers", type=TOML_FILE, help=MARKERS_HELP)
@click.option("--source", help="Where the panel is published.")
@click.option("--miscall-rate", type=float, help=MISCALL_HELP)
@click.option("--miscall-high", type=float, help=HIGH_HELP)
@click.pass_obj
def add(desk: Desk, /, code: str, name: str, markers: Path | None, **details: Any) -> None:
    """Enter a panel."""
    from geneticlog.work.catalogue.labs import AboutPanel, add_panel

    details["markers"] = marker_text(markers)
    with desk.writing() as session:
        document = panel_document(add_panel(session, code, name, AboutPanel(**details), stamp=desk.stamp()))

    def say() -> None:
        taxa = f"{document['taxon']} alleles against {document['other_taxon']}"
        click.echo(f"Panel {document['panel']}: q is the share of {taxa}.")

    desk.show(document, say)


@panel.command(cls=ShowCommand)
@click.argument("code")
@click.option("--name")
@click.option("--loci", "n_loci", type=int, help=LOCI_HELP)
@click.option("--markers", type=TOML_FILE, help=MARKERS_HELP)
@click.option("--source", help="Where the panel is published.")
@click.option("--miscall-rate", type=float, help=MISCALL_HELP)
@click.option("--miscall-high", type=float, help=HIGH_HELP)
@click.pass_obj
def change(desk: Desk, /, code: str, markers: Path | None, **details: Any) -> None:
    """Change what is stored of a panel; only what you give is changed. Its two taxa stay.

    Results that were read before stay as they are.
    """
    from geneticlog.work.catalogue.labs import change_panel

    details["markers"] = marker_text(markers)
    with desk.writing() as session:
        document = panel_document(change_panel(session, code, stamp=desk.stamp(), **details))
    desk.show(document, lambda: click.echo(f"Panel {document['panel']}: {document['name']}."))


@panel.command("list", cls=ShowCommand)
@click.pass_obj
def list_(desk: Desk) -> None:
    """List the panels."""
    from sqlalchemy import select

    from geneticlog.store.tables import Panel

    with desk.reading() as session:
        panels = [panel_document(row) for row in session.scalars(select(Panel).order_by(Panel.code))]

    def say() -> None:
        if panels:
            say_panels(panels)
        else:
            click.echo("No panel is entered yet: geneticlog panel add CODE NAME")

    desk.show({"panels": panels}, say)


@panel.command(cls=ShowCommand)
@click.argument("vial")
@click.argument("kind", required=False)
@click.option("--none", "taken_back", is_flag=True, help="The kind is not known after all.")
@click.option(
    "--why", required=True, help="How the kind is known without the genotype, e.g. 'hatchery brood stock'."
)
@click.pass_obj
def known(desk: Desk, vial: str, kind: str | None, taken_back: bool, why: str) -> None:
    """Say that VIAL is of a fish of a known KIND: northern, Florida (a taxon of the panel) or F1.

    What the lab read of such a fish shows how often the panel misreads an allele.
    """
    from geneticlog.work.label.print_labels import find_vials
    from geneticlog.work.result.panel_error import say_known

    if taken_back == (kind is not None):
        raise click.UsageError("give a KIND, or --none to take one back")
    with desk.writing() as session:
        (filled,) = find_vials(session, [vial])
        kept = say_known(session, filled, kind, why, stamp=desk.stamp())
        document = {"vial": filled.code, "kind": kept}
    said = f"is a fish of known kind: {kept}" if kept else "is not among the known fish any more"

    desk.show(document, lambda: click.echo(f"Vial {document['vial']} {said}."))


@panel.command(cls=ShowCommand)
@click.argument("code")
@click.pass_obj
def show(desk: Desk, code: str) -> None:
    """Show one panel with its marker table, and how often it misreads an allele."""
    from geneticlog.faces.report.panel_words import error_document, error_sentences
    from geneticlog.store.layouts import read_markers
    from geneticlog.work.catalogue.labs import find_panel
    from geneticlog.work.result.panel_error import panel_errors

    with desk.reading() as session:
        entered = find_panel(session, code)
        assert entered is not None
        error = panel_errors(session)[entered.id]
        alleles = read_markers(entered.markers, f"markers of panel {entered.code}") if entered.markers else {}
        document = panel_document(entered) | {
            "source": entered.source,
            "markers": alleles,
            "miscalls": error_document(error),
        }
        sentences = error_sentences(error, entered.taxon, entered.n_loci)

    def say() -> None:
        click.echo(f"{document['panel']}: {document['name']}")
        click.echo(f"  q counts: {document['taxon']} alleles, against {document['other_taxon']}")
        loci = document["n_loci"]
        click.echo(f"  loci: {'not said' if loci is None else loci}")
        if document["source"]:
            say_wrapped(f"  source: {document['source']}", "    ")
        pairs = ", ".join(f"{marker} {allele}" for marker, allele in alleles.items())
        say_wrapped(
            f"  {len(alleles)} markers with the {document['taxon']} allele: {pairs}"
            if alleles
            else "  markers: none",
            "    ",
        )
        for sentence in sentences:
            say_wrapped(f"  {sentence}", "    ")

    desk.show(document, say)


def marker_text(file: Path | None) -> str | None:
    """Return the text of a marker table, read and checked. Raises NotFound, SheetFault."""
    from geneticlog.store.layouts import read_markers

    text = read_toml(file)
    if text is not None:
        read_markers(text, str(file))
    return text


def say_panels(panels: Sequence[dict[str, Any]]) -> None:
    """Write the panels as a table."""
    say_table(
        ["panel", "name", "q counts", "against", "loci", "markers"],
        [list(row.values()) for row in panels],
        numbers=["loci", "markers"],
    )


def panel_document(row: Panel) -> dict[str, Any]:
    """Return what is shown of a panel."""
    return {
        "panel": row.code,
        "name": row.name,
        "taxon": row.taxon,
        "other_taxon": row.other_taxon,
        "n_loci": row.n_loci,
        "n_markers": n_markers(row),
    }


def n_markers(row: Panel) -> int:
    """Return how many markers the table of a panel names; 0 for one that cannot be read."""
    from geneticlog.errors import SheetFault
    from geneticlog.store.layouts import read_markers

    try:
        return len(read_markers(row.markers, row.code)) if row.markers else 0
    except SheetFault:
        return 0


panel.add_command(remove_command("panel", "shipment or result"))
