"""``geneticlog lake``: the waters, their size classes and what was stocked in them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.removing import remove_command
from geneticlog.faces.app.waiting_findings import say_waiting
from geneticlog.faces.commands.stocking import add as add_stocking

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.store.tables import Lake

LAKE_COLUMNS = (
    *("code", "name", "owner", "county", "state_province", "country_code", "area_ha"),
    *("latitude", "longitude", "position_uncertainty_m", "remarks"),
)


@click.group(
    cls=DeskGroup,
    old_names={"stocked": "stocking add"},
    elsewhere={
        "change": "correct lake",
        "correct": "correct lake",
        "stock": "stocking add",
        "report": "report lake",
    },
)
def lake() -> None:
    """Add, list, show and remove lakes; give a lake its own size classes."""


@lake.command(cls=ShowCommand)
@click.argument("code")
@click.argument("name")
@click.option("--owner", help="Whose lake it is; never sent to a lab or exported unless asked for.")
@click.option("--county")
@click.option("--state", "state_province", help="State or province.")
@click.option("--country", "country_code", help="Two letters, e.g. US.")
@click.option("--area-ha", type=float, help="Area in hectares.")
@click.option("--latitude", type=float, help="Decimal degrees, WGS 84.")
@click.option("--longitude", type=float, help="Decimal degrees, WGS 84.")
@click.option("--position-uncertainty-m", type=float)
@click.option("--remarks")
@click.pass_obj
def add(desk: Desk, /, code: str, name: str, **details: Any) -> None:
    """Add a lake under a short code of your own."""
    from geneticlog.work.catalogue.lakes import add_lake

    with desk.writing() as session:
        added = add_lake(session, code, name, stamp=desk.stamp(), **details)
        document = {"lake": added.code, "name": added.name}
    desk.show(document, lambda: click.echo(f"Lake {document['lake']}: {document['name']}."))


@lake.command("list", cls=ShowCommand)
@click.pass_obj
def list_(desk: Desk) -> None:
    """List the lakes with their surveys and fish."""
    from geneticlog.work.catalogue.lakes import list_lakes

    with desk.reading() as session:
        lines = list_lakes(session)

    def say() -> None:
        if not lines:
            click.echo("No lake is entered yet: geneticlog lake add CODE NAME")
            return
        say_table(
            ["lake", "name", "surveys", "fish", "last survey"],
            [[line.lake, line.name, line.n_surveys, line.n_fish, line.last_surveyed_on] for line in lines],
            numbers=["surveys", "fish"],
        )

    desk.show({"lakes": lines}, say)


@lake.command(cls=ShowCommand)
@click.argument("code")
@click.pass_obj
def show(desk: Desk, code: str) -> None:
    """Show one lake: what is known of it, its surveys and stockings."""
    from geneticlog.rules.sentences import targets_said
    from geneticlog.rules.species import SPECIES
    from geneticlog.work.catalogue.lake_plans import plan_in_force, targets_of
    from geneticlog.work.catalogue.surveys import list_surveys
    from geneticlog.work.changed_words import name_in_words, value_in_words
    from geneticlog.work.events import find_lake
    from geneticlog.work.finding.waiting import waiting_of

    columns = LAKE_COLUMNS
    with desk.reading() as session:
        entered = find_lake(session, code)
        known = {column: getattr(entered, column) for column in columns}
        surveys = list_surveys(session, entered.code)
        waiting = waiting_of(session, [one.id for one in entered.surveys])
        plans = {
            species: targets_of(plan)
            for species in SPECIES
            if (plan := plan_in_force(session, entered, species)) is not None
        }
        stockings = _stockings_of(session, entered)
    document = {
        "lake": known.pop("code"),
        **known,
        "targets": plans.get("largemouth_bass"),
        "targets_by_species": plans,
        "surveys": surveys,
        "stockings": stockings,
        "findings_open": waiting,
    }

    def say() -> None:
        click.echo(f"{document['lake']}: {document['name']}")
        for key, value in known.items():
            if value is not None and key != "name":
                click.echo(f"  {name_in_words(key)}: {value_in_words(key, value)}")
        for species, targets in plans.items():
            say_wrapped(f"  targets for {SPECIES[species].printed}: {targets_said(targets)}", "    ")
        if surveys:
            say_table(
                ["survey", "on", "gear", "fish", "swabbed"],
                [[s.survey, s.surveyed_on, s.gear, s.n_fish, s.n_swabbed] for s in surveys],
                numbers=["fish", "swabbed"],
            )
        if stockings:
            say_table(
                ["stocked on", "kind", "fish", "size", "source"],
                [list(s.values()) for s in stockings],
                numbers=["fish"],
            )
        say_waiting(waiting)

    desk.show(document, say)


def _stockings_of(session: Session, lake: Lake) -> list[dict[str, Any]]:
    from sqlalchemy import select

    from geneticlog.store.tables import Stocking

    rows = session.scalars(select(Stocking).where(Stocking.lake_id == lake.id).order_by(Stocking.stocked_on))
    names = ("stocked_on", "taxon", "n_fish", "size", "source")
    return [{name: getattr(row, name) for name in names} for row in rows]


@lake.command(cls=ShowCommand)
@click.argument("code")
@click.option("--species", default="largemouth_bass", show_default=True)
@click.option(
    "--inch-groups", nargs=2, type=float, metavar="FIRST LAST", help="Groups of an inch, from FIRST to LAST."
)
@click.option("--step", type=float, help="With inch groups: width of a group in inches (default: 1).")
@click.option(
    "--two-groups",
    type=float,
    metavar="LENGTH",
    help="Young below LENGTH, adult at LENGTH or more.",
)
@click.option(
    "--unit", type=click.Choice(["in", "mm"]), help="With two groups: unit of LENGTH (default: in)."
)
@click.option("--adult-from", type=float, help="With inch groups: least length of an adult, in inches.")
@click.option("--published", is_flag=True, help="Use the published five-length classes again.")
@click.pass_obj
def classes(
    desk: Desk,
    code: str,
    species: str,
    inch_groups: tuple[float, float] | None,
    step: float | None,
    two_groups: float | None,
    unit: str | None,
    adult_from: float | None,
    published: bool,
) -> None:
    """Give a lake size classes of its own, or show those it has.

    Surveys opened from now on are judged by them; earlier surveys keep theirs, and a plan made for other classes is
    void. Another species keeps its own.
    """
    from geneticlog.rules import schemes
    from geneticlog.rules.species import SPECIES, species_key
    from geneticlog.work.catalogue.lake_plans import newest_plan, plan_in_force, scheme_of, set_scheme
    from geneticlog.work.events import find_lake

    asked = sum((inch_groups is not None, two_groups is not None, published))
    if asked > 1:
        raise click.UsageError("give one of --inch-groups, --two-groups and --published")
    if inch_groups is None and (step is not None or adult_from is not None):
        raise click.UsageError("--step and --adult-from go with --inch-groups")
    if two_groups is None and unit is not None:
        raise click.UsageError("--unit goes with --two-groups")
    species = species_key(species)
    scheme = None
    if inch_groups:
        scheme = schemes.inch_groups(species, *inch_groups, 1.0 if step is None else step, adult_from)
    elif two_groups is not None:
        scheme = schemes.two_groups(species, two_groups, unit or "in")
    elif published:
        schemes.five_length(species)  # refuses a species that has none, before anything is stored
    with desk.writing() if asked else desk.reading() as session:
        entered = find_lake(session, code)
        if asked:
            set_scheme(session, entered, species, scheme, stamp=desk.stamp())
        named = scheme_of(entered, species)
        newest = newest_plan(session, entered, species)
        outdated = newest.number if newest and plan_in_force(session, entered, species) is None else None
        lake_code = entered.code
    document = {
        "lake": lake_code,
        "species": species,
        "scheme": named.name,
        "size_classes": [
            {"size_class": name, "adult": name in named.adult}
            | {f"least_{unit}": limits[at] for unit, limits in named.least.items()}
            for at, name in enumerate(named.classes)
        ],
        "sampling_plan_outdated": outdated,
    }

    def say() -> None:
        say_wrapped(f"Lake {lake_code}, {SPECIES[species].printed}: {named.name}.")
        labels = named.size_classes(unit or "in")
        for title, held in (("Young", named.young), ("Adult", named.adult)):
            shown = "; ".join(one.label for one in labels if one.name in held)
            say_wrapped(f"  {title}: {shown or 'none'}.", "    ")
        if outdated:
            say_wrapped(
                f"Sampling plan {outdated} was made for other classes and no longer applies; make a new one:"
                f" geneticlog plan {lake_code}"
            )

    desk.show(document, say)


lake.add_command(add_stocking, "stocked")
lake.add_command(remove_command("lake", "survey, plan, stocking or report"))
