"""``geneticlog reconcile``: what was sent against what came back."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from geneticlog.errors import Refused
from geneticlog.faces.app.desk import Desk, ShowCommand, say_wrapped
from geneticlog.rules.sentences import n_of
from geneticlog.settings import local_time

if TYPE_CHECKING:
    from geneticlog.work.finding.reconcile import Reconciled


@click.command(cls=ShowCommand)
@click.argument("shipment")
@click.option("--open", "only_open", is_flag=True, help="Only the findings that wait for a decision.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the list as a file too: .csv or .xlsx.",
)
@click.option("--replace", is_flag=True, help="Overwrite an existing file.")
@click.pass_obj
def reconcile(desk: Desk, shipment: str, only_open: bool, out: Path | None, replace: bool) -> None:
    """Compare what came back for SHIPMENT with what was sent.

    Each thing that does not add up is a numbered finding; decide on it with: geneticlog finding decide F1 ACTION
    --why TEXT.
    """
    from dataclasses import replace as changed

    from geneticlog.work.finding.reconcile import reconcile as hold_against

    with desk.writing() as session:
        reconciled = hold_against(session, shipment, stamp=desk.stamp())
    every = len(reconciled.findings)
    if only_open:
        reconciled = changed(
            reconciled, findings=tuple(one for one in reconciled.findings if one.decision is None)
        )
    if out is not None:
        write_list(reconciled, out, replace)
    document = {
        "shipment": reconciled.shipment,
        "counts": reconciled.counts,
        "findings": reconciled.findings,
        "n_other_pair": reconciled.n_other_pair,
    }
    desk.show(document, lambda: said_of_reconciling(reconciled, every))


def write_list(reconciled: Reconciled, out: Path, replace: bool) -> None:
    """Write the findings as a table; the ending of the name says which kind."""
    from geneticlog.store.writing import write_table

    if out.suffix.lower() not in {".csv", ".xlsx"}:
        raise click.UsageError(f"{out.name} ends neither in .csv nor in .xlsx")
    if out.exists() and not replace:
        raise Refused(f"{out} is there already; name another file or say --replace")
    heading = [
        *("shipment", "finding", "kind", "vial", "file", "sheet", "rows", "text"),
        *("opened_at", "waits_for", "decision", "decided_by", "decided_at", "why"),
    ]
    rows = [[_cell(getattr(one, name)) for name in heading] for one in reconciled.findings]
    write_table(out, heading, rows)


def _cell(value: object) -> str | None:
    """Return a value as the list holds it: times to the local minute, row numbers after one another."""
    if isinstance(value, datetime):
        return local_time(value)
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    return None if value is None else str(value)


def said_of_reconciling(reconciled: Reconciled, n_findings: int) -> None:
    from geneticlog.faces.finding.terminal import say_findings
    from geneticlog.faces.shipment.terminal import blanks_in_words

    counts = reconciled.counts
    click.echo(f"Shipment {reconciled.shipment}: {counts.sent} sent.")
    if not reconciled.n_files:
        click.echo("No return is read yet: geneticlog return read FILE --shipment " + reconciled.shipment)
        return
    rows = n_of(reconciled.n_rows, "row")
    gone = f" ({reconciled.n_gone} of them missing or broken on arrival)" if reconciled.n_gone else ""
    say_wrapped(
        f"  vials: {counts.sent} sent = {counts.returned} returned + {counts.missing} missing{gone}; "
        f"{counts.returned} returned = {counts.matched} matched + {counts.failed} failed "
        f"+ {counts.held} held + {counts.conflicting} conflicting + {counts.rejected} rejected",
        " " * 9,
    )
    say_wrapped(
        f"  rows:  {rows} = {counts.returned} of returned vials + {counts.duplicate_rows} beyond the first "
        f"+ {counts.unexpected} unexpected",
        " " * 9,
    )
    if counts.blanks:
        say_wrapped(f"  {blanks_in_words(counts)}", " " * 9)
    if reconciled.n_other_pair:
        say_wrapped(
            f"  {reconciled.n_other_pair} of the {counts.matched} matched: for another pair of taxa than the numbers of"
            " the lake are about; in none of these numbers",
            " " * 9,
        )
    n_open = sum(one.decision is None for one in reconciled.findings)
    if not n_findings:
        click.echo("No finding: everything reconciles.")
        return
    if reconciled.findings:
        say_findings(reconciled.findings, with_place=reconciled.n_files > 1)
    click.echo(f"{n_open} open of {n_of(n_findings, 'finding')}.")
