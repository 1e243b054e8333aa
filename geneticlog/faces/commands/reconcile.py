"""``geneticlog reconcile`` and ``geneticlog decide``: what does not add up, and who decided what about it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from geneticlog.errors import Refused
from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped

if TYPE_CHECKING:
    from geneticlog.work.finding.reconcile import Reconciled

ACTIONS = ("accept", "recount", "reject", "match", "resample", "close")
SYMBOLS = {"q": "q", "heterozygosity": "H", "n_loci": "loci"}


@click.command(cls=ShowCommand)
@click.argument("shipment")
@click.option("--open", "only_open", is_flag=True, help="Only the findings that wait for a decision.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the list as a file too: .csv or .xlsx.",
)
@click.option("--replace", is_flag=True, help="Write over a file that is there.")
@click.pass_obj
def reconcile(desk: Desk, shipment: str, only_open: bool, out: Path | None, replace: bool) -> None:
    """Hold what came back of SHIPMENT against what was sent.

    Each thing that does not add up is a numbered finding; decide on it with: geneticlog decide F1 ACTION --why
    TEXT.
    """
    from dataclasses import replace as changed

    from geneticlog.work.finding.reconcile import reconcile as hold_against

    with desk.writing() as session:
        found = hold_against(session, shipment, now=desk.now(), by=desk.by)
    every = len(found.findings)
    if only_open:
        found = changed(found, findings=tuple(one for one in found.findings if one.decision is None))
    if out is not None:
        write_list(found, out, replace)
    document = {"shipment": found.shipment, "counts": found.counts, "findings": found.findings}
    desk.show(document, lambda: said_of_reconciling(found, every))


def write_list(found: Reconciled, out: Path, replace: bool) -> None:
    """Write the findings as a table; the ending of the name says which kind."""
    from geneticlog.store.writing import write_table

    if out.suffix.lower() not in {".csv", ".xlsx"}:
        raise click.UsageError(f"{out.name} ends neither in .csv nor in .xlsx")
    if out.exists() and not replace:
        raise Refused(f"{out} is there already; name another file or say --replace")
    heading = ["shipment", "finding", "kind", "vial", "rows", "text", "decision"]
    write_table(
        out,
        heading,
        [
            [
                found.shipment,
                one.finding,
                one.kind,
                one.vial,
                ", ".join(map(str, one.rows)),
                one.text,
                one.decision,
            ]
            for one in found.findings
        ],
    )


def said_of_reconciling(found: Reconciled, n_findings: int) -> None:
    from geneticlog.faces.shipment.terminal import blanks_in_words
    from geneticlog.rules.lab_return.finding_kinds import FINDINGS

    counts = found.counts
    click.echo(f"Shipment {found.shipment}: {counts.sent} sent.")
    if not found.n_files:
        click.echo("No return is read yet: geneticlog return read FILE --shipment " + found.shipment)
        return
    rows = "1 row" if found.n_rows == 1 else f"{found.n_rows} rows"
    say_wrapped(
        f"  vials: {counts.sent} sent = {counts.returned} returned + {counts.missing} missing; "
        f"{counts.returned} returned = {counts.matched} matched + {counts.failed} failed "
        f"+ {counts.conflicting} conflicting",
        " " * 9,
    )
    say_wrapped(
        f"  rows:  {rows} = {counts.returned} of returned vials + {counts.duplicate_rows} beyond the first "
        f"+ {counts.unexpected} unexpected",
        " " * 9,
    )
    if counts.blanks:
        say_wrapped(f"  {blanks_in_words(counts)}", " " * 9)
    n_open = sum(one.decision is None for one in found.findings)
    if not n_findings:
        click.echo("No finding: everything reconciles.")
        return
    if found.findings:
        say_table(
            ["finding", "what", "decision", "can be decided with"],
            [
                [
                    one.finding,
                    one.text,
                    one.decision or "open",
                    ""
                    if one.decision
                    else ", ".join(FINDINGS[one.kind].decisions if one.kind in FINDINGS else ()),
                ]
                for one in found.findings
            ],
        )
    click.echo(f"{n_open} open of {n_findings} findings.")


@click.command(cls=ShowCommand)
@click.argument("finding")
@click.argument("action", type=click.Choice(ACTIONS))
@click.argument("vials", nargs=-1, metavar="[VIAL]...")
@click.option("--why", required=True, help="The reason, for the record.")
@click.option("--row", type=int, help="Which of the contradicting rows stands.")
@click.option("--all-of-kind", is_flag=True, help="Every open finding of this kind in the same shipment.")
@click.pass_obj
def decide(
    desk: Desk,
    finding: str,
    action: str,
    vials: tuple[str, ...],
    why: str,
    row: int | None,
    all_of_kind: bool,
) -> None:
    """Decide on FINDING, with the reason; another decision takes it back.

    \b
    accept    what the lab states stands
    recount   what its genotypes give stands, where the two differ
    reject    the result is in no number; one that it had replaced stands again
    resample  the result is in no number, and the fish is owed
    match     the row is about VIAL
    close     seen, nothing changes

    VIAL is needed for two kinds of decision: match names the vial that the row is about; reject and resample of a
    finding about two vials name the wrong one of the two (or both). Elsewhere no vial is named.

    \b
    geneticlog decide F12 reject "BG 4F7 Q2K R" --why "filled from the fish before"
    geneticlog decide F3 match "BG 4F7 Q2K R" --why "the lab wrote S for 5"
    geneticlog decide F4 accept --row 7 --why "the lab confirmed row 7"
    geneticlog decide F9 resample --all-of-kind --why "next survey"
    """
    from geneticlog.faces.app.numbers_in_words import NONE
    from geneticlog.rules.vialcode import printed
    from geneticlog.work.finding.decide import decide as make_decision
    from geneticlog.work.shipment.pack import look_up

    with desk.writing() as session:
        made = make_decision(
            session,
            finding,
            action,
            why=why,
            now=desk.now(),
            by=desk.by,
            vials=[look_up(session, vial) for vial in dict.fromkeys(vials)],
            row=row,
            all_of_kind=all_of_kind,
        )

    def say() -> None:
        for one in made:
            before = f" (was {one.before})" if one.before else ""
            say_wrapped(f"{one.finding} {one.decision}{before}: {one.text}", "  ")
            for code, was, now in one.moved:
                click.echo(f"  result of {printed(code)}: {was}, now {now}")
            for code, name, was_value, value in one.values:
                said = [NONE if number is None else f"{number:.4g}" for number in (was_value, value)]
                if said[0] != said[1]:
                    click.echo(f"  {SYMBOLS[name]} of {printed(code)}: {said[0]}, now {said[1]}")

    desk.show(
        {
            "decisions": [
                {
                    "finding": one.finding,
                    "kind": one.kind,
                    "vial": one.vial,
                    "text": one.text,
                    "decision": one.decision,
                    "before": one.before,
                    "moved": [{"vial": c, "before": was, "after": now} for c, was, now in one.moved],
                    "values": [
                        {"vial": c, "value": name, "before": was, "after": now}
                        for c, name, was, now in one.values
                    ],
                }
                for one in made
            ]
        },
        say,
    )
