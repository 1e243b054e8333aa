"""``geneticlog finding list|show|decide``: what does not reconcile, and who decided what about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from geneticlog.faces.app.desk import Desk, ShowCommand
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.rules.finding.decision import Decision

if TYPE_CHECKING:
    from geneticlog.work.finding.list_findings import FindingLine

ACTIONS = [one.value for one in Decision]


@click.group(cls=DeskGroup, other_names={"change": "decide"})
def finding() -> None:
    """List, show and decide findings: what does not reconcile."""


@finding.command("list", cls=ShowCommand)
@click.option("--lake", metavar="CODE", help="Only those that concern this lake.")
@click.option("--survey", metavar="CODE", help="Only those that concern this survey.")
@click.option("--shipment", metavar="CODE", help="Only those of this shipment and its returns.")
@click.option("--open", "only_open", is_flag=True, help="Only those that wait for a decision.")
@click.pass_obj
def list_(desk: Desk, lake: str | None, survey: str | None, shipment: str | None, only_open: bool) -> None:
    """List findings of every kind: of the log, of shipments and of returns."""
    from geneticlog.faces.finding.terminal import say_findings
    from geneticlog.work.finding.list_findings import list_findings

    with desk.reading() as session:
        findings = list_findings(session, lake=lake, survey=survey, shipment=shipment, only_open=only_open)

    def say() -> None:
        if not findings:
            click.echo("No open finding." if only_open else "No finding.")
            return
        say_findings(findings)
        n_open = sum(one.decision is None for one in findings)
        if n_open:
            click.echo(
                f"{n_open} open. Decide with: geneticlog finding decide {_first_open(findings)} ACTION --why TEXT"
            )

    desk.show({"findings": findings}, say)


def _first_open(there: list[FindingLine]) -> str:
    return next(one.finding for one in there if one.decision is None)


@finding.command(cls=ShowCommand)
@click.argument("name", metavar="FINDING")
@click.pass_obj
def show(desk: Desk, name: str) -> None:
    """Show a finding, its rows as the lab wrote them, and each decision on it."""
    from geneticlog.faces.commands.history import show_life
    from geneticlog.work.finding.decide import find_finding
    from geneticlog.work.life import life_of_finding

    with desk.reading() as session:
        told = life_of_finding(session, find_finding(session, name))
    show_life(desk, told)


@finding.command(cls=ShowCommand)
@click.argument("name", metavar="FINDING")
@click.argument("action", type=click.Choice(ACTIONS))
@click.argument("vials", nargs=-1, metavar="[VIAL]...")
@click.option("--why", required=True, help="The reason, for the record.")
@click.option("--row", type=int, help="Which of the contradicting rows is right.")
@click.option("--all-of-kind", is_flag=True, help="Every open finding of this kind in the same shipment.")
@click.pass_obj
def decide(
    desk: Desk,
    name: str,
    action: str,
    vials: tuple[str, ...],
    why: str,
    row: int | None,
    all_of_kind: bool,
) -> None:
    """Decide on FINDING, with the reason; another decision takes it back.

    \b
    accept    use what the lab states
    recount   use what its genotypes give, where the two differ
    reject    exclude the result; one that it had replaced counts again
    resample  exclude the result; the fish must be sampled again
    match     the row is about VIAL
    close     mark as seen; nothing changes

    VIAL is needed for two kinds of decision: match names the vial that the row is about; reject and resample of a
    finding about two vials name the wrong one of the two (or both). Elsewhere no vial is named.

    \b
    geneticlog finding decide F12 reject "BG 4F7 Q2K R" --why "filled from the fish before"
    geneticlog finding decide F3 match "BG 4F7 Q2K R" --why "the lab wrote S for 5"
    geneticlog finding decide F4 accept --row 7 --why "the lab confirmed row 7"
    geneticlog finding decide F9 resample --all-of-kind --why "next survey"
    """
    from geneticlog.faces.finding.terminal import decisions_document, say_decisions
    from geneticlog.work.finding.decide import decide as make_decision
    from geneticlog.work.finding.may_decide import Asked
    from geneticlog.work.shipment.packable import look_up

    with desk.writing() as session:
        made = make_decision(
            session,
            name,
            Asked(action, why, [look_up(session, vial) for vial in dict.fromkeys(vials)], row),
            stamp=desk.stamp(),
            all_of_kind=all_of_kind,
        )
    desk.show(decisions_document(made), lambda: say_decisions(made))
