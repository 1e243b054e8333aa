"""``geneticlog report decisions``: every decision, for an audit."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from geneticlog.errors import Refused
from geneticlog.faces.app.desk import Desk, ShowCommand
from geneticlog.rules.sentences import n_of
from geneticlog.settings import local_time

COLUMNS = (
    *("at", "by", "about_kind", "about", "did", "why", "in_force", "kind", "text", "vial", "lake", "survey"),
    *("shipment", "file", "sheet", "rows"),
)


@click.command("decisions", cls=ShowCommand)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="A .csv or .xlsx file to write.",
)
@click.option("--replace", is_flag=True, help="Overwrite an existing file.")
@click.pass_obj
def decisions(desk: Desk, out: Path | None, replace: bool) -> None:
    """Write every decision and correction: who, when and why.

    Decisions on findings, also those that a later one replaced; returns that were withdrawn; results, fish, surveys and
    shipments that were corrected. Times are local; those of --json have their offset.
    """
    from geneticlog.store.writing import write_table
    from geneticlog.work.finding.audit import decisions as every_decision

    if out is None and not desk.as_json:
        raise click.UsageError("Give --out FILE for a table, or --json.")
    if out is not None and out.suffix.lower() not in {".csv", ".xlsx"}:
        raise click.UsageError(f"{out.name} ends neither in .csv nor in .xlsx")
    if out is not None and out.exists() and not replace:
        raise Refused(f"{out} is there already; name another file or say --replace")
    with desk.reading() as session:
        made = list(every_decision(session))
    if out is not None:
        write_table(out, list(COLUMNS), [[_cell(getattr(one, name)) for name in COLUMNS] for one in made])
    desk.show(
        {"decisions": made},
        lambda: click.echo(
            f"{out}: {n_of(len(made), 'decision or correction', 'decisions and corrections')}."
        ),
    )


def _cell(value: object) -> str | None:
    if isinstance(value, datetime):
        return local_time(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(map(str, value)) or None
    return None if value is None else str(value)
