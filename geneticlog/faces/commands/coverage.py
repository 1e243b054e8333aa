"""``geneticlog coverage``: which sizes have enough swabs, and which need more."""

from __future__ import annotations

import sys
from datetime import date
from typing import TYPE_CHECKING

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.faces.app.options import ISO_DATE

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
@click.option("--since", type=ISO_DATE, help="With --lake: first day of the season (else 1 January).")
@click.option("--until", type=ISO_DATE, help="With --lake: last day of the season (else 31 December).")
@click.option("--species", help="With --lake: which fish (else largemouth bass).")
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

    if (survey is None) == (lake is None):
        raise click.UsageError("name one survey, or a lake with --lake")
    if survey is not None and (since or until or species):
        raise click.UsageError("--since, --until and --species go with --lake; a survey has its own")
    if since and until and until < since:
        raise click.UsageError(f"a season from {since} to {until} ends before it begins")
    with desk.reading() as session:
        if survey is not None:
            found = of_survey(session, find_survey(session, survey))
        else:
            year = (since or until or desk.now().date()).year
            season = (since or date(year, 1, 1), until or date(year, 12, 31))
            found = of_lake(
                session, find_lake(session, str(lake)), *season, species_key(species or "largemouth_bass")
            )
    document = {
        "survey" if survey is not None else "lake": found.named,
        "surveys": found.surveys,
        "scheme": found.scheme,
        "sampling_plan": found.plan,
        "classes": found.classes,
        "n_unmeasured": found.n_unmeasured,
        "n_unmeasured_swabbed": found.n_unmeasured_swabbed,
        "n_lost": found.n_lost,
        "n_other_species": found.n_other_species,
        "told_at": found.told_at,
        "shipments_elsewhere": found.shipments_elsewhere,
    }
    desk.show(document, lambda: say(found))


def say(found: Coverage) -> None:
    """Write the coverage for a person: a table, bars, and what to do in words."""
    plan = f"sampling plan {found.plan}" if found.plan else "no sampling plan, so no targets"
    say_wrapped(f"Coverage of {found.named} (size classes: {found.scheme}; {plan})")
    if len(found.surveys) > 1:
        say_wrapped(f"  surveys: {', '.join(found.surveys)}", "    ")
    failed = any(c.n_failed for c in found.classes)
    counts = {heading: count for heading, count in COUNTS.items() if failed or heading != "failed"}
    say_table(
        ["size class", *counts, "standing"],
        [
            [c.size_class, *(getattr(c, count) for count in counts.values()), c.standing]
            for c in found.classes
        ],
        numbers=list(counts),
        whole=["size class"],
        within=80,
    )
    for line in bars(found.classes):
        click.echo(line)
    for line in advice(found):
        say_wrapped(line, "  ")


def bars(classes: tuple[ClassCoverage, ...]) -> list[str]:
    """Return one bar a class: swabs that count, those still wanted, and those beyond the target."""
    swab, wanted, beyond = ("█", "░", "▒") if _can_write("█░▒") else ("#", ".", "+")
    most = max((max(c.n_swabbed - c.n_failed, c.target or 0) for c in classes), default=0)
    if most == 0:
        return []
    wide = max(len(c.size_class) for c in classes)
    step = min(1.0, BAR / most)

    def long(n: int) -> int:
        return max(round(n * step), 1 if n else 0)

    lines = []
    for c in classes:
        covering = c.n_swabbed - c.n_failed
        target = covering if c.target is None else c.target
        bar = swab * long(min(covering, target))
        bar += (wanted if covering < target else beyond) * (long(max(covering, target)) - len(bar))
        against = f"{covering} of {c.target}" if c.target is not None else f"{covering}"
        lines.append(f"  {c.size_class:<{wide}} {bar} {against}")
    marks = [(swab, "swabbed, not failed")]
    if any(c.short_by for c in classes):
        marks.append((wanted, "still wanted"))
    if any(c.standing == "more than wanted" for c in classes):
        marks.append((beyond, "more than wanted"))
    return [*lines, f"  {'':<{wide}} " + "   ".join(f"{mark} {word}" for mark, word in marks)]


def advice(found: Coverage) -> list[str]:
    """Return what the numbers ask for, in words."""
    from geneticlog.rules.sentences import listed

    def told(counts: list[tuple[str, int]]) -> str:
        return listed(f"{name} ({n})" for name, n in counts) + "."

    at_the_lab = any(c.n_shipped for c in found.classes)  # the fish are back in the lake by now
    n_caught = sum(c.n_caught for c in found.classes)
    now, more, never, over = [], [], [], []
    for c in found.classes:
        short = c.short_by or 0
        at_hand = 0 if at_the_lab else min(short, c.n_caught - c.n_swabbed)
        now += [(c.size_class, at_hand)] if at_hand else []
        if c.n_caught == 0:
            never += [(c.size_class, short)] if short else []
        elif short > at_hand:
            more.append((c.size_class, short - at_hand))
        if c.standing == "more than wanted":
            over.append(f"{c.size_class} ({c.n_swabbed - c.n_failed}, wanted {c.target})")
    failed = [(c.size_class, c.n_failed) for c in found.classes if c.n_failed]
    lines = []
    if n_caught == 0:
        lines.append("No fish with a size class is logged yet.")
    if now:
        lines.append("To swab of the fish caught: " + told(now))
    if more:
        start = (
            "Still wanted, from another outing: " if at_the_lab else "To be filled only by catching more: "
        )
        lines.append(start + told(more))
    if never and n_caught:
        lines.append("Not to be filled, for none were caught: " + told(never))
    full = [c.size_class for c in found.classes if c.standing == "full"]
    if full:
        lines.append(f"Enough swabs: {listed(full)}.")
    if over:
        lines.append(f"More swabs than wanted: {listed(over)}; no fish is swabbed for nothing.")
    if failed:
        lines.append("Failed, rejected or gone on the way, so not covering: " + told(failed))
    if found.told_at is not None:
        lines.append(
            "Shipped, typed and failed are as the database that knows the shipments told them on"
            f" {found.told_at:%Y-%m-%d}; what came back since is known there."
        )
    elif found.shipments_elsewhere:
        lines.append(
            "The survey was carried in, and shipments and results do not travel with it: they are known where the"
            " vials are sent from."
        )
    if found.n_lost:
        vials = "its vial is" if found.n_lost == 1 else "their vials are"
        lines.append(f"Not swabbed any more, for {vials} lost or broken: {found.n_lost} fish.")
    if found.n_unmeasured:
        swabbed = f", {found.n_unmeasured_swabbed} of them swabbed" if found.n_unmeasured_swabbed else ""
        lines.append(f"Without a length, so in no size class: {found.n_unmeasured} fish{swabbed}.")
    if found.n_other_species:
        lines.append(f"Of other species, so not counted here: {found.n_other_species} fish.")
    if found.plan is None:
        lines.append(
            "No targets, for no sampling plan was in force when it was opened; surveys opened after"
            f" this have them: geneticlog plan {found.lake}"
        )
    return lines


def _can_write(text: str) -> bool:
    try:
        text.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
