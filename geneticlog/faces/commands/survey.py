"""``geneticlog survey``: one outing on one lake."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.options import ISO_DATE, ORDERS
from geneticlog.faces.app.removing import remove_command
from geneticlog.faces.app.waiting_findings import say_waiting
from geneticlog.rules.gear import GEARS

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.store.tables import Survey

SURVEY_COLUMNS = (
    *("code", "surveyed_on", "gear", "effort_minutes", "crew", "species", "length_unit", "weight_unit"),
    *("order_of_work", "permit", "permit_from", "permit_to", "protocol", "remarks", "opened_at", "opened_by"),
)


@click.group(
    cls=DeskGroup,
    old_names={"withdraw": "survey remove"},
    other_names={"add": "open"},
    elsewhere={"change": "correct survey", "correct": "correct survey"},
)
def survey() -> None:
    """Open, list, show and remove surveys."""


@survey.command("open", cls=ShowCommand)
@click.argument("lake")
@click.argument("surveyed_on", type=ISO_DATE)
@click.option("--code", help="A code of your own (default: LAKE-DATE).")
@click.option("--gear", default=GEARS[0], show_default=True, help="What the fish are caught with.")
@click.option("--species", default="largemouth_bass", show_default=True)
@click.option("--length-unit", type=click.Choice(["in", "mm", "cm"]), default="in", show_default=True)
@click.option("--weight-unit", type=click.Choice(["lb", "oz", "g", "kg"]), default="lb", show_default=True)
@click.option(
    "--order",
    "order_of_work",
    type=click.Choice(ORDERS),
    default="any",
    show_default=True,
    help="How the crew works: what is entered first, and what completes a fish.",
)
@click.option("--crew", help="Who is on the boat.")
@click.option("--effort-minutes", type=float, help="Minutes of current on, or of fishing.")
@click.option("--permit", help="The collecting permit's number.")
@click.option("--permit-from", type=ISO_DATE)
@click.option("--permit-to", type=ISO_DATE)
@click.option("--protocol", help="The crew's own words: swab seconds, handling.")
@click.option("--remarks")
@click.option("--again", is_flag=True, help="Allow a second survey of this lake on the same day.")
@click.option("--ahead", is_flag=True, help="Allow a date more than a year ahead.")
@click.pass_obj
def open_(desk: Desk, /, lake: str, surveyed_on: date, **details: Any) -> None:
    """Open a survey on a lake; its fish are judged by the classes in force now."""
    from geneticlog.rules.sentences import targets_said
    from geneticlog.work.catalogue.lake_plans import targets_of
    from geneticlog.work.catalogue.surveys import Asked, open_survey
    from geneticlog.work.events import find_lake

    with desk.writing() as session:
        where = find_lake(session, lake)
        asked = Asked(**{field.name: details.pop(field.name) for field in fields(Asked)})
        opened = open_survey(session, where, surveyed_on, asked, stamp=desk.stamp(), **details)
        scheme = opened.survey.scheme
        sentences = [f"Survey {opened.survey.code} on {where.name}, {surveyed_on}, by {opened.survey.gear}."]
        sentences.append(
            "Size classes: "
            + ", ".join(c.label for c in scheme.size_classes(opened.survey.length_unit))
            + "."
        )
        plan = opened.survey.sampling_plan
        if plan:
            sentences.append(f"Targets from sampling plan {plan.number}: {targets_said(targets_of(plan))}.")
        else:
            sentences.append(f"No sampling plan yet; make one with: geneticlog plan {where.code}")
        document = {
            "survey": opened.survey.code,
            "lake": where.code,
            "surveyed_on": surveyed_on,
            "gear": opened.survey.gear,
            "species": opened.survey.species,
            "scheme": scheme.name,
            "classes": scheme.classes,
            "sampling_plan": plan.number if plan else None,
            "targets": targets_of(plan) if plan else None,
            "cautions": opened.cautions,
        }

    def say() -> None:
        for line in sentences:
            say_wrapped(line, "  ")

    desk.show(document, say)
    for caution in opened.cautions:
        desk.note(caution)


survey.add_command(remove_command("survey", "fish and no labels printed for it"))
survey.add_command(remove_command("survey", "fish and no labels printed for it"), "withdraw")


@survey.command("list", cls=ShowCommand)
@click.option("--lake", help="Only the surveys of this lake.")
@click.pass_obj
def list_(desk: Desk, lake: str | None) -> None:
    """List surveys, newest first."""
    from geneticlog.work.catalogue.surveys import list_surveys

    with desk.reading() as session:
        lines = list_surveys(session, lake)

    def say() -> None:
        if not lines:
            click.echo("No survey is open yet: geneticlog survey open LAKE DATE")
            return
        say_table(
            ["survey", "lake", "on", "gear", "fish", "swabbed"],
            [[s.survey, s.lake, s.surveyed_on, s.gear, s.n_fish, s.n_swabbed] for s in lines],
            numbers=["fish", "swabbed"],
        )

    desk.show({"surveys": lines}, say)


@survey.command(cls=ShowCommand)
@click.argument("code")
@click.option("--fish", "with_fish", is_flag=True, help="List every fish too.")
@click.pass_obj
def show(desk: Desk, code: str, with_fish: bool) -> None:
    """Show one survey: when, where, how, and what was caught."""
    from geneticlog.rules.sentences import targets_said
    from geneticlog.work.catalogue.lake_plans import targets_of
    from geneticlog.work.changed_words import name_in_words, value_in_words
    from geneticlog.work.events import find_survey
    from geneticlog.work.finding.waiting import waiting_of

    with desk.reading() as session:
        entered = find_survey(session, code)
        known = {column: getattr(entered, column) for column in SURVEY_COLUMNS}
        known["lake"] = entered.lake.code
        waiting = waiting_of(session, [entered.id])
        scheme = entered.scheme
        plan = entered.sampling_plan.number if entered.sampling_plan else None
        targets = targets_of(entered.sampling_plan) if entered.sampling_plan else None
        fish = _fish_of(session, entered)
    document = {
        "survey": known.pop("code"),
        **known,
        "scheme": scheme.name,
        "sampling_plan": plan,
        "targets": targets,
        "n_fish": sum(row["n_fish"] for row in fish),
        "n_swabbed": sum(1 for row in fish if row["vials"]),
        "findings_open": waiting,
    }
    if with_fish:
        document["fish"] = fish

    def say() -> None:
        click.echo(f"{document['survey']}: {document['n_fish']} fish, {document['n_swabbed']} with a vial")
        for key, value in known.items():
            if value is not None:
                click.echo(f"  {name_in_words(key)}: {value_in_words(key, value)}")
        click.echo(f"  size classes: {scheme.name}")
        if targets is not None:
            say_wrapped(f"  targets from sampling plan {plan}: {targets_said(targets)}", "    ")
        if with_fish:
            _say_fish(fish)
        say_waiting(waiting)

    desk.show(document, say)


def _fish_of(session: Session, survey: Survey) -> list[dict[str, Any]]:
    """Return every row of a survey's log, in the order of the numbers."""
    from sqlalchemy import select
    from sqlalchemy.orm import selectinload

    from geneticlog.store.tables import Fish

    rows = session.scalars(
        select(Fish)
        .where(Fish.survey_id == survey.id)
        .order_by(Fish.number)
        .options(selectinload(Fish.vials))
    )
    names = ("n_fish", "length", "length_unit", "weight", "weight_unit", "size_class")
    return [
        {
            "fish": row.number,
            **{name: getattr(row, name) for name in names},
            "vials": [vial.code for vial in row.vials],
            "remarks": row.remarks,
        }
        for row in rows
    ]


def _say_fish(fish: list[dict[str, Any]]) -> None:
    from geneticlog.rules.vialcode import printed

    say_table(
        ["fish", "how many", "length", "weight", "size class", "vials", "remarks"],
        [
            [
                row["fish"],
                row["n_fish"],
                None if row["length"] is None else f"{row['length']:g} {row['length_unit']}",
                None if row["weight"] is None else f"{row['weight']:g} {row['weight_unit']}",
                row["size_class"],
                ", ".join(printed(vial) for vial in row["vials"]),
                row["remarks"],
            ]
            for row in fish
        ],
        numbers=["fish", "how many", "length", "weight"],
    )
