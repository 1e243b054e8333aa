"""``geneticlog return``: look at what a lab sent, and read it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from geneticlog.errors import Refused, StoreUnready
from geneticlog.faces.app.desk import Desk, ShowCommand
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.progress import progress
from geneticlog.faces.commands import lab_return_readings, lab_return_show
from geneticlog.faces.lab_return.asking import until_answered
from geneticlog.faces.lab_return.terminal import (
    preview_document,
    read_document,
    said_of_preview,
    said_of_reading,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.rules.lab_return.sheet.reading import Reading
    from geneticlog.rules.lab_return.words.layout import Layout
    from geneticlog.store.tables import Lab
    from geneticlog.work.lab_return.look_first import Looked
    from geneticlog.work.lab_return.preview_return import Preview


@click.group(
    "return",
    cls=DeskGroup,
    other_names={"remove": "withdraw", "add": "read"},
    elsewhere={"correct": "correct result", "change": "correct result"},
)
def lab_return() -> None:
    """Look at what a lab sent back, and read it."""


lab_return.add_command(lab_return_readings.list_)
lab_return.add_command(lab_return_readings.withdraw)
lab_return.add_command(lab_return_show.show)


def _answers(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options by which a person says how a file is to be read."""
    for option in (
        click.option("--layout", "layout_file", type=click.Path(path_type=Path), metavar="FILE",
                     help="The lab's layout, TOML (default: the one kept for the shipment's lab)."),
        click.option("--sheet", "sheets", multiple=True, metavar="NAME",
                     help="A sheet that holds results; may be repeated (default: every sheet of the same headings)."),
        click.option("--column", "columns", multiple=True, metavar="WHAT=HEADING",
                     help="What a column holds: vial, q, other_q, third_q, heterozygosity, n_loci, call_rate,"
                     " lab_class or failure; a heading or a column's letter."),
        click.option("--unit", "units", multiple=True, metavar="WHAT=percent|fraction|count",
                     help="The unit of a proportion column in this file, as in --unit q=percent; of one sheet or"
                     " table alone, as in --unit \"q@Plate 2=percent\"."),
        click.option("--taxon", metavar="TAXON", help="Whose alleles an unnamed share counts in this file."),
        click.option("--harmless", multiple=True, metavar="TEXT",
                     help="A column, line, word, mark or sheet that changes nothing; may be repeated."),
        click.option("--hold", "against", multiple=True, metavar="TEXT",
                     help="A word or mark that casts doubt on the value beside it: such values are held."),
        click.option("--wells", type=click.Choice(["ours"]),
                     help="Samples named by wells only: they are the wells in which we sent the vials."),
        click.option("--decimal", type=click.Choice([".", ","]), help="The decimal mark."),
        click.option("--missing", multiple=True, metavar="WORD", help="A further word for a failed sample."),
        click.option("--counted", metavar="TAXON",
                     help="Whose alleles genotypes 0, 1 and 2 count, or whose allele is 1 of 11, 12 and 22."),
    ):  # fmt: skip
        command = option(command)
    return command


def _pairs(given: tuple[str, ...], option: str, known: tuple[str, ...]) -> dict[str, str]:
    out = {}
    for text in given:
        what, equals, value = text.partition("=")
        if not equals or what.partition("@")[0].strip() not in known or not value.strip():
            raise click.UsageError(f"{option} {text!r}: say WHAT=…, with WHAT one of {', '.join(known)}")
        out[what.strip()] = value.strip()
    return out


