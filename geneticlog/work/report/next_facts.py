"""What a report says of the next survey: how many fish, of which sizes, and what they will show."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class NextTime:
    """How many fish of one size class bring its own mean to the wanted half-width, by the spread seen now.

    n_for_half_width: another number than n_wanted of the `PlannedSize`, which are the fish that the lake's mean needs.
    """

    size_class: str
    n_resulted: int
    half_width: float | None
    spread: float | None
    borrowed: bool
    n_for_half_width: int | None


@dataclass(frozen=True)
class PlannedSize:
    """Fish of one size class wanted next time; likely_catch: None without a survey; half_width: to expect then."""

    size_class: str
    n_wanted: int
    likely_catch: float | None
    half_width: float | None
    cost: float | None


@dataclass(frozen=True)
class NextPlan:
    """What the next survey would take; n_likely: of the fish wanted, those an average survey would catch.

    half_width: of the lake's mean that it aims at, None where nothing is known to plan with yet. alike_sites: what fish
    of one site being alike does to it, "" where they are not.
    """

    n_fish: int
    n_likely: int | None
    cost: float | None
    half_width: float | None
    classes: tuple[PlannedSize, ...]
    alike_sites: str = ""


@dataclass(frozen=True)
class FishToSee:
    """Fish of the next survey that would show the difference that matters, with a chance of .8, as the planner has it.

    young_adult: between young and adult fish; change: since the last survey. None where it is not open, or takes more
    than can be planned.
    """

    young_adult: int | None = None
    change: int | None = None


NOTHING_TO_SEE = FishToSee()
