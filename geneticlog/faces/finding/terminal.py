"""What is said of findings at the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from geneticlog.faces.app.desk import say_table, say_wrapped
from geneticlog.faces.app.numbers_in_words import NONE
from geneticlog.rules.vialcode import printed

if TYPE_CHECKING:
    from geneticlog.work.finding.decide import Decided
    from geneticlog.work.finding.list_findings import FindingLine

SYMBOLS = {"q": "q", "heterozygosity": "H", "n_loci": "loci"}


def place_of(line: FindingLine) -> str | None:
    """Return where the rows of a finding stand: file, and sheet where there are several."""
    if line.file is None:
        return None
    return f"{line.file}, sheet {line.sheet}" if line.sheet else line.file


def decision_of(line: FindingLine) -> str:
    """Return who decided what on a finding, when and why; "open" for one that waits, with whom it waits for."""
    if line.decision is None or line.decided_at is None:
        return f"open, waits for {line.waits_for}"
    by = "itself" if line.closed_itself else line.decided_by
    decided = "closed" if line.closed_itself else line.decision
    return f"{decided} by {by}, {line.decided_at.astimezone():%Y-%m-%d}: {line.why}"


def say_findings(lines: Sequence[FindingLine], *, with_place: bool = True) -> None:
    """Print findings as a table: what, in which file, what was decided by whom, or what can be decided."""
    columns = ["finding", "what", *(["file"] if with_place else []), "decision", "can be decided with"]
    say_table(
        columns,
        [
            [
                line.finding,
                line.text,
                *([place_of(line)] if with_place else []),
                decision_of(line),
                "" if line.decision else ", ".join(line.ways),
            ]
            for line in lines
        ],
        whole=["finding"],
    )


def say_decisions(made: Sequence[Decided]) -> None:
    """Say what decisions did to results and their values."""
    for decided in made:
        before = f" (was {decided.before})" if decided.before else ""
        say_wrapped(f"{decided.finding} {decided.decision}{before}: {decided.text}", "  ")
        for code, was, now in decided.moved:
            click.echo(f"  result of {printed(code)}: {was}, now {now}")
        for code, name, was_value, value in decided.values:
            said = [NONE if number is None else f"{number:.4g}" for number in (was_value, value)]
            if said[0] != said[1]:
                click.echo(f"  {SYMBOLS[name]} of {printed(code)}: {said[0]}, now {said[1]}")


def decisions_document(made: Sequence[Decided]) -> dict[str, Any]:
    """Return what decisions did, for --json."""
    return {
        "decisions": [
            {
                "finding": finding.finding,
                "kind": finding.kind,
                "vial": finding.vial,
                "text": finding.text,
                "decision": finding.decision,
                "before": finding.before,
                "moved": [{"vial": c, "before": was, "after": now} for c, was, now in finding.moved],
                "values": [
                    {"vial": c, "value": name, "before": was, "after": now}
                    for c, name, was, now in finding.values
                ],
            }
            for finding in made
        ]
    }
