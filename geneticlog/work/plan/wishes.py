"""What is asked of a sampling plan, and how many fish in all that comes to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor, inf
from shlex import quote

from geneticlog.errors import Refused
from geneticlog.rules.sampling import (
    ALLOCATIONS,
    EQUAL,
    LEAST_VARIANCE,
    PROPORTIONAL,
    allocate,
    fish_for_a_carrier,
    fish_for_half_width,
)
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.sentences import listed
from geneticlog.rules.statistics.estimates import unseen_share
from geneticlog.work.plan.evidence import Evidence
from geneticlog.work.plan.needs import (
    CHANCE,
    MOST_PLANNED,
    Need,
    Sharing,
    Targets,
    change_need,
    class_need,
    fish_for,
    lake_need,
    met_with,
    ways_to_share,
    young_adult_need,
)

LEAST_A_CLASS, WANTED_A_CLASS = 5, 8  # no published number was found; half-width 1.24 and 0.84 spreads
POWER = 0.8  # chance to see a change or a difference; common practice in planning, no source
ALL_TOGETHER = "all of these, each class the greatest of its needs"


@dataclass(frozen=True)
class Wishes:
    """What is asked of a plan; None where the person has no wish.

    half_width: of the mean q of each class; lake_half_width: of the catch-weighted mean of the lake;
    budget with fee: most to spend, in one currency; lab: code of the lab whose stored fee is taken without a fee, else
    see `fee_for`; carrier_frequency with chance: a kind of fish this frequent
    should be met; fish: a number in all, instead of working it out; wanted: fish a class (8 when nothing is asked);
    least: fewest of each class (5); allocation: how the fish are shared over the classes, as `how_many` decides;
    without: size classes that are left out; change: since the last survey, and young_adult: between young and adult
    fish, to be seen with the chance ``power``, as differences of q.
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
    change: float | None = None
    young_adult: float | None = None
    power: float = POWER
    lab: str | None = None

    @property
    def at_least(self) -> int:
        return LEAST_A_CLASS if self.least is None else self.least


@dataclass(frozen=True)
class Asked:
    """One wish and the fish in all that it takes; binds: it is the one that decides.

    n_likely: of these, fish that one outing is likely to bring; cost: of the lab. measure: what the wish is about,
    "half_width" or "chance"; reached: what these fish give of it, and reached_likely what one outing gives; all None
    where it is a number of fish alone. unknown: what will stay unknown; reached_of: what a half-width is of.
    """

    wish: str
    n_fish: int
    binds: bool = False
    n_likely: int | None = None
    cost: float | None = None
    measure: str | None = None
    reached: float | None = None
    reached_likely: float | None = None
    unknown: str = ""
    reached_of: str = ""


@dataclass(frozen=True)
class Size:
    """Fish in all, the wishes it comes from, how they are shared, the fewest of each class, and the sentences.

    own_need: each class gets what it needs itself, so that the allocation shares nothing.
    """

    n_fish: int
    asked: tuple[Asked, ...]
    allocation: str
    least: dict[str, int]
    notes: tuple[str, ...]
    own_need: bool = False


def check(wishes: Wishes) -> None:
    """Raise Refused for a wish that cannot be."""
    if wishes.allocation is not None and wishes.allocation not in ALLOCATIONS:
        raise Refused(f"allocation {wishes.allocation!r} is not one of {', '.join(ALLOCATIONS)}")
    if wishes.budget is not None and not 0 < wishes.budget < inf:
        raise Refused(f"a budget of {wishes.budget:g} cannot be planned with; it must be above 0")
    widths = (("half-width", wishes.half_width), ("lake half-width", wishes.lake_half_width))
    seen = (("change", wishes.change), ("difference of young and adult", wishes.young_adult))
    for what, value in seen:
        if value is not None and not 0 < value < 1:
            raise Refused(f"a {what} of {value:g} cannot be planned with; above 0 and below 1, such as 0.10")
    if not 0 < wishes.power < 1:
        raise Refused(f"a power of {wishes.power:g} cannot be planned for; between 0 and 1, such as 0.8")
    for what, value in widths:
        if value is not None and not 0 < value < inf:
            raise Refused(f"a {what} of {value:g} cannot be planned with; it must be above 0, such as 0.10")
        if value is not None and value >= 0.5:
            raise Refused(f"a {what} of {value:g} says nothing of a proportion; ask for less than 0.5")
    if wishes.carrier_frequency is not None and not 0 < wishes.carrier_frequency <= 1:
        raise Refused(f"a frequency of {wishes.carrier_frequency:g} cannot be; above 0, at most 1")
    if not 0 < wishes.chance < 1:
        raise Refused(f"a chance of {wishes.chance:g} cannot be planned for; between 0 and 1, such as 0.95")
    _check_numbers(wishes)


