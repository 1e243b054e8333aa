"""``geneticlog history``: the whole life of one vial on one screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped

if TYPE_CHECKING:
    from geneticlog.work.history import ResultSaid


@click.command(cls=ShowCommand)
@click.argument("vial")
@click.pass_obj
def history(desk: Desk, vial: str) -> None:
    """Show the whole life of VIAL.

    Printed, filled, packed, sent, arrived, returned, its findings and who decided what about them.
    """
    from geneticlog.rules.vialcode import printed
    from geneticlog.work.history import history as life_of
    from geneticlog.work.shipment.pack import look_up

    with desk.reading() as session:
        told = life_of(session, look_up(session, vial))

    def say() -> None:
        click.echo(f"Vial {printed(told.vial)}: {told.role.replace('_', ' ')}, {told.custody}")
        if told.fish:
            length = f", {told.length:g} {told.length_unit}" if told.length is not None else ""
            size = f" ({told.size_class})" if told.size_class else ""
            click.echo(f"  fish {told.fish}{length}{size}, {told.lake}, {told.surveyed_on}")
        for result in told.results:
            if result.ancestry_class is not None and result.q is not None:
                click.echo(f"  {_result(result)}")
                click.echo(f"    class by {result.rule_set}; interval of q {result.drop:g} log units deep")
                if result.settled:
                    say_wrapped(f"    {result.settled}", " " * 4)
        say_table(
            ["when (UTC)", "who", "what", "why"],
            [[f"{moment.at:%Y-%m-%d %H:%M}", moment.by, moment.what, moment.why] for moment in told.life],
        )

    desk.show(vars(told), say)


def _result(result: ResultSaid) -> str:
    interval = "" if result.low is None else f" ({result.low:.3f} to {result.high:.3f})"
    h = "" if result.heterozygosity is None else f", H {result.heterozygosity:.3f}"
    loci = "" if result.n_loci is None else f", {result.n_loci} loci"
    return f"q {result.q:.3f}{interval}{h}{loci}: {result.ancestry_class}; {result.generation}"