def _answered(layout: Layout, asked: dict[str, Any]) -> Layout:
    """Return the layout with what the person said on the command line."""
    from geneticlog.rules.lab_return.columns.whose_share import EACH_ROW
    from geneticlog.rules.lab_return.sheet.reading import roles_of_layout
    from geneticlog.rules.lab_return.words.headings import answer_key
    from geneticlog.rules.lab_return.words.roles import PROPORTIONS, ColumnRole

    named = _pairs(asked["columns"], "--column", roles_of_layout())
    columns = {ColumnRole(role): heading for role, heading in named.items()}
    of_parts = _pairs(asked["units"], "--unit", PROPORTIONS)
    units = {ColumnRole(role): unit for role, unit in of_parts.items() if "@" not in role}
    for what, unit in of_parts.items():
        if unit not in ("percent", "fraction", "count") or (unit == "count" and what == ColumnRole.CALL_RATE):
            raise click.UsageError(f"--unit {what}={unit}: say percent, fraction or count")
    if asked["taxon"] and asked["taxon"] not in (layout.taxa.taxon, layout.taxa.other_taxon, EACH_ROW):
        raise click.UsageError(
            f'--taxon: say {layout.taxa.taxon} or {layout.taxa.other_taxon}, or "{EACH_ROW}" where a column names it'
        )
    if asked["counted"] and asked["counted"] not in (layout.taxa.taxon, layout.taxa.other_taxon):
        raise click.UsageError(f"--counted: say {layout.taxa.taxon} or {layout.taxa.other_taxon}")
    return replace(
        layout,
        sheet=asked["sheets"][0] if len(asked["sheets"]) == 1 else layout.sheet,
        sheets=asked["sheets"],
        columns={**layout.columns, **columns},
        answered=layout.answered | frozenset(columns),
        harmless=layout.harmless | {answer_key(text) for text in asked["harmless"]},
        kept=layout.kept - {answer_key(text) for text in asked["harmless"]},
        against=layout.against | {answer_key(text) for text in asked["against"]},
        taxon_of_q=asked["taxon"] or layout.taxon_of_q,
        units={**layout.units, **units},
        units_of_parts={
            **layout.units_of_parts,
            **{key: unit for key, unit in of_parts.items() if "@" in key},
        },
        decimal=asked["decimal"] or layout.decimal,
        missing=layout.missing | {word.strip().casefold() for word in asked["missing"]},
        counted=asked["counted"] or layout.counted,
        wells=asked["wells"] or layout.wells,
        coding="" if asked["counted"] else layout.coding,
    )


def _as_given(asked: dict[str, Any], layout_file: Path | None) -> list[str]:
    """Return the options by which a person said how a file is to be read, to be typed again."""
    from geneticlog.rules.shell_words import quoted

    names = {one.name: one.opts[0] for one in click.get_current_context().command.params}
    given = {**asked, "layout_file": layout_file and str(layout_file)}
    return [
        f"{names[key]} {quoted(value)}"
        for key, values in given.items()
        for value in ((values,) if isinstance(values, str) else values or ())
    ]


def _layout_from(file: Path, layout: Layout) -> Layout:
    from geneticlog.faces.app.toml_files import read_toml
    from geneticlog.store.layouts import read_layout

    read = read_layout(read_toml(file) or "", str(file), layout.taxa)
    return read if read.markers else replace(read, markers=layout.markers)


@lab_return.command(cls=ShowCommand)
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--shipment", "shipments", multiple=True, metavar="CODE",
    help="Look at it as the return of this shipment; may be repeated, for a file over several.",
)  # fmt: skip
@click.option("--lab", metavar="CODE", help="Look at it with the layout kept for this lab.")
@_answers
@click.option(
    "--save-layout", type=click.Path(path_type=Path), metavar="FILE", help="Write how it is read, as TOML."
)
@click.option("--replace", "overwrite", is_flag=True, help="Overwrite an existing layout file.")
@click.option("--keep-for", metavar="LAB", help="Keep how it is read as the layout of this lab.")
@click.pass_obj
def preview(
    desk: Desk,
    /,
    file: Path,
    shipments: tuple[str, ...],
    lab: str | None,
    layout_file: Path | None,
    save_layout: Path | None,
    overwrite: bool,
    keep_for: str | None,
    **asked: Any,
) -> None:
    """Show how a file would be read, before anything is stored.

    Example: geneticlog return preview north-lab.xlsx --shipment SH-1
    """
    from geneticlog.rules.lab_return.words.layout import Layout
    from geneticlog.store.layouts import layout_of, read_layout, write_layout
    from geneticlog.store.sheets import read_bytes
    from geneticlog.store.writing import write_whole
    from geneticlog.work.events import find_lab, find_shipment
    from geneticlog.work.lab_return.kept_layout import layout_for
    from geneticlog.work.lab_return.known_before.expected import Expected, expected_of_each
    from geneticlog.work.lab_return.preview_return import preview_of_each
    from geneticlog.work.lab_return.read_return import ask

    if save_layout and save_layout.exists() and not overwrite:
        raise Refused(f"{save_layout} is there already; overwrite it with --replace, or name another file")
    content = read_bytes(file)
    layout, each = Layout(), {"": Expected()}
    if shipments or lab:
        with desk.reading() as session:
            if shipments:
                layout = layout_for(session, find_shipment(session, shipments[0]))
                each = expected_of_each(session, shipments, today=desk.now().astimezone().date())
            elif lab and (text := find_lab(session, lab).layout):
                layout = read_layout(text, f"layout of lab {lab}")
    if layout_file:
        layout = _layout_from(layout_file, layout)
    layout = _answered(layout, asked)
    answered = until_answered(layout, lambda layout: preview_of_each(content, file.name, layout, each))
    seen = answered.seen
    desk.show(preview_document(seen), lambda: said_of_preview(seen))
    if not seen.reading.questions:
        _say_how_to_store(desk, seen, file, shipments, [*_as_given(asked, layout_file), *answered.options])
    if save_layout or keep_for:
        ask(seen.reading)
        text = write_layout(layout_of(seen.reading))
        if save_layout:
            write_whole(save_layout, text.encode("utf-8"))
            desk.note(f"Layout written to {save_layout}.")
        if keep_for:
            with desk.writing() as session:
                _keep(desk, session, find_lab(session, keep_for), seen.reading)