def _check_numbers(wishes: Wishes) -> None:
    if wishes.at_least < 0:
        raise Refused(f"the least for each class cannot be {wishes.least}; it is 0 or more")
    if wishes.wanted is not None and wishes.wanted < 1:
        raise Refused(f"the fish wanted in each class cannot be {wishes.wanted}; they are 1 or more")
    if wishes.fish is not None and wishes.fish < 1:
        raise Refused(f"{wishes.fish} fish cannot be planned; ask for 1 or more")


def how_many(wishes: Wishes, basis: Evidence, scheme: Scheme) -> Size:
    """Return the fish in all: what the greatest wish takes, within the budget; a number given stands as it is.

    Of several wishes that each need fish of their own classes, every class gets the greatest of its needs. Where it is
    a kind of fish to be met that decides, and nobody asked for an allocation, the fish are shared by the likely catch:
    a fish that is not caught meets nothing. Else, and where something is asked of each class too, every class gets as
    many.

    raises
        Refused where the budget cannot pay for the least of every class, or a wish asks for more than can be.
    """
    needs = _needs(wishes, basis, scheme)
    asked = _asked(wishes, basis, needs)
    of_wishes = bool(needs)
    if not of_wishes and _nothing_asked(wishes) and basis.never_caught:
        needs = [_eight_of_each_met(basis)]
        asked = [Asked(needs[0].wish, needs[0].n_fish)]
    own = _together(needs) if wishes.fish is None and wishes.allocation is None else {}
    if len(needs) > 1 and own and sum(own.values()) > max(one.n_fish for one in asked):
        asked.append(Asked(ALL_TOGETHER, sum(own.values())))
    greatest = asked[0] if wishes.fish is not None else max(asked, key=lambda one: one.n_fish)
    by_catch, allocation = _shared_how(wishes, greatest, needs)
    least = _least_of_each(wishes, basis, by_catch)
    said_least = _least(least, wishes)
    asked.append(Asked(said_least, max(1, sum(least.values()))))
    notes: list[str] = []
    binding = {need.wish for need in needs} | {ALL_TOGETHER}
    most = asked[0] if wishes.fish is not None else max(asked, key=lambda one: one.n_fish)
    if greatest.wish in binding and own and wishes.least is None:
        most = (
            greatest  # what each class needs is known: the least of classes hardly caught is not asked on top
        )
    n, why = most.n_fish, most.wish
    if wishes.fish is not None and n < len(basis.spread) * wishes.at_least:
        notes.append(
            f"{n} fish are too few for the least of {wishes.at_least} in each of {len(basis.spread)} classes."
        )
    if n > MOST_PLANNED:
        raise Refused(f"{why} comes to {n:,} fish; no more than {MOST_PLANNED:,} can be planned")
    few = {name: min(need, wishes.at_least) for name, need in own.items()} if own else least
    said_few = _least({name: need for name, need in few.items() if need}, wishes) if own else said_least
    n, why, of_budget = _within_budget(wishes, basis, asked, (n, why, said_few), few)
    notes += of_budget
    if own:
        least = own = _cut_to(n, own, wishes, stretch=not of_wishes)
        notes += _as_they_come(basis, own)
    asked = [_told(one, wishes, basis, needs, binds=one.wish == why) for one in asked]
    others = [f"{one.wish} ({one.n_fish})" for one in asked if not (one.binds or one.wish == said_least)]
    notes.insert(0, f"{n} fish in all: {why}." + (f" Also asked: {'; '.join(others)}." if others else ""))
    if by_catch and basis.surveyed_on:
        none = [name for name in basis.never_caught if not least[name]]
        notes.append(
            "Shared as the classes are likely to be caught, for a fish that is not caught meets nothing;"
            " --allocation asks for another way."
            + (f" Never caught here so far, so swab any that are caught: {listed(none)}." if none else "")
        )
    if wishes.half_width is not None:
        notes.append(_against_the_plain_formula(wishes.half_width, basis))
    return Size(n, tuple(asked), allocation, least, tuple(notes), bool(own) and n == sum(own.values()))


def _shows(wishes: Wishes) -> bool:
    wished = (wishes.half_width, wishes.lake_half_width, wishes.change, wishes.young_adult)
    return any(one is not None for one in wished)


