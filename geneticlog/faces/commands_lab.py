"""``geneticlog lab`` and ``geneticlog panel``: who genotypes, and with which loci."""

from __future__ import annotations

from pathlib import Path

import click

from geneticlog.errors import NotFound
from geneticlog.faces.desk import Desk, DeskCommand, ShowCommand, say_table

TOML_FILE = click.Path(path_type=Path, dir_okay=False)


@click.group()
def lab() -> None:
    """Enter, change and list genotyping labs."""


def read_toml(file: Path | None) -> str | None:
    """Return the text of a TOML file given on the command line. Raises NotFound, SheetFault for one that is none."""
    import tomllib

    from geneticlog.errors import SheetFault

    if file is None:
        return None
    try:
        text = file.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise NotFound(f"there is no file {file}; check the path") from None
    except UnicodeDecodeError:
        raise SheetFault("this is not a text in UTF-8", file=str(file), way_out="save it as UTF-8") from None
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise SheetFault(f"this is not TOML: {fault}", file=str(file), way_out="mend that line") from None
    return text


@lab.command(cls=DeskCommand)
@click.argument("code")
@click.argument("name")
@click.option("--address")
@click.option("--fee", type=float, help="What a sample costs, in your own currency.")
@click.option("--manifest", type=TOML_FILE, help="TOML: which columns the lab wants on a manifest.")
@click.option("--layout", type=TOML_FILE, help="TOML: how the lab lays out the file it returns.")
@click.pass_obj
def add(
    desk: Desk,
    code: str,
    name: str,
    address: str | None,
    fee: float | None,
    manifest: Path | None,
    layout: Path | None,
) -> None:
    """Enter a lab under a short code of your own."""
    from geneticlog.work.labs import add_lab

    manifest_text, layout_text = checked(manifest, layout)
    with desk.writing() as session:
        added = add_lab(
            session,
            code,
            name,
            now=desk.now(),
            by=desk.by,
            address=address,
            fee=fee,
            manifest=manifest_text,
            layout=layout_text,
        )
        said = f"Lab {added.code}: {added.name}."
    click.echo(said)


@lab.command(cls=DeskCommand)
@click.argument("code")
@click.option("--name")
@click.option("--address")
@click.option("--fee", type=float)
@click.option("--manifest", type=TOML_FILE)
@click.option("--layout", type=TOML_FILE)
@click.pass_obj
def change(
    desk: Desk,
    code: str,
    name: str | None,
    address: str | None,
    fee: float | None,
    manifest: Path | None,
    layout: Path | None,
) -> None:
    """Change what is held of a lab; only what you give is changed."""
    from geneticlog.work.labs import change_lab

    manifest_text, layout_text = checked(manifest, layout)
    with desk.writing() as session:
        changed = change_lab(
            session,
            code,
            now=desk.now(),
            by=desk.by,
            name=name,
            address=address,
            fee=fee,
            manifest=manifest_text,
            layout=layout_text,
        )
        said = f"Lab {changed.code}: {changed.name}."
    click.echo(said)


def checked(manifest: Path | None, layout: Path | None) -> tuple[str | None, str | None]:
    """Return both TOML texts; each has been read and checked before anything is stored."""
    from geneticlog.rules.manifest_form import parse_form

    form = read_toml(manifest)
    if form is not None:
        parse_form(form, file=str(manifest))
    return form, read_toml(layout)


@lab.command("list", cls=ShowCommand)
@click.pass_obj
def list_(desk: Desk) -> None:
    """List the labs and the panels."""
    from sqlalchemy import select

    from geneticlog.store.tables import Lab, Panel

    with desk.reading() as session:
        labs = [
            {
                "lab": row.code,
                "name": row.name,
                "fee": row.fee,
                "has_manifest": row.manifest is not None,
                "has_layout": row.layout is not None,
            }
            for row in session.scalars(select(Lab).order_by(Lab.code))
        ]
        panels = [
            {
                "panel": row.code,
                "name": row.name,
                "taxon": row.taxon,
                "other_taxon": row.other_taxon,
                "n_loci": row.n_loci,
            }
            for row in session.scalars(select(Panel).order_by(Panel.code))
        ]

    def say() -> None:
        if not labs:
            click.echo("No lab is entered yet: geneticlog lab add CODE NAME")
        else:
            say_table(
                ["lab", "name", "fee", "own manifest", "own layout"],
                [
                    [
                        row["lab"],
                        row["name"],
                        row["fee"],
                        "yes" if row["has_manifest"] else "usual columns",
                        "yes" if row["has_layout"] else "recognised by headings",
                    ]
                    for row in labs
                ],
                numbers=["fee"],
            )
        if panels:
            say_table(
                ["panel", "name", "q counts", "against", "loci"],
                [list(row.values()) for row in panels],
                numbers=["loci"],
            )

    desk.show({"labs": labs, "panels": panels}, say)


@click.group()
def panel() -> None:
    """Enter the panels of loci and the two taxa each tells apart."""


@panel.command("add", cls=DeskCommand)
@click.argument("code")
@click.argument("name")
@click.option("--taxon", default="Florida", show_default=True, help="Whose alleles q counts.")
@click.option("--other-taxon", default="northern", show_default=True)
@click.option(
    "--loci", "n_loci", type=int, help="How many loci the panel has; a result has its own number scored."
)
@click.option(
    "--markers", type=TOML_FILE, help="TOML: the marker table, for returns with a column for each locus."
)
@click.option("--source", help="Where the panel is published.")
@click.pass_obj
def add_panel_(
    desk: Desk,
    code: str,
    name: str,
    taxon: str,
    other_taxon: str,
    n_loci: int | None,
    markers: Path | None,
    source: str | None,
) -> None:
    """Enter a panel."""
    from geneticlog.work.labs import add_panel

    marker_text = read_toml(markers)
    with desk.writing() as session:
        added = add_panel(
            session,
            code,
            name,
            now=desk.now(),
            by=desk.by,
            taxon=taxon,
            other_taxon=other_taxon,
            n_loci=n_loci,
            markers=marker_text,
            source=source,
        )
        said = f"Panel {added.code}: q is the share of {added.taxon} alleles against {added.other_taxon}."
    click.echo(said)
