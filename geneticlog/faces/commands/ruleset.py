"""``geneticlog ruleset``: the cut-offs that turn q, H and the loci scored into an ancestry class."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.faces.app.groups import DeskGroup

if TYPE_CHECKING:
    from geneticlog.work.catalogue.rule_sets import KnownRuleSet

SHOWN_LOCI = (12, 25, 38, 73)


@click.group(cls=DeskGroup)
def ruleset() -> None:
    """Keep, show and choose the rule sets that name ancestry classes."""


@ruleset.command(cls=ShowCommand)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_obj
def add(desk: Desk, file: Path) -> None:
    """Keep the rule set written in FILE (TOML).

    Start from an existing one: geneticlog ruleset show --toml > ours.toml
    """
    from geneticlog.errors import SheetFault
    from geneticlog.faces.app.toml_files import read_toml
    from geneticlog.rules.genetics.rule_set import RuleSetFault
    from geneticlog.work.catalogue.rule_sets import add_rule_set

    content = read_toml(file) or ""
    with desk.writing() as session:
        try:
            kept, new = add_rule_set(session, content, stamp=desk.stamp())
        except RuleSetFault as fault:
            raise SheetFault(
                str(fault), file=str(file), way_out="correct the file; nothing was stored"
            ) from fault

    def say() -> None:
        if not new:
            click.echo(f"The rule set {kept.label} is kept already; nothing changed.")
            return
        click.echo(f"Kept the rule set {kept.label}. It names no fish before it is brought into force:")
        click.echo(f'  geneticlog ruleset use "{kept.label}"')

    desk.show({**kept.cut_offs(), "is_new": new}, say)


@ruleset.command("list", cls=ShowCommand)
@click.pass_obj
def list_(desk: Desk) -> None:
    """List the rule sets and say which is in force."""
    from geneticlog.work.catalogue.rule_sets import list_rule_sets

    with desk.reading() as session:
        known = list_rule_sets(session)

    def say() -> None:
        say_table(
            ["rule set", "dated", "pure", "F1 q", "F1 H", "loci", "in force", "entered by"],
            [
                [kept.rule_set.name, kept.rule_set.dated, f"{kept.rule_set.pure:g}",
                 f"{kept.rule_set.f1_low:g} to {kept.rule_set.f1_high:g}", f"{kept.rule_set.f1_least_h:g}",
                 kept.rule_set.least_loci, "yes" if kept.in_force else "", kept.added_by or "the program"]
                for kept in known
            ],
            numbers=["pure", "F1 H", "loci"],
        )  # fmt: skip

    desk.show({"rule_sets": [_document(one) for one in known]}, say)


@ruleset.command(cls=ShowCommand)
@click.argument("name", required=False)
@click.option("--toml", "as_toml", is_flag=True, help="Only the TOML text, to start a rule set of your own.")
@click.pass_obj
def show(desk: Desk, name: str | None, as_toml: bool) -> None:
    """Show a rule set (default: the one in force), and what its cut-off lets through.

    NAME is a name, or "name, date" where several share it.
    """
    from geneticlog.rules.genetics.hybrid_classes import chance_of_passing_as_pure
    from geneticlog.work.catalogue.rule_sets import find_rule_set, rule_set_in_force

    if as_toml and desk.as_json:
        raise click.UsageError("Give --toml or --json, not both.")
    with desk.reading() as session:
        known = find_rule_set(session, name or rule_set_in_force(session).label)
    rule_set = known.rule_set
    loci = sorted({*SHOWN_LOCI, rule_set.least_loci})
    passing = [
        {"n_loci": n, "backcross": k, "chance": chance_of_passing_as_pure(k, n, rule_set.pure)}
        for n in loci
        for k in (1, 2, 3, 4)
    ]

    def say() -> None:
        if as_toml:
            click.echo(known.content.rstrip("\n"))
            return
        say_wrapped(rule_set.sentence())
        click.echo("It is in force." if known.in_force else "It is not in force.")
        if known.added_by and known.added_at:
            click.echo(f"Entered by {known.added_by}, {known.added_at:%Y-%m-%d}.")
        click.echo("\nChance that a backcross passes as pure by it (linked loci raise it):")
        rows = [
            [n, *(_chance(row["chance"]) for row in passing if row["n_loci"] == n)] for n in loci
        ]  # fmt: skip
        headings = ["loci", "first backcross", "second", "third", "fourth"]
        say_table(headings, rows, numbers=headings)

    desk.show({**_document(known), "sentence": rule_set.sentence(), "passing_as_pure": passing}, say)


@ruleset.command(cls=ShowCommand)
@click.argument("name")
@click.pass_obj
def use(desk: Desk, name: str) -> None:
    """Bring a rule set into force: reports and returns read from now on use it.

    Go back with: geneticlog ruleset use "house default"
    """
    from geneticlog.work.catalogue.rule_sets import use_rule_set

    with desk.writing() as session:
        before, now = use_rule_set(session, name, stamp=desk.stamp())

    def say() -> None:
        if before == now:
            click.echo(f"The rule set {now.label} is in force already; nothing changed.")
            return
        click.echo(f"In force now: {now.label} (before: {before.label}).")
        click.echo("Reports use it from now on; findings of returns already read stay as they are.")

    desk.show({"in_force": now.cut_offs(), "before": before.cut_offs()}, say)


def _chance(value: float) -> str:
    return "under 0.0001" if value < 1e-4 else f"{value:.4f}"


def _document(known: KnownRuleSet) -> dict[str, Any]:
    return {
        **known.rule_set.cut_offs(),
        "in_force": known.in_force,
        "added_at": known.added_at,
        "added_by": known.added_by,
        "content": known.content,
    }
