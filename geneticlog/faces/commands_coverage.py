"""``geneticlog coverage``: which sizes have enough swabs, and which need more."""

from __future__ import annotations

import sys
from datetime import date
from typing import TYPE_CHECKING

import click

from geneticlog.faces.desk import Desk, ShowCommand, say_table
from geneticlog.faces.options import ISO_DATE

if TYPE_CHECKING:
    from geneticlog.work.coverage import ClassCoverage, Coverage

BAR = 30  # columns of the longest bar


@click.command(cls=ShowCommand)
@click.argument("survey", required=False)
@click.option(
    "--lake", metavar="LAKE", help="All surveys of a lake in a season together, instead of one survey."
)
@click.option("--since", type=ISO_DATE, help="With --lake: first day of the season (else 1 January).")
@click.option("--until", type=ISO_DATE, help="With --lake: last day of the season (else 31 December).")
@click.option("--species", default="largemouth_bass", show_default=True, help="With --lake.")
@click.pass_obj
def coverage(
    desk: Desk, survey: str | None, lake: str | None, since: date | None, until: date | None, species: str
) -> None:
    """Show fish caught, swabbed and typed in each size class against the target."""
    from geneticlog.work.coverage import of_lake, of_survey
    from geneticlog.work.record import find_lake, find_survey

    if (survey is None) == (lake is None):
        raise click.UsageError("name one survey, or a lake with --lake")
    with desk.reading() as session:
        if survey is not None:
            found = of_survey(session, find_survey(session, survey))
        else:
            year = (since or until or desk.now().date()).year
            season = (since or date(year, 1, 1), until or date(year, 12, 31))
            found = of_lake(session, find_lake(session, str(lake)), *season, species)
    key = "survey" if survey is not None else "lake"
    document = {
        key: found.named,
        "surveys": found.surveys,
        "scheme": found.scheme,
        "sampling_plan": found.plan,
    }
    desk.show({**document, "classes": found.classes, "n_unmeasured": found.n_unmeasured}, lambda: say(found))


def say(found: Coverage) -> None:
    """Write the coverage for a person: a table, bars, and what to do in words."""
    plan = f"sampling plan {found.plan}" if found.plan else "no sampling plan, so no targets"
    click.echo(f"Coverage of {found.named} ({found.scheme} classes, {plan})")
    if len(found.surveys) > 1:
        click.echo("  surveys: " + ", ".join(found.surveys))
    say_table(
        ["size class", "caught", "swabbed", "shipped", "typed", "failed", "target", "short by", "standing"],
        [
            [
                c.size_class,
                c.n_caught,
                c.n_swabbed,
                c.n_shipped,
                c.n_resulted,
                c.n_failed,
                c.target,
                c.short_by,
                c.standing,
            ]
            for c in found.classes
        ],
        numbers=["caught", "swabbed", "shipped", "typed", "failed", "target", "short by"],
    )
    for line in bars(found.classes):
        click.echo(line)
    for line in advice(found):
        click.echo(line)


def bars(classes: tuple[ClassCoverage, ...]) -> list[str]:
    """Return one bar a class: swabs that count, what is still wanted, and where the target is."""
    swab, wanted = ("█", "░") if _can_write("█░") else ("#", ".")
    most = max((max(c.n_swabbed - c.n_failed, c.target or 0) for c in classes), default=0)
    if most == 0:
        return []
    wide = max(len(c.size_class) for c in classes)
    step = min(1.0, BAR / most)
    lines = []
    for c in classes:
        covering = c.n_swabbed - c.n_failed
        bar = swab * round(covering * step)
        bar += wanted * (round((c.target or 0) * step) - len(bar))
        against = f"{covering} of {c.target}" if c.target is not None else f"{covering}"
        lines.append(f"  {c.size_class:<{wide}} {bar} {against}")
    return [*lines, f"  {'':<{wide}} {swab} swabbed and not failed  {wanted} still wanted"]


def advice(found: Coverage) -> list[str]:
    """Return what the numbers ask for, in words."""
    lines = []
    short, lacking = [], []
    for c in found.classes:
        if c.short_by:
            now = min(
                c.short_by, c.n_caught - c.n_swabbed
            )  # caught and not swabbed: in the live well, perhaps
            if now:
                short.append(f"{now} {c.size_class}")
            if c.short_by > now:
                lacking.append(f"{c.short_by - now} {c.size_class}")
    over = [c.size_class for c in found.classes if c.standing == "more than wanted"]
    failed = [f"{c.n_failed} {c.size_class}" for c in found.classes if c.n_failed]
    if short:
        lines.append("To swab of the fish caught: " + ", ".join(short) + ".")
    if lacking:
        lines.append("To be filled only by catching more: " + ", ".join(lacking) + ".")
    if over:
        lines.append("More than wanted already, no fish is swabbed for nothing: " + ", ".join(over) + ".")
    if failed:
        lines.append("Failed at the lab, so not covering: " + ", ".join(failed) + ".")
    if found.n_unmeasured:
        lines.append(f"{found.n_unmeasured} fish have no length, so no size class.")
    if found.plan is None:
        lines.append("No sampling plan is in force; make one with: geneticlog plan LAKE")
    return lines


def _can_write(text: str) -> bool:
    try:
        text.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