def _say_how_to_store(
    desk: Desk, seen: Preview, file: Path, shipments: Sequence[str], options: Sequence[str]
) -> None:
    from geneticlog.rules.sentences import listed
    from geneticlog.rules.shell_words import quoted

    its_own = () if shipments else _shipments_of(desk, seen)
    if its_own:
        named = " ".join(f"--shipment {code}" for code in its_own)
        desk.note(
            f"Its vials went with {listed(its_own)}: a preview with {named} also asks what only that can show."
        )
    of_which = [f"--shipment {code}" for code in shipments or its_own or ("CODE",)]
    say = ["geneticlog return read", quoted(str(file)), *of_which, *options]
    with_answers = " with these answers (--keep keeps them for the lab)" if options else ""
    desk.note(f"Store it{with_answers}:\n  {' '.join(say)}")


def _shipments_of(desk: Desk, seen: Preview) -> Sequence[str]:
    """Return the shipments whose vials a file names; none where there is no database, which a preview needs not."""
    from geneticlog.work.lab_return.known_before.returned_vials import shipments_of

    try:
        with desk.reading() as session:
            return shipments_of(session, [draft.code for draft in seen.drafts if draft.code])
    except StoreUnready:
        return ()


def _keep(desk: Desk, session: Session, lab: Lab, reading: Reading) -> None:
    """Keep how a file is read, with what a person answered, as the layout of its lab."""
    from geneticlog.work.lab_return.kept_layout import keep_layout

    keep_layout(session, lab, reading, stamp=desk.stamp())
    desk.note(f"Layout kept for lab {lab.code}.")


@lab_return.command(cls=ShowCommand)
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--shipment", "shipments", required=True, multiple=True, metavar="CODE",
    help="The shipment whose vials the lab typed; may be repeated, for a file over several.",
)  # fmt: skip
@_answers
@click.option(
    "--keep",
    is_flag=True,
    help="Keep how it is read, with these answers except units and taxon, for the lab's next files.",
)
@click.pass_obj
def read(
    desk: Desk, /, file: Path, shipments: tuple[str, ...], layout_file: Path | None, keep: bool, **asked: Any
) -> None:
    """Store what a lab says of the vials of a shipment: all of it or nothing.

    A file over several shipments is read once, each row to its own.

    \b
    geneticlog return read north-lab.xlsx --shipment SH-1
    geneticlog return read north-lab.xlsx --shipment SH-1 --shipment SH-2
    """
    from geneticlog.store.sheets import read_bytes
    from geneticlog.work.events import find_shipment
    from geneticlog.work.lab_return.kept_layout import layout_for
    from geneticlog.work.lab_return.known_before.expected import expected_of_each
    from geneticlog.work.lab_return.look_first import look_first
    from geneticlog.work.lab_return.read_return import LabFile
    from geneticlog.work.lab_return.several_shipments import read_for_shipments

    content = read_bytes(file)
    looked: dict[str, Looked] = {}
    with desk.reading() as session:
        expected = expected_of_each(session, shipments, today=desk.now().astimezone().date())
        codes, layout = list(expected), layout_for(session, find_shipment(session, shipments[0]))
    if layout_file:
        layout = _layout_from(layout_file, layout)
    given = layout = _answered(layout, asked)
    for code in expected:  # taken apart, judged and asked about while nobody has to wait for the database
        answered = until_answered(layout, partial(look_first, content, file.name, expected[code]))
        layout, looked[code] = answered.layout, answered.seen
    if layout != given and not keep:
        keep = click.confirm("Keep these answers for the lab's next files?", default=False, err=True)
    with progress(desk, "Storing results") as watch, desk.writing() as session:
        done = read_for_shipments(
            session,
            LabFile(content, file.name),
            codes,
            stamp=desk.stamp(),
            layout=layout,
            progress=lambda done, total: watch("Storing results", done // 2, total // 2),
            looked=looked,
        )
        if keep:
            _keep(desk, session, find_shipment(session, codes[0]).lab, looked[codes[0]].reading)

    def say() -> None:
        for one in done:
            said_of_reading(one)

    documents = [read_document(one) for one in done]
    desk.show(documents[0] if len(done) == 1 else {"returns": documents}, say)
