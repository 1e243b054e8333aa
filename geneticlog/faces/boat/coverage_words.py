"""What a coverage asks for, in words: for the terminal and the pages alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from geneticlog.rules.boat.class_standing import ClassStanding
from geneticlog.rules.sentences import listed

if TYPE_CHECKING:
    from geneticlog.work.boat.coverage import Coverage


def advice(coverage: Coverage) -> list[str]:
    """Return what the numbers ask for, in words."""
    lines = []
    if sum(c.n_caught for c in coverage.classes) == 0:
        lines.append("No fish with a size class is logged yet.")
    lines += _wanted(coverage)
    lines += _enough(coverage)
    if coverage.told_at is not None:
        lines.append(
            f"Shipped, typed and failed: as reported by the shipping database on {coverage.told_at:%Y-%m-%d}."
        )
    elif coverage.shipments_elsewhere:
        lines.append(
            "This survey was carried in without its shipments and results; see the database that ships the vials."
        )
    lines += _outside(coverage)
    if coverage.plan is None:
        lines.append(
            "No targets: no sampling plan was in force when it was opened. "
            f"Make one with: geneticlog plan {coverage.lake}"
        )
    return lines


def _counted(counts: list[tuple[str, int]]) -> str:
    return listed(f"{name} ({n})" for name, n in counts) + "."


def _wanted(coverage: Coverage) -> list[str]:
    """The swabs that are missing: of fish in hand, of another outing, and of classes never caught."""
    at_the_lab = any(c.n_shipped for c in coverage.classes)  # the fish are back in the lake by now
    now, more, never = [], [], []
    for c in coverage.classes:
        short = c.short_by or 0
        at_hand = 0 if at_the_lab else min(short, c.n_caught - c.n_swabbed)
        now += [(c.size_class, at_hand)] if at_hand else []
        if c.n_caught == 0:
            never += [(c.size_class, short)] if short else []
        elif short > at_hand:
            more.append((c.size_class, short - at_hand))
    lines = ["To swab of the fish caught: " + _counted(now)] if now else []
    if more:
        start = "Still wanted, from another outing: " if at_the_lab else "Still wanted, not caught yet: "
        lines.append(start + _counted(more))
    if never and any(c.n_caught for c in coverage.classes):
        lines.append("No fish caught, so target not met: " + _counted(never))
    return lines


def _enough(coverage: Coverage) -> list[str]:
    """The classes with enough swabs or more, and those with swabs that do not cover."""
    full = [c.size_class for c in coverage.classes if c.standing == ClassStanding.FULL]
    over = [
        f"{c.size_class} ({c.n_covering}, wanted {c.target})"
        for c in coverage.classes
        if c.standing == ClassStanding.MORE_THAN_WANTED
    ]
    failed = [(c.size_class, c.n_failed) for c in coverage.classes if c.n_failed]
    lines = [f"Enough swabs: {listed(full)}."] if full else []
    if over:
        lines.append(f"More swabs than wanted: {listed(over)}; do not swab more than the target.")
    if failed:
        lines.append("Failed, rejected or gone on the way, so not covering: " + _counted(failed))
    return lines


def _outside(coverage: Coverage) -> list[str]:
    """The fish that are in no class of the table, or no longer swabbed."""
    lines = []
    if coverage.n_lost:
        vials = "its vial is" if coverage.n_lost == 1 else "their vials are"
        lines.append(f"No longer swabbed, because {vials} lost or broken: {coverage.n_lost} fish.")
    if coverage.n_unmeasured:
        swabbed = (
            f", {coverage.n_unmeasured_swabbed} of them swabbed" if coverage.n_unmeasured_swabbed else ""
        )
        lines.append(f"Without a length, so in no size class: {coverage.n_unmeasured} fish{swabbed}.")
    if coverage.n_other_species:
        lines.append(f"Of other species, so not counted here: {coverage.n_other_species} fish.")
    return lines
