"""``geneticlog plan``: how many fish of which sizes to swab, and what that will tell."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.core import ParameterSource

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.faces.app.numbers_in_words import percent

if TYPE_CHECKING:
    from geneticlog.work.plan.make_plan import Plan, PlannedClass, StoredPlan
    from geneticlog.work.plan.wishes import Asked


@click.command(cls=ShowCommand)
@click.argument("lake")
@click.option("--half-width", type=float, help="Wanted half-width of each class's interval, e.g. 0.10.")
@click.option("--lake-half-width", type=float, help="Wanted half-width of the interval of the lake's mean.")
@click.option(
    "--change",
    type=float,
    help="Change since the last survey to be detected, as a share, e.g. 0.10 for 10 points.",
)
@click.option(
    "--young-adult",
    type=float,
    help="Difference of young and adult fish to be detected, as a share, e.g. 0.10.",
)
@click.option("--power", type=float, help="With --change or --young-adult: chance to see it (default: 0.8).")
@click.option("--fish", type=int, help="Total number of fish, instead of working it out.")
@click.option(
    "--wanted", type=int, help="Fish in each size class (default: 8, where no other wish is given)."
)
@click.option("--least", type=int, help="Fewest fish for each size class (default: 5).")
@click.option(
    "--without",
    metavar="CLASS",
    multiple=True,
    help="Leave a size class out of the plan; may be repeated.",
)
@click.option(
    "--fee",
    type=float,
    help="Lab fee for one fish, in dollars (default: the stored one).",
)
@click.option(
    "--lab", metavar="CODE", help="Lab whose stored fee to take (default: that of the last shipment)."
)
@click.option("--budget", type=float, help="Most to spend on the lab.")
@click.option(
    "--carrier-frequency",
    type=float,
    help="Include at least one of a kind of fish with this share, e.g. 0.05.",
)
@click.option("--chance", type=float, help="With --carrier-frequency: chance to meet one (default: 0.95).")
@click.option(
    "--allocation",
    type=click.Choice(["equal", "proportional", "least-variance"]),
    help="Equal shows a trend over sizes; the others serve the mean of the lake (default: each class its own"
    " need where a half-width, a change or --young-adult is asked; proportional where --carrier-frequency decides;"
    " otherwise equal).",
)
@click.option("--species", default="largemouth_bass", show_default=True)
@click.option("--stored", is_flag=True, help="Show the stored plan.")
@click.option("--look", is_flag=True, help="Work out a plan without storing it.")
@click.option(
    "--figure", type=click.Path(path_type=Path), help="Draw half-width against fish (.svg, .png, .pdf)."
)
@click.option("--replace", is_flag=True, help="Overwrite the figure if it exists.")
@click.pass_obj
def plan(
    desk: Desk,
    lake: str,
    half_width: float | None,
    lake_half_width: float | None,
    change: float | None,
    young_adult: float | None,
    power: float | None,
    fish: int | None,
    wanted: int | None,
    least: int | None,
    without: tuple[str, ...],
    fee: float | None,
    lab: str | None,
    budget: float | None,
    carrier_frequency: float | None,
    chance: float | None,
    allocation: str | None,
    species: str,
    stored: bool,
    look: bool,
    figure: Path | None,
    replace: bool,
) -> None:
    """Plan how many fish of which size classes to swab on a lake.

    The greatest of the wishes decides, within the budget. Surveys opened afterwards take their targets from it. What a
    wish takes is tried on fish drawn from the lake's own, by the intervals of the reports.

    Example: geneticlog plan HERON --change 0.10 --lake-half-width 0.05
    """
    from geneticlog.errors import Refused
    from geneticlog.faces.figures.plan import draw_trade_off, kind_of
    from geneticlog.rules.species import species_key
    from geneticlog.work.events import find_lake
    from geneticlog.work.plan.make_plan import make_plan, stored_plan
    from geneticlog.work.plan.wishes import POWER, Wishes, check

    if stored:
        _alone()
        with desk.reading() as session:
            kept = stored_plan(session, find_lake(session, lake), species_key(species))
        desk.show({"sampling_plan": kept}, lambda: say_stored(kept))
        return
    _belongs(
        sure_of_nothing=chance is not None and carrier_frequency is None,
        power_for_nothing=power is not None and change is None and young_adult is None,
        two_fees=fee is not None and lab is not None,
    )
    if figure is not None:
        kind_of(figure)
        if figure.exists() and not replace:
            raise Refused(f"{figure} is there already; name another file or add --replace")
    wishes = Wishes(
        half_width=half_width,
        lake_half_width=lake_half_width,
        fish=fish,
        wanted=wanted,
        least=least,
        fee=fee,
        lab=lab,
        budget=budget,
        carrier_frequency=carrier_frequency,
        chance=0.95 if chance is None else chance,
        allocation=allocation.replace("-", "_") if allocation else None,
        without=without,
        change=change,
        young_adult=young_adult,
        power=POWER if power is None else power,
    )
    try:
        check(wishes)
    except Refused as fault:
        raise click.UsageError(str(fault)) from None
    with desk.reading() if look else desk.writing() as session:
        made = make_plan(
            session,
            find_lake(session, lake),
            wishes,
            stamp=desk.stamp(),
            species=species_key(species),
            store=not look,
        )
        if figure is not None:
            draw_trade_off(made, figure)
    desk.show(
        {"sampling_plan": made, "figure": figure}, lambda: say(made, figure, by_default=allocation is None)
    )


def _belongs(*, sure_of_nothing: bool, power_for_nothing: bool, two_fees: bool) -> None:
    """Raise a usage fault for an option without the wish that it belongs to, and for two of one thing."""
    if sure_of_nothing:
        raise click.UsageError(
            "--chance says how sure to be of meeting a kind of fish: add --carrier-frequency"
        )
    if power_for_nothing:
        raise click.UsageError(
            "--power says how sure to be of seeing a difference: add --change or --young-adult"
        )
    if two_fees:
        raise click.UsageError(
            "give the fee with --fee or the lab that it is stored for with --lab, not both"
        )


def _alone() -> None:
    """Raise a usage fault where --stored stands beside a wish: a stored plan is only shown."""
    context = click.get_current_context()
    beside = [
        parameter.opts[0]
        for parameter in context.command.params
        if parameter.name not in ("lake", "species", "stored", "look")
        and parameter.expose_value
        and context.get_parameter_source(parameter.name or "") is ParameterSource.COMMANDLINE
    ]
    if beside:
        raise click.UsageError(
            f"--stored shows the plan that is kept and works nothing out; take {', '.join(beside)} away, or --stored"
        )


def say_stored(kept: StoredPlan) -> None:
    """Write a stored plan for a person."""
    from geneticlog.rules.species import SPECIES

    n_fish = sum(kept.targets.values())
    say_wrapped(
        f"Sampling plan {kept.number} of {kept.lake}: {n_fish} {SPECIES[kept.species].printed} (size classes:"
        f" {kept.scheme}), made on {kept.made_at:%Y-%m-%d} by {kept.made_by}"
    )
    _say_columns(
        {"size class": list(kept.targets), "target": [str(n) for n in kept.targets.values()]},
        text=("size class",),
    )
    for line in (f"Allocation: {kept.allocation.replace('_', '-')}.", *kept.notes):
        say_wrapped(line, "  ")
    if not kept.in_force:
        say_wrapped(
            "The lake has other size classes by now, so no survey takes its targets from this plan.", "  "
        )


def say(made: Plan, figure: Path | None, *, by_default: bool = False) -> None:
    """Write the plan for a person; by_default: nobody asked for its allocation."""
    from geneticlog.rules.species import SPECIES

    stored = f"Sampling plan {made.number} of" if made.number else "Draft plan, not stored, for"
    say_wrapped(
        f"{stored} {made.lake}: {made.n_fish} {SPECIES[made.species].printed} (size classes: {made.scheme})"
    )
    _say_classes(made)
    _say_wishes(made)
    _say_trade_off(made)
    for line in _sentences(made, by_default):
        say_wrapped(line, "  ")
    if figure is not None:
        click.echo(f"Figure: {figure}")
    if made.number:
        click.echo("Surveys opened from now on take their targets from this plan.")


def _say_classes(made: Plan) -> None:
    seen = any(c.likely_catch is not None for c in made.classes)
    money = made.cost is not None
    columns = {"size class": [c.size_class for c in made.classes]}
    if seen:
        columns["likely\ncatch"] = [_catch(c.likely_catch) for c in made.classes]
    columns |= {
        "target": ["as it comes" if c.as_they_come else str(c.target) for c in made.classes],
        "spread": [f"{c.spread:.3f}" for c in made.classes],
        "seen in": [_seen_in(c) for c in made.classes],
        "±\nexpected": [_width(c.half_width, c.guard) if c.target else "none" for c in made.classes],
    }
    if seen:
        columns["± of the\nlikely"] = [
            _width(c.half_width_likely, "") if c.target else "none" for c in made.classes
        ]
    if money:
        columns["cost"] = [f"{c.cost:,.2f}" for c in made.classes]
    _say_columns(columns, text=("size class", "seen in"))


def _say_wishes(made: Plan) -> None:
    """Write each wish: its fish, the catch to expect, the cost, what they give and what stays unknown."""
    worked_out = [one for one in made.asked if one.measure is not None]
    for wished in worked_out:
        click.echo("")
        sentence = f"{wished.wish[0].upper()}{wished.wish[1:]}: {wished.n_fish} fish"
        if wished.cost is not None:
            sentence += f", ${wished.cost:,.2f} for the lab"
        sentence += f"; they give {_gives(wished, wished.reached)}."
        if wished.n_likely is not None:
            likely = _gives(wished, wished.reached_likely)
            sentence += f" One outing is likely to bring {wished.n_likely} of them, which give {likely}."
        say_wrapped(sentence, "  ")
        say_wrapped(f"  This plan will not show: {wished.unknown}.", "    ")
    if worked_out:
        click.echo("")


def _gives(asked: Asked, value: float | None) -> str:
    if value is None:
        return "no interval of the whole"
    return (
        f"± {value:.3f} {asked.reached_of}"
        if asked.measure == "half_width"
        else f"a chance of {percent(value)}"
    )


def _say_trade_off(made: Plan) -> None:
    columns = {
        "fish a\nclass": [str(line.fish_a_class) for line in made.trade_off],
        "fish\nin all": [f"{line.n_fish:,}" for line in made.trade_off],
        "±\na class": [_width(line.half_width, line.guard) for line in made.trade_off],
        "can\nmiss": [percent(line.unseen) for line in made.trade_off],
    }
    if any(line.lake_half_width is not None for line in made.trade_off):
        columns["±\nlake mean"] = [
            "none" if line.lake_half_width is None else f"{line.lake_half_width:.3f}"
            for line in made.trade_off
        ]
    if made.cost is not None:
        columns["cost"] = [f"{line.cost:,.2f}" for line in made.trade_off]
    click.echo("± (half of the 95 % interval) of a mean q, by fish in every class:")
    _say_columns(columns)


def _say_columns(columns: dict[str, list[str]], text: tuple[str, ...] = ()) -> None:
    say_table(
        list(columns),
        [list(row) for row in zip(*columns.values(), strict=True)],
        numbers=[name for name in columns if name not in text],
        whole=["size class"],
        within=80,
    )


def _catch(likely: float | None) -> str:
    """A catch of earlier surveys: one decimal, "none" where none was ever caught; small ones are not rounded away."""
    if not likely:
        return "none"
    return f"{likely:.1f}" if likely >= 0.1 else "under 0.1"


def _seen_in(planned: PlannedClass) -> str:
    if planned.spread_from == "default":
        return "default"
    return "pooled" if planned.spread_from.endswith("all classes") else f"{planned.n_typed} fish"


def _of_one_outing(half_width: float | None) -> str:
    return "no mean of all sizes" if half_width is None else f"± {half_width:.3f}"


def _width(half_width: float | None, guard: str) -> str:
    from geneticlog.rules.statistics.estimates import NO_FISH, ONE_FISH, TOO_FEW

    if half_width is None or any(word in guard for word in (NO_FISH, ONE_FISH, TOO_FEW)):
        return "too few"
    return f"{half_width:.3f}"


def _sentences(made: Plan, by_default: bool) -> list[str]:
    """Return what stands below the tables: what decides, what it rests on, what it costs."""
    from geneticlog.work.plan.make_plan import EACH_ITS_OWN

    few = min((c for c in made.classes if c.target), key=lambda c: c.target)
    name = made.allocation.replace("_", "-")
    default = " (the default)" if by_default and name == "equal" else ""
    named = "" if made.allocation_why == EACH_ITS_OWN else f" {name}{default}"
    lines = [f"Allocation{named}: {made.allocation_why}."]
    lines += made.notes
    if any(_width(c.half_width, c.guard) == "too few" for c in made.classes if c.target):
        lines.append("Too few: under 5 fish of a class are too few to read a mean from.")
    lines.append(
        f"Can miss: a kind of fish that makes up as much as {percent(few.unseen)} of a class is absent from"
        f" {few.target} fish of it one time in twenty, and the interval does not account for it."
    )
    if made.lake_half_width is not None:
        lines.append(
            f"Catch-weighted mean of the lake: ± {made.lake_half_width:.3f} expected, if every target is met from"
            f" catches like the earlier ones; {_of_one_outing(made.lake_half_width_likely)} with what one outing is"
            " likely to bring."
        )
    if made.cost is not None and made.fee is not None:
        lines.append(
            f"Lab cost of the plan: ${made.cost:,.2f}, at ${made.fee:,.2f} a fish ({made.fee_from}); blind duplicates"
            " and blanks come on top."
        )
        if made.n_likely is not None and made.n_likely < made.n_fish:
            lines.append(
                f"Likely to be caught in one survey: {made.n_likely} of the {made.n_fish} fish, so about"
                f" ${made.n_likely * made.fee:,.2f}."
            )
    elif made.fee_from is not None:
        lines.append(
            f"No cost is shown: {made.fee_from}, is not stored (geneticlog lab change CODE --fee AMOUNT)."
        )
    if made.fish_for_carrier is not None and made.chance_unseen is not None:
        likely = ""
        if made.chance_unseen_likely is not None and made.n_likely != made.n_fish:
            likely = (
                f", with the {made.n_likely} that are likely to be caught in one survey with chance"
                f" {percent(made.chance_unseen_likely)}"
            )
        lines.append(
            f"Meeting such a kind of fish takes {made.fish_for_carrier} fish; with {made.n_fish} it is missed with"
            f" chance {percent(made.chance_unseen)}{likely}, if fish are met at random. Spread the sites: ancestry is"
            " patchy."
        )
    return lines