def _nothing_asked(wishes: Wishes) -> bool:
    """Return whether neither fish nor anything that they should show are asked for; a budget only bounds."""
    asked = (wishes.fish, wishes.wanted, wishes.least, wishes.allocation, wishes.carrier_frequency)
    return all(one is None for one in asked)


def _eight_of_each_met(basis: Evidence) -> Need:
    """Return what is planned where nothing is asked: as many of each class; those never caught come as they come."""
    names = met_with(basis, None)
    targets = dict.fromkeys(basis.spread, 0) | dict.fromkeys(names, WANTED_A_CLASS)
    return Need(_wanted(len(names), WANTED_A_CLASS), targets, EQUAL, None, lambda _: None, "")


def _cut_to(n: int, own: dict[str, int], wishes: Wishes, *, stretch: bool) -> dict[str, int]:
    """Return the needs of the classes, cut alike where there are not fish enough, or stretched where asked."""
    if sum(own.values()) == n or (sum(own.values()) < n and not stretch):
        return own
    few = {name: min(need, wishes.at_least) for name, need in own.items()}
    return allocate(n, own, rule=PROPORTIONAL, least=few if sum(few.values()) <= n else 0)


def _needs(wishes: Wishes, basis: Evidence, scheme: Scheme) -> list[Need]:
    """Return what the wishes need that are worked out class by class."""
    sharing = Sharing(ways_to_share(wishes.allocation), wishes.least, wishes.at_least)
    needs = []
    if wishes.half_width is not None and wishes.allocation is None:
        needs.append(class_need(wishes.half_width, basis, sharing))
    if wishes.lake_half_width is not None:
        needs.append(lake_need(wishes.lake_half_width, basis, sharing))
    if wishes.change is not None:
        needs.append(change_need(wishes.change, wishes.power, basis, sharing))
    if wishes.young_adult is not None:
        needs.append(young_adult_need(wishes.young_adult, wishes.power, scheme, basis, sharing))
    return needs


def _together(needs: list[Need]) -> dict[str, int]:
    return {name: max(need.targets[name] for need in needs) for name in needs[0].targets} if needs else {}


def _shared_how(wishes: Wishes, greatest: Asked, needs: list[Need]) -> tuple[bool, str]:
    """Return whether the catch shares the fish because a kind is to be met, and the allocation."""
    of_each = wishes.half_width is not None or wishes.wanted is not None
    by_catch = wishes.allocation is None and greatest.wish == _to_meet(wishes) and not of_each
    own = next((need.allocation for need in needs if need.wish == greatest.wish), EQUAL)
    return by_catch, wishes.allocation or (PROPORTIONAL if by_catch else own)


def _within_budget(
    wishes: Wishes, basis: Evidence, asked: list[Asked], size: tuple[int, str, str], least: Mapping[str, int]
) -> tuple[int, str, list[str]]:
    """Return the fish that the budget pays for, what decides then, and the sentence; adds to what is asked."""
    n, why, said_least = size
    if wishes.budget is None or not wishes.fee:
        return n, why, []
    paid = floor(wishes.budget / wishes.fee + 1e-9)
    needed = max(1, min(n, sum(least.values())))
    if paid < needed:
        raise Refused(_too_dear(wishes, basis, paid, needed, why if needed == n else said_least, least))
    only_budget = _nothing_asked(wishes) and len(asked) == 2 and not _shows(wishes)
    notes = [f"Wished for: {n} fish; the budget pays for {paid}."] if paid < n else []
    if paid < n or (only_budget and wishes.wanted is None):
        n, why = min(paid, MOST_PLANNED), f"what the budget of ${wishes.budget:,.2f} pays for"
        asked.append(Asked(why, n))
    return n, why, notes


def _as_they_come(held: Evidence, own: Mapping[str, int]) -> list[str]:
    names = [name for name, need in own.items() if not need]
    never = [name for name in names if name in held.never_caught]
    others = [name for name in names if name not in never]
    said = [f"Never caught here so far, so swab any that are caught: {listed(never)}."] if never else []
    return said + ([f"Nothing is asked of {listed(others)}, so swab any that are caught."] if others else [])


