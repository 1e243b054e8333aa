"""What is asked of a sampling plan, and how many fish in all that comes to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor, inf

from geneticlog.errors import Refused
from geneticlog.rules.checking import NumberFault
from geneticlog.rules.least_number import least_number
from geneticlog.rules.planned_intervals import expected_lake_interval, fish_for_interval, half_width
from geneticlog.rules.sampling import (
    ALLOCATIONS,
    EQUAL,
    LEAST_VARIANCE,
    allocate,
    fish_for_a_carrier,
    fish_for_half_width,
)
from geneticlog.work.plan_evidence import Evidence, Spread

LEAST_A_CLASS, WANTED_A_CLASS = 5, 8  # no published number was found; half-width 1.24 and 0.84 spreads
MOST_PLANNED = 100_000  # fish in all; more is a slip of the keyboard


@dataclass(frozen=True)
class Wishes:
    """What is asked of a plan; None where the person has no wish.

    half_width: of the mean q of each class; lake_half_width: of the catch-weighted mean of the lake;
    budget with fee: most to spend, in one currency; carrier_frequency with chance: a kind of fish this frequent
    should be met; fish: a number in all, instead of working it out; wanted: fish a class (8 when nothing is asked).
    """

    half_width: float | None = None
    fish: int | None = None
    fee: float | None = None
    budget: float | None = None
    carrier_frequency: float | None = None
    chance: float = 0.95
    least: int = LEAST_A_CLASS
    wanted: int | None = None
    allocation: str = EQUAL
    lake_half_width: float | None = None


@dataclass(frozen=True)
class Asked:
    """One wish and the fish in all that it takes; binds: it is the one that decides."""

    wish: str
    n_fish: int
    binds: bool = False


@dataclass(frozen=True)
class Size:
    """Fish in all, the wishes it comes from, and the sentences that say so."""

    n_fish: int
    asked: tuple[Asked, ...]
    notes: tuple[str, ...]


def check(wishes: Wishes) -> None:
    """Raise Refused for a wish that cannot be."""
    if wishes.allocation not in ALLOCATIONS:
        raise Refused(f"allocation {wishes.allocation!r} is not one of {', '.join(ALLOCATIONS)}")
    if wishes.fee is not None and not 0 <= wishes.fee < inf:
        raise Refused(f"a fee of {wishes.fee:g} cannot be planned with; it is 0 or above")
    if wishes.budget is not None and not 0 < wishes.budget < inf:
        raise Refused(f"a budget of {wishes.budget:g} cannot be planned with; it must be above 0")
    for what, value in (("half-width", wishes.half_width), ("lake half-width", wishes.lake_half_width)):
        if value is not None and not 0 < value < inf:
            raise Refused(f"a {what} of {value:g} cannot be planned with; it must be above 0, such as 0.10")
        if value is not None and value >= 0.5:
            raise Refused(f"a {what} of {value:g} says nothing of a proportion; ask for less than 0.5")
    if wishes.carrier_frequency is not None and not 0 < wishes.carrier_frequency <= 1:
        raise Refused(f"a frequency of {wishes.carrier_frequency:g} cannot be; above 0, at most 1")
    if not 0 < wishes.chance < 1:
        raise Refused(f"a chance of {wishes.chance:g} cannot be planned for; between 0 and 1, such as 0.95")
    if wishes.least < 0:
        raise Refused(f"the least for each class cannot be {wishes.least}; it is 0 or more")
    if wishes.wanted is not None and wishes.wanted < 1:
        raise Refused(f"the fish wanted in each class cannot be {wishes.wanted}; they are 1 or more")
    if wishes.fish is not None and wishes.fish < 1:
        raise Refused(f"{wishes.fish} fish cannot be planned; ask for 1 or more")


def how_many(wishes: Wishes, held: Evidence) -> Size:
    """Return the fish in all: what the greatest wish takes, within the budget; a number given stands as it is.

    raises
        Refused where the budget cannot pay for the least of every class, or a wish asks for more than can be.
    """
    k = len(held.spread)
    asked = _asked(wishes, held)
    notes: list[str] = []
    most = asked[0] if wishes.fish is not None else max(asked, key=lambda one: one.n_fish)
    n, why = most.n_fish, most.wish
    if wishes.fish is not None and n < k * wishes.least:
        notes.append(f"{n} fish are too few for the least of {wishes.least} in each of {k} classes.")
    if n > MOST_PLANNED:
        raise Refused(f"{why} comes to {n:,} fish; no more than {MOST_PLANNED:,} can be planned")
    if wishes.budget is not None and wishes.fee:
        paid = floor(wishes.budget / wishes.fee + 1e-9)
        needed = min(n, k * max(1, wishes.least))
        if paid < needed:
            raise Refused(
                f"a budget of {wishes.budget:,.2f} pays for {paid} fish at {wishes.fee:,.2f} each, but"
                f" {max(1, wishes.least)} in each of {k} classes are {needed} fish"
                f" ({needed * wishes.fee:,.2f}); allow more, ask for fewer (--least) or use fewer classes"
                " (geneticlog lake classes)"
            )
        only_budget = [one.wish for one in asked] == [_wanted(k, WANTED_A_CLASS), _least(k, wishes.least)]
        if paid < n:
            notes.append(f"Wished for: {n} fish; the budget pays for {paid}.")
        if paid < n or (only_budget and wishes.wanted is None):
            n, why = min(paid, MOST_PLANNED), f"what the budget of {wishes.budget:,.2f} pays for"
            asked.append(Asked(why, n))
    least = _least(k, wishes.least)
    asked = [Asked(one.wish, one.n_fish, one.wish == why) for one in asked]
    others = [f"{one.wish} ({one.n_fish})" for one in asked if not (one.binds or one.wish == least)]
    notes.insert(0, f"{n} fish in all: {why}." + (f" Also asked: {'; '.join(others)}." if others else ""))
    if wishes.half_width is not None:
        plain = max(fish_for_half_width(one, wishes.half_width) for one in held.spreads.values())
        notes.append(
            f"By the plain formula t s / sqrt(n), {plain} fish of the most varied class would do; the interval of"
            " the reports is guarded and a little wider."
        )
    return Size(n, tuple(asked), tuple(notes))


def _asked(wishes: Wishes, held: Evidence) -> list[Asked]:
    """Return every wish with the fish it takes, a number given first, the least of every class last."""
    k = len(held.spread)
    asked = []
    if wishes.fish is not None:
        asked.append(Asked("as asked with --fish", wishes.fish))
    if wishes.half_width is not None:
        need = [_fish_for(one, wishes.half_width) for one in held.spread.values()]
        said = f"a half-width of {wishes.half_width:g} in every class"
        if wishes.allocation == EQUAL:
            asked.append(Asked(said, k * max(need)))
        else:
            asked.append(Asked(f"as many as {said} takes, shared by the catch", sum(need)))
    if wishes.lake_half_width is not None:
        said = f"a half-width of {wishes.lake_half_width:g} for the mean of the lake"
        asked.append(Asked(said, _fish_for_the_lake(wishes.lake_half_width, wishes, held)))
    if wishes.carrier_frequency is not None:
        said = f"a {wishes.chance:.4g} chance to meet a kind that makes up {wishes.carrier_frequency:.4g}"
        asked.append(Asked(said, fish_for_a_carrier(wishes.carrier_frequency, wishes.chance)))
    if wishes.wanted is not None or not asked:
        wanted = wishes.wanted or WANTED_A_CLASS
        asked.append(Asked(_wanted(k, wanted), k * wanted))
    return [*asked, Asked(_least(k, wishes.least), max(1, k * wishes.least))]


def _wanted(k: int, wanted: int) -> str:
    return f"{wanted} fish in each of {k} size classes"


def _least(k: int, least: int) -> str:
    return f"the least of {least} in each of {k} size classes"


def _fish_for(one: Spread, wished: float) -> int:
    try:
        return fish_for_interval(one.mean, one.spread, wished)
    except NumberFault as fault:
        raise Refused(f"{fault}; ask for a wider one, such as 0.05") from None


def targets_of(n_fish: int, wishes: Wishes, held: Evidence) -> dict[str, int]:
    """Return n fish shared over the classes by the wished allocation, every class its least where they suffice."""
    return allocate(
        n_fish,
        held.weights,
        held.spreads if wishes.allocation == LEAST_VARIANCE else None,
        rule=wishes.allocation,
        least=min(wishes.least, n_fish // len(held.spread)),
    )


def lake_half_width(swabs: Mapping[str, int], held: Evidence) -> float | None:
    """Return the half-width to expect of the catch-weighted mean of the lake; None where there will be none."""
    return half_width(expected_lake_interval(swabs, held.catch, held.means, held.spreads))


def _fish_for_the_lake(wished: float, wishes: Wishes, held: Evidence) -> int:
    def narrow(n: int) -> bool:
        found = lake_half_width(targets_of(n, wishes, held), held)
        return found is not None and found <= wished

    n = least_number(narrow, start=len(held.spread) * max(1, wishes.least), most=MOST_PLANNED)
    if n is None:
        raise Refused(
            f"a half-width of {wished:g} for the mean of the lake asks for more than {MOST_PLANNED:,} fish;"
            " ask for a wider one"
        )
    return n
