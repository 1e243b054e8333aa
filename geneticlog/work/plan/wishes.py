"""What is asked of a sampling plan, and how many fish in all that comes to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor, inf
from shlex import quote

from geneticlog.errors import Refused
from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.sampling import (
    ALLOCATIONS,
    EQUAL,
    LEAST_VARIANCE,
    PROPORTIONAL,
    allocate,
    fish_for_a_carrier,
    fish_for_half_width,
)
from geneticlog.rules.sentences import listed
from geneticlog.rules.statistics.least_number import least_number
from geneticlog.rules.statistics.planned_intervals import (
    expected_lake_interval,
    fish_for_interval,
    half_width,
)
from geneticlog.work.plan.evidence import Evidence, Spread

LEAST_A_CLASS, WANTED_A_CLASS = 5, 8  # no published number was found; half-width 1.24 and 0.84 spreads
MOST_PLANNED = 100_000  # fish in all; more is a slip of the keyboard


@dataclass(frozen=True)
class Wishes:
    """What is asked of a plan; None where the person has no wish.

    half_width: of the mean q of each class; lake_half_width: of the catch-weighted mean of the lake;
    budget with fee: most to spend, in one currency; carrier_frequency with chance: a kind of fish this frequent
    should be met; fish: a number in all, instead of working it out; wanted: fish a class (8 when nothing is asked);
    least: fewest of each class (5); allocation: how the fish are shared over the classes, as `how_many` decides;
    without: size classes that are left out.
    """

    half_width: float | None = None
    fish: int | None = None
    fee: float | None = None
    budget: float | None = None
    carrier_frequency: float | None = None
    chance: float = 0.95
    least: int | None = None
    wanted: int | None = None
    allocation: str | None = None
    lake_half_width: float | None = None
    without: tuple[str, ...] = ()

    @property
    def at_least(self) -> int:
        return LEAST_A_CLASS if self.least is None else self.least


@dataclass(frozen=True)
class Asked:
    """One wish and the fish in all that it takes; binds: it is the one that decides."""

    wish: str
    n_fish: int
    binds: bool = False


@dataclass(frozen=True)
class Size:
    """Fish in all, the wishes it comes from, how they are shared, the fewest of each class, and the sentences."""

    n_fish: int
    asked: tuple[Asked, ...]
    allocation: str
    least: dict[str, int]
    notes: tuple[str, ...]


def check(wishes: Wishes) -> None:
    """Raise Refused for a wish that cannot be."""
    if wishes.allocation is not None and wishes.allocation not in ALLOCATIONS:
        raise Refused(f"allocation {wishes.allocation!r} is not one of {', '.join(ALLOCATIONS)}")
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
    if wishes.at_least < 0:
        raise Refused(f"the least for each class cannot be {wishes.least}; it is 0 or more")
    if wishes.wanted is not None and wishes.wanted < 1:
        raise Refused(f"the fish wanted in each class cannot be {wishes.wanted}; they are 1 or more")
    if wishes.fish is not None and wishes.fish < 1:
        raise Refused(f"{wishes.fish} fish cannot be planned; ask for 1 or more")


def how_many(wishes: Wishes, held: Evidence) -> Size:
    """Return the fish in all: what the greatest wish takes, within the budget; a number given stands as it is.

    Where it is a kind of fish to be met that decides, and nobody asked for an allocation, the fish are shared by the
    likely catch: a fish that is not caught meets nothing. Else, and where something is asked of each class too, every
    class gets as many.

    raises
        Refused where the budget cannot pay for the least of every class, or a wish asks for more than can be.
    """
    k = len(held.spread)
    asked = _asked(wishes, held)
    to_meet = _to_meet(wishes)
    greatest = asked[0] if wishes.fish is not None else max(asked, key=lambda one: one.n_fish)
    of_each = wishes.half_width is not None or wishes.wanted is not None
    by_catch = wishes.allocation is None and greatest.wish == to_meet and not of_each
    allocation = wishes.allocation or (PROPORTIONAL if by_catch else EQUAL)
    least = _least_of_each(wishes, held, by_catch)
    said_least = _least(least, wishes)
    asked.append(Asked(said_least, max(1, sum(least.values()))))
    notes: list[str] = []
    most = asked[0] if wishes.fish is not None else max(asked, key=lambda one: one.n_fish)
    n, why = most.n_fish, most.wish
    if wishes.fish is not None and n < k * wishes.at_least:
        notes.append(f"{n} fish are too few for the least of {wishes.at_least} in each of {k} classes.")
    if n > MOST_PLANNED:
        raise Refused(f"{why} comes to {n:,} fish; no more than {MOST_PLANNED:,} can be planned")
    if wishes.budget is not None and wishes.fee:
        paid = floor(wishes.budget / wishes.fee + 1e-9)
        needed = max(1, min(n, sum(least.values())))
        if paid < needed:
            raise Refused(_too_dear(wishes, held, paid, needed, why if needed == n else said_least, least))
        only_budget = [one.wish for one in asked] == [_wanted(k, WANTED_A_CLASS), said_least]
        if paid < n:
            notes.append(f"Wished for: {n} fish; the budget pays for {paid}.")
        if paid < n or (only_budget and wishes.wanted is None):
            n, why = min(paid, MOST_PLANNED), f"what the budget of {wishes.budget:,.2f} pays for"
            asked.append(Asked(why, n))
    own = _own_needs(wishes, held)
    if own and sum(own.values()) <= n:
        least = own
        if as_they_come := [name for name, need in own.items() if not need]:
            notes.append(f"Never caught here so far, so taken as they come: {listed(as_they_come)}.")
    asked = [Asked(one.wish, one.n_fish, one.wish == why) for one in asked]
    others = [f"{one.wish} ({one.n_fish})" for one in asked if not (one.binds or one.wish == said_least)]
    notes.insert(0, f"{n} fish in all: {why}." + (f" Also asked: {'; '.join(others)}." if others else ""))
    if by_catch and held.surveyed_on:
        none = [name for name in held.never_caught if not least[name]]
        notes.append(
            "Shared as the classes are likely to be caught, for a fish that is not caught meets nothing;"
            " --allocation asks for another way."
            + (f" Never caught here so far, so none wanted: {listed(none)}." if none else "")
        )
    if wishes.half_width is not None:
        notes.append(_against_the_plain_formula(wishes.half_width, held))
    return Size(n, tuple(asked), allocation, least, tuple(notes))


def _own_needs(wishes: Wishes, held: Evidence) -> dict[str, int]:
    """Return the fish each class needs for the half-width wished; 0 for one never caught, unless a least is asked for.

    Empty where no half-width of the classes is wished, or another allocation is.
    """
    if wishes.half_width is None or wishes.allocation is not None:
        return {}
    never = held.never_caught if wishes.least is None and len(held.never_caught) < len(held.spread) else ()
    return {
        name: 0 if name in never else max(wishes.at_least, _fish_for(one, wishes.half_width))
        for name, one in held.spread.items()
    }


def _against_the_plain_formula(half_width: float, held: Evidence) -> str:
    plain = max(fish_for_half_width(one, half_width) for one in held.spreads.values())
    guarded = max(_fish_for(one, half_width) for one in held.spread.values())
    said = (
        f"The plain formula t s / sqrt(n) asks for {plain} fish of the class that needs most, the guarded interval of"
        f" the reports for {guarded}"
    )
    if guarded <= plain:
        return f"{said}."
    if 2 * plain > guarded:
        return f"{said}: a few fish may show less spread than the lake has."
    return (
        f"{said}: the fish so far are nearly alike, but a few fish can be alike by chance while others of the"
        f" lake are not, and {plain} could not tell."
    )


def _least_of_each(wishes: Wishes, held: Evidence, by_catch: bool) -> dict[str, int]:
    """Return the fewest fish of each class; shared by the catch and unasked, no more than one survey catches."""
    if not by_catch or wishes.least is not None or not held.surveyed_on:
        return dict.fromkeys(held.spread, wishes.at_least)
    return {name: min(wishes.at_least, floor(held.catch.get(name, 0.0))) for name in held.spread}


def _too_dear(
    wishes: Wishes, held: Evidence, paid: int, needed: int, wish: str, least: Mapping[str, int]
) -> str:
    budget, fee = wishes.budget or 0.0, wishes.fee or 0.0
    if paid == 0:
        return f"a budget of {budget:,.2f} does not pay for one fish at {fee:,.2f}; allow more"
    never = [name for name in held.never_caught if least[name] or wishes.carrier_frequency is None]
    left_out, why = "--without CLASS", f"; never caught here: {listed(never, 6)}" if never else ""
    if 0 < len(never) <= 3:
        left_out, why = " ".join(f"--without {quote(name)}" for name in never), ", never caught here"
    return (
        f"a budget of {budget:,.2f} pays for {paid} fish at {fee:,.2f} each, but {wish} takes {needed} fish"
        f" ({needed * fee:,.2f}); allow more, ask for fewer (--least), leave classes out"
        f" ({left_out}{why}) or use fewer classes (geneticlog lake classes)"
    )


def _asked(wishes: Wishes, held: Evidence) -> list[Asked]:
    """Return every wish with the fish it takes, a number given first."""
    k = len(held.spread)
    asked = []
    if wishes.fish is not None:
        asked.append(Asked("as asked with --fish", wishes.fish))
    if wishes.half_width is not None:
        need = [_fish_for(one, wishes.half_width) for one in held.spread.values()]
        said = f"a half-width of {wishes.half_width:g} in every class"
        own = _own_needs(wishes, held)
        if own:
            asked.append(Asked(f"{said}, each its own need", sum(own.values())))
        elif wishes.allocation == EQUAL:
            asked.append(Asked(said, k * max(need)))
        else:
            asked.append(Asked(f"as many as {said} takes, shared by the catch", sum(need)))
    if wishes.lake_half_width is not None:
        said = f"a half-width of {wishes.lake_half_width:g} for the mean of the lake"
        asked.append(Asked(said, _fish_for_the_lake(wishes.lake_half_width, wishes, held)))
    if wishes.carrier_frequency is not None:
        asked.append(
            Asked(_to_meet(wishes) or "", fish_for_a_carrier(wishes.carrier_frequency, wishes.chance))
        )
    if wishes.wanted is not None or not asked:
        wanted = wishes.wanted or WANTED_A_CLASS
        asked.append(Asked(_wanted(k, wanted), k * wanted))
    return asked


def _to_meet(wishes: Wishes) -> str | None:
    if wishes.carrier_frequency is None:
        return None
    return f"a {wishes.chance:.4g} chance to meet a kind that makes up {wishes.carrier_frequency:.4g}"


def _wanted(k: int, wanted: int) -> str:
    return f"{wanted} fish in each of {k} size classes"


def _least(least: Mapping[str, int], wishes: Wishes) -> str:
    if set(least.values()) == {wishes.at_least}:
        return f"the least of {wishes.at_least} in each of {len(least)} size classes"
    return f"the least of {wishes.at_least} in each size class, as far as it is caught"


def _fish_for(one: Spread, wished: float) -> int:
    try:
        return fish_for_interval(one.mean, one.spread, wished)
    except NumberFault as fault:
        raise Refused(f"{fault}; ask for a wider one, such as 0.05") from None


def targets_of(n_fish: int, held: Evidence, allocation: str, least: Mapping[str, int]) -> dict[str, int]:
    """Return n fish shared over the classes by an allocation, every class its least where they suffice."""
    most = n_fish // len(held.spread)
    return allocate(
        n_fish,
        held.weights,
        held.spreads if allocation == LEAST_VARIANCE else None,
        rule=allocation,
        least=least if sum(least.values()) <= n_fish else {name: min(n, most) for name, n in least.items()},
    )


def lake_half_width(swabs: Mapping[str, int], held: Evidence) -> float | None:
    """Return the half-width to expect of the catch-weighted mean of the lake; None where there will be none."""
    return half_width(expected_lake_interval(swabs, held.catch, held.means, held.spreads))


def _fish_for_the_lake(wished: float, wishes: Wishes, held: Evidence) -> int:
    gone = [name for name, fish in held.catch.items() if fish and name not in held.spread]
    if gone:
        raise Refused(
            f"the mean of the lake needs fish of every size class that is caught, and {listed(gone)} is left out;"
            " take --lake-half-width or --without away"
        )
    least = dict.fromkeys(held.spread, wishes.at_least)

    def narrow(n: int) -> bool:
        found = lake_half_width(targets_of(n, held, wishes.allocation or EQUAL, least), held)
        return found is not None and found <= wished

    n = least_number(narrow, start=len(held.spread) * max(1, wishes.at_least), most=MOST_PLANNED)
    if n is None:
        raise Refused(
            f"a half-width of {wished:g} for the mean of the lake asks for more than {MOST_PLANNED:,} fish;"
            " ask for a wider one"
        )
    return n