def _told(wish: Asked, wishes: Wishes, basis: Evidence, needs: list[Need], *, binds: bool) -> Asked:
    """Return a wish with what it takes of one outing, its cost, what it gives and what stays unknown."""
    need = next((each for each in needs if each.wish == wish.wish and each.measure), None)
    cost = None if wishes.fee is None else wish.n_fish * wishes.fee
    if need is not None:
        n_likely = likely = None
        if basis.surveyed_on:
            few = likely_of(need.targets, basis)
            n_likely, likely = sum(few.values()), need.reach(few)
        return Asked(
            wish.wish,
            wish.n_fish,
            binds,
            n_likely,
            cost,
            need.measure,
            need.reach(need.targets),
            likely,
            need.unknown,
            need.of,
        )
    unknown = f"a kind of fish that makes up to {100 * unseen_share(wish.n_fish):.2g} % of the catch"
    if wish.wish == _to_meet(wishes) and wishes.carrier_frequency is not None:
        reached = 1 - (1 - wishes.carrier_frequency) ** wish.n_fish
        return Asked(wish.wish, wish.n_fish, binds, None, cost, CHANCE, reached, None, unknown)
    return Asked(wish.wish, wish.n_fish, binds, None, cost, unknown=unknown)


def likely_of(targets: Targets, held: Evidence) -> dict[str, int]:
    """Return the fish of each class that one outing is likely to bring of a target."""
    return {name: min(n, round(held.catch.get(name, 0.0))) for name, n in targets.items()}


def _against_the_plain_formula(half_width: float, held: Evidence) -> str:
    plain = max(fish_for_half_width(one, half_width) for one in held.spreads.values())
    guarded = max(fish_for(one, half_width) for one in held.spread.values())
    note = (
        f"The plain formula t s / sqrt(n) asks for {plain} fish of the class that needs most, the guarded interval of"
        f" the reports for {guarded}"
    )
    if guarded <= plain:
        return f"{note}."
    if 2 * plain > guarded:
        return f"{note}: a few fish may show less spread than the lake has."
    return (
        f"{note}: the fish so far are nearly alike, but a few fish can be alike by chance while others of the"
        f" lake are not, and {plain} could not tell."
    )


def _least_of_each(wishes: Wishes, basis: Evidence, by_catch: bool) -> dict[str, int]:
    """Return the fewest fish of each class; shared by the catch and unasked, no more than one survey catches."""
    if not by_catch or wishes.least is not None or not basis.surveyed_on:
        return dict.fromkeys(basis.spread, wishes.at_least)
    return {name: min(wishes.at_least, floor(basis.catch.get(name, 0.0))) for name in basis.spread}


def _too_dear(
    wishes: Wishes, basis: Evidence, paid: int, needed: int, wish: str, least: Mapping[str, int]
) -> str:
    budget, fee = wishes.budget or 0.0, wishes.fee or 0.0
    if paid == 0:
        return f"a budget of ${budget:,.2f} does not pay for one fish at ${fee:,.2f}; allow more"
    never = [name for name in basis.never_caught if least[name] or wishes.carrier_frequency is None]
    left_out, why = "--without CLASS", f"; never caught here: {listed(never, 6)}" if never else ""
    if 0 < len(never) <= 3:
        left_out, why = " ".join(f"--without {quote(name)}" for name in never), ", never caught here"
    return (
        f"a budget of ${budget:,.2f} pays for {paid} fish at ${fee:,.2f} each, but {wish} takes {needed} fish"
        f" (${needed * fee:,.2f}); allow more, ask for fewer (--least), leave classes out"
        f" ({left_out}{why}) or use fewer classes (geneticlog lake classes)"
    )


def _asked(wishes: Wishes, basis: Evidence, needs: list[Need]) -> list[Asked]:
    """Return every wish with the fish it takes, a number given first."""
    k = len(basis.spread)
    asked = []
    if wishes.fish is not None:
        asked.append(Asked("as asked with --fish", wishes.fish))
    if wishes.half_width is not None and wishes.allocation is not None:
        need = [fish_for(one, wishes.half_width) for one in basis.spread.values()]
        wish = f"a half-width of {wishes.half_width:g} in every class"
        if wishes.allocation == EQUAL:
            asked.append(Asked(wish, k * max(need)))
        else:
            asked.append(Asked(f"as many as {wish} takes, shared by the catch", sum(need)))
    asked += [Asked(one.wish, one.n_fish) for one in needs]
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


def shared_out(n_fish: int, basis: Evidence, allocation: str, least: Mapping[str, int]) -> dict[str, int]:
    """Return n fish shared over the classes by an allocation, every class its least where they suffice."""
    most = n_fish // len(basis.spread)
    return allocate(
        n_fish,
        basis.weights,
        basis.spreads if allocation == LEAST_VARIANCE else None,
        rule=allocation,
        least=least if sum(least.values()) <= n_fish else {name: min(n, most) for name, n in least.items()},
    )
