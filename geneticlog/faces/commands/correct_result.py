"""``geneticlog correct result``: change one value that a lab gave, with the reason."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from geneticlog.faces.app.desk import Desk, ShowCommand


class Share(click.ParamType[float]):
    """A share of one, written as 0.21 or 21 %."""

    name = "SHARE"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        if isinstance(value, float):
            return value
        from geneticlog.rules.lab_return.cells.cells import number

        read = number(str(value))
        if read is None:
            self.fail(f"{value!r} is not a share; write it as 0.21 or 21 %", param, ctx)
        return read.as_fraction(False)[0]


@click.command(cls=ShowCommand)
@click.argument("vial")
@click.option("--q", type=Share(), help="Share of the alleles, as 0.21 or 21 %.")
@click.option("--heterozygosity", type=Share(), help="Share of the loci that are heterozygous.")
@click.option("--n-loci", type=int, metavar="N", help="Loci scored.")
@click.option("--failed", "failure", metavar="WORD", help="The sample gave no result; the lab's word for it.")
@click.option("--yes", "sure", is_flag=True, help="Accept doubtful values without asking.")
@click.option("--why", required=True, metavar="TEXT", help="The reason, for the history.")
@click.pass_obj
def result(desk: Desk, /, vial: str, why: str, sure: bool, **given: float | int | str | None) -> None:
    """Correct the result of VIAL: one value that is wrong in the lab's file, or in the reading of it.

    The old value, who, when and why stay in its history. A whole file that was read wrongly is taken back with:
    geneticlog return withdraw.

    \b
    geneticlog correct result "BG 4F7 Q2K R" --q "21 %" --why "the lab's letter of 3 June"
    """
    from geneticlog.rules.vialcode import printed
    from geneticlog.work.finding.disagreeing_pairs import settle_pairs
    from geneticlog.work.result.correct_result import correct_result
    from geneticlog.work.shipment.packable import look_up

    changes = {name: value for name, value in given.items() if value is not None}
    if not changes:
        raise click.UsageError("say what to correct, as in --q 0.21")
    with desk.writing() as session:
        of = look_up(session, vial)
        done = correct_result(session, of, changes, why=why, stamp=desk.stamp(), sure=sure)
        settle_pairs(session, [of.id], stamp=desk.stamp())

    def say() -> None:
        if not done.changes:
            click.echo(f"Result of {printed(done.vial)}: already so; nothing changed.")
            return
        click.echo(f"Corrected the result of {printed(done.vial)} ({done.standing}):")
        say_changes(done.changes)

    document = {
        "vial": done.vial,
        "standing": done.standing,
        "changes": {name: {"old": old, "new": new} for name, (old, new) in done.changes.items()},
    }
    desk.show(document, say)


def say_changes(changes: Mapping[str, tuple[Any, Any]]) -> None:
    """Show what a correction changed, a line for each value: "  site: (none) -> cove"."""
    from geneticlog.work.changed_words import changes_in_words

    old_and_new = [{name: values[at] for name, values in changes.items()} for at in (0, 1)]
    for line in changes_in_words(*old_and_new):
        click.echo(f"  {line}")
