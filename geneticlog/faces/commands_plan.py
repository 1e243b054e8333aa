"""``geneticlog plan``: how many fish of which sizes to swab, and what that will tell."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from geneticlog.faces.desk import Desk, ShowCommand, say_table

if TYPE_CHECKING:
    from geneticlog.work.sampling_plan import Plan


@click.command(cls=ShowCommand)
@click.argument("lake")
@click.option("--half-width", type=float, help="Wanted reach of each class's interval, e.g. 0.10.")
@click.option("--fish", type=int, help="Fish in all, instead of working it out.")
@click.option("--fee", type=float, help="What the lab asks for one fish, in your own currency.")
@click.option("--budget", type=float, help="Most to spend on the lab; needs --fee.")
@click.option(
    "--carrier-frequency", type=float, help="Meet a kind of fish that makes up this share, e.g. 0.05."
)
@click.option("--chance", type=float, default=0.95, show_default=True, help="With --carrier-frequency.")
@click.option("--least", type=int, default=5, show_default=True, help="Fewest fish for each size class.")
@click.option(
    "--wanted", type=int, default=8, show_default=True, help="Fish a class when nothing else is asked."
)
@click.option(
    "--allocation",
    type=click.Choice(["equal", "proportional", "least-variance"]),
    default="equal",
    show_default=True,
    help="Equal shows a trend over sizes; the others serve the mean of the lake.",
)
@click.option("--species", default="largemouth_bass", show_default=True)
@click.option("--look", is_flag=True, help="Only work it out; store no plan.")
@click.option(
    "--figure", type=click.Path(path_type=Path), help="Draw half-width against fish (.svg, .png, .pdf)."
)
@click.option("--replace", is_flag=True, help="Overwrite the figure if it exists.")
@click.pass_obj
def plan(
    desk: Desk,
    lake: str,
    half_width: float | None,
    fish: int | None,
    fee: float | None,
    budget: float | None,
    carrier_frequency: float | None,
    chance: float,
    least: int,
    wanted: int,
    allocation: str,
    species: str,
    look: bool,
    figure: Path | None,
    replace: bool,
) -> None:
    """Plan how many fish of which size classes to swab on a lake."""
    from geneticlog.errors import Refused
    from geneticlog.work.record import find_lake
    from geneticlog.work.sampling_plan import Wishes, make_plan

    if figure is not None and figure.exists() and not replace:
        raise Refused(f"{figure} is there already; name another file or add --replace")
    wishes = Wishes(
        half_width, fish, fee, budget, carrier_frequency, chance, least, wanted, allocation.replace("-", "_")
    )
    with desk.reading() if look else desk.writing() as session:
        found = find_lake(session, lake)
        made = make_plan(session, found, wishes, now=desk.now(), by=desk.by, species=species, store=not look)
        if figure is not None:
            from geneticlog.faces.figure_plan import draw_trade_off

            draw_trade_off(made, figure)
    desk.show({"sampling_plan": made}, lambda: say(made, figure))


def say(made: Plan, figure: Path | None) -> None:
    """Write the plan for a person."""
    stored = (
        f"Sampling plan {made.number} of {made.lake}" if made.number else f"A look at a plan for {made.lake}"
    )
    click.echo(f"{stored}: {made.n_fish} fish ({made.scheme} classes)")
    money = made.cost is not None
    say_table(
        [
            "size class",
            "likely catch",
            "target",
            "spread",
            "± expected",
            *(["cost"] if money else []),
            "spread from",
        ],
        [
            [
                c.size_class,
                None if c.likely_catch is None else f"{c.likely_catch:.1f}",
                c.target,
                f"{c.spread:.3f}",
                "no interval" if c.half_width is None else f"{c.half_width:.3f}",
                *([f"{c.cost:,.2f}"] if money else []),
                c.spread_from,
            ]
            for c in made.classes
        ],
        numbers=["likely catch", "target", "spread", "± expected", "cost"],
    )
    lake_mean = any(line.lake_half_width is not None for line in made.trade_off)
    say_table(
        [
            *("fish a class", "fish in all", "± a class"),
            *(["± lake mean"] if lake_mean else []),
            *(["cost"] if money else []),
        ],
        [
            [
                line.fish_a_class,
                line.n_fish,
                f"{line.half_width:.3f}",
                *(
                    [f"{line.lake_half_width:.3f}" if line.lake_half_width is not None else None]
                    if lake_mean
                    else []
                ),
                *([f"{line.cost:,.2f}"] if money else []),
            ]
            for line in made.trade_off
        ],
        title="Fish against half-width of a mean q (95 %)",
        numbers=["fish a class", "fish in all", "± a class", "± lake mean", "cost"],
    )
    click.echo(f"Allocation {made.allocation.replace('_', '-')}: {made.allocation_why}.")
    for note in made.notes:
        click.echo(note)
    if made.lake_half_width is not None:
        click.echo(f"Expected half-width of the catch-weighted lake mean: {made.lake_half_width:.3f}.")
    if money:
        click.echo(f"Lab cost of the plan: {made.cost:,.2f}.")
    if made.fish_for_carrier is not None and made.chance_unseen is not None:
        click.echo(
            f"Meeting such a kind of fish takes {made.fish_for_carrier} fish; with {made.n_fish} it is missed with"
            f" chance {made.chance_unseen:.1%}, if fish are met at random. Spread the sites: ancestry is patchy."
        )
    if figure is not None:
        click.echo(f"Figure: {figure}")
    if made.number:
        click.echo("Surveys opened from now on take their targets from this plan.")
