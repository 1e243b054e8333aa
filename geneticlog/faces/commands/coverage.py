"""``geneticlog coverage``: which sizes have enough swabs, and which need more."""

from __future__ import annotations

import sys
from datetime import date
from typing import TYPE_CHECKING

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.faces.app.options import ISO_DATE
from geneticlog.faces.app.waiting_findings import say_waiting
from geneticlog.faces.boat.coverage_words import advice
from geneticlog.rules.boat.class_standing import ClassStanding

if TYPE_CHECKING:
    from geneticlog.work.boat.coverage import ClassCoverage, Coverage

BAR = 30  # columns of the longest bar
COUNTS = {  # heading -> count of a class
    "caught": "n_caught",
    "swabbed": "n_swabbed",
    "shipped": "n_shipped",
    "typed": "n_resulted",
    "failed": "n_failed",
    "target": "target",
    "short\nby": "short_by",
}


@click.command(cls=ShowCommand)
@click.argument("survey", required=False)
@click.option(
    "--lake", metavar="LAKE", help="All surveys of a lake in a season together, instead of one survey."
)
@click.option("--since", type=ISO_DATE, help="With --lake: first day of the season (default: 1 January).")
@click.option("--until", type=ISO_DATE, help="With --lake: last day of the season (default: 31 December).")
@click.option("--species", help="With --lake: which fish (default: largemouth bass).")
@click.pass_obj
def coverage(
    desk: Desk,
    survey: str | None,
    lake: str | None,
    since: date | None,
    until: date | None,
    species: str | None,
) -> None:
    """Show fish caught, swabbed and typed in each size class against the target."""
    from geneticlog.rules.species import species_key
    from geneticlog.work.boat.coverage import of_lake, of_survey
    from geneticlog.work.events import find_lake, find_survey
    from geneticlog.work.finding.waiting import waiting_of
    from geneticlog.work.lakes.progress import progress_of

    if (survey is None) == (lake is None):
        raise click.UsageError("name one survey, or a lake with --lake")
    if survey is not None and (since or until or species):
        raise click.UsageError("--since, --until and --species go with --lake; a survey has its own")
    if since and until and until < since:
        raise click.UsageError(f"a season from {since} to {until} ends before it begins")
    with desk.reading() as session:
        if survey is not None:
            outing = find_survey(session, survey)
            counted, progress = of_survey(session, outing), progress_of(session, outing)
        else:
            year = (since or until or desk.now().date()).year
            season = (since or date(year, 1, 1), until or date(year, 12, 31))
            progress = None
            counted = of_lake(
                session, find_lake(session, str(lake)), *season, species_key(species or "largemouth_bass")
            )
        waiting = waiting_of(session, [find_survey(session, code).id for code in counted.surveys])
    document = {
        "survey" if survey is not None else "lake": counted.named,
        "surveys": counted.surveys,
        "scheme": counted.scheme,
        "sampling_plan": counted.plan,
        "classes": counted.classes,
        "n_unmeasured": counted.n_unmeasured,
        "n_unmeasured_swabbed": counted.n_unmeasured_swabbed,
        "n_lost": counted.n_lost,
        "n_other_species": counted.n_other_species,
        "told_at": counted.told_at,
        "shipments_elsewhere": counted.shipments_elsewhere,
        "findings_open": waiting,
        "state": progress.state if progress else None,
        "state_words": progress.words if progress else None,
        "left_behind": progress.left_behind if progress else (),
    }

    def say_all() -> None:
        say(counted, progress.said if progress else None)
        say_waiting(waiting)

    desk.show(document, say_all)


def say(counted: Coverage, state: str | None) -> None:
    """Write the coverage for a person: a table, bars, and what to do in words."""
    plan = f"sampling plan {counted.plan}" if counted.plan else "no sampling plan, so no targets"
    say_wrapped(f"Coverage of {counted.named} (size classes: {counted.scheme}; {plan})")
    if len(counted.surveys) > 1:
        say_wrapped(f"  surveys: {', '.join(counted.surveys)}", "    ")
    failed = any(c.n_failed for c in counted.classes)
    counts = {heading: count for heading, count in COUNTS.items() if failed or heading != "failed"}
    say_table(
        ["size class", *counts, "standing"],
        [
            [c.size_class, *(getattr(c, count) for count in counts.values()), c.standing]
            for c in counted.classes
        ],
        numbers=list(counts),
        whole=["size class"],
        within=80,
    )
    for line in bars(counted.classes):
        click.echo(line)
    for line in advice(counted):
        say_wrapped(line, "  ")
    if state is not None:
        say_wrapped(f"Samples: {state}.", "  ")


def bars(classes: tuple[ClassCoverage, ...]) -> list[str]:
    """Return one bar a class: swabs that count, those still wanted, and those beyond the target."""
    swab, wanted, beyond = ("█", "░", "▒") if _can_write("█░▒") else ("#", ".", "+")
    most = max((max(c.n_covering, c.target or 0) for c in classes), default=0)
    if most == 0:
        return []
    wide = max(len(c.size_class) for c in classes)
    step = min(1.0, BAR / most)

    def long(n: int) -> int:
        return max(round(n * step), 1 if n else 0)

    lines = []
    for c in classes:
        target = c.n_covering if c.target is None else c.target
        bar = swab * long(min(c.n_covering, target))
        bar += (wanted if c.n_covering < target else beyond) * (long(max(c.n_covering, target)) - len(bar))
        against = f"{c.n_covering} of {c.target}" if c.target is not None else f"{c.n_covering}"
        lines.append(f"  {c.size_class:<{wide}} {bar} {against}")
    marks = [(swab, "swabbed, not failed")]
    if any(c.short_by for c in classes):
        marks.append((wanted, "still wanted"))
    if any(c.standing == ClassStanding.MORE_THAN_WANTED for c in classes):
        marks.append((beyond, "more than wanted"))
    return [*lines, f"  {'':<{wide}} " + "   ".join(f"{mark} {word}" for mark, word in marks)]


def _can_write(text: str) -> bool:
    try:
        text.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
