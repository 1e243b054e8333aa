"""``geneticlog inbox``: what waits for the office."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.rules.sentences import n_of

if TYPE_CHECKING:
    from geneticlog.work.inbox.inbox import Inbox

MOST_SHOWN = 40  # findings on one screen; the rest are in the list
WHOM = {"crew": "the crew", "office": "the office", "lab": "the lab", "biologist": "the biologist"}


@click.command(cls=ShowCommand)
@click.option("--for", "whom", type=click.Choice(list(WHOM)), help="Only the findings that wait for these.")
@click.pass_obj
def inbox(desk: Desk, whom: str | None) -> None:
    """Show what is waiting: open findings and stalled shipments, oldest first.

    A shipment stops where it was packed and not sent, is out longer than the lab's usual days (geneticlog lab change
    CODE --usual-days N), came back and is not reconciled, or was closed while fish must be sampled again. A report that
    was sent out waits where a result behind it was taken back or changed since.
    """
    from geneticlog.work.inbox.inbox import inbox as what_waits

    with desk.reading() as session:
        waiting = what_waits(session, now=desk.now(), waits_for=WHOM.get(whom or ""))
    lines = [{"age_days": one.age_days, "lakes": one.lakes, **vars(one.finding)} for one in waiting.findings]
    document = {
        "findings": lines,
        "shipments": waiting.shipments,
        "surveys": waiting.surveys,
        "reports": waiting.reports,
        "n_waiting_for": waiting.n_waiting_for,
    }

    desk.show(document, lambda: _say(waiting))


def _say(waiting: Inbox) -> None:
    if not (waiting.findings or waiting.shipments or waiting.surveys or waiting.reports):
        click.echo("Nothing waits.")
        return
    if waiting.shipments:
        say_table(
            ["days", "shipment", "lab", "lakes", "waits because", "next"],
            [
                [
                    row.age_days,
                    row.shipment,
                    row.lab,
                    ", ".join(row.lakes),
                    f"{row.reason}: {row.text}",
                    row.do,
                ]
                for row in waiting.shipments
            ],
            title="Shipments",
            numbers=["days"],
        )
    if waiting.surveys:
        say_table(
            ["days", "survey", "lake", "waits because", "next"],
            [[one.age_days, one.survey, one.lake, one.text, one.do] for one in waiting.surveys],
            title="Surveys",
            numbers=["days"],
        )
    if waiting.reports:
        say_table(
            ["days", "report", "lake", "outdated because", "next"],
            [[one.age_days, one.report, one.lake, one.text, one.do] for one in waiting.reports],
            title="Reports to send again",
            numbers=["days"],
        )
    if waiting.findings:
        _say_findings(waiting)


def _say_findings(waiting: Inbox) -> None:
    from geneticlog.faces.finding.terminal import place_of

    shown = [(one.age_days, ", ".join(one.lakes), one.finding) for one in waiting.findings[:MOST_SHOWN]]
    say_table(
        ["days", "finding", "lake", "waits for", "what", "file"],
        [[days, one.finding, lakes, one.waits_for, one.text, place_of(one)] for days, lakes, one in shown],
        title="Findings",
        numbers=["days"],
        whole=["finding"],
    )
    n = len(waiting.findings)
    if n > MOST_SHOWN:
        click.echo(f"… and {n - MOST_SHOWN} more: geneticlog finding list --open")
    whose = ", ".join(f"{k} for {whom}" for whom, k in sorted(waiting.n_waiting_for.items()))
    findings = n_of(n, "finding")
    say_wrapped(f"{findings} to decide (in all {whose}): geneticlog finding decide F1 ACTION --why TEXT")
