"""How many fish in all the wishes of a sampling plan come to, and how they are shared."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import floor
from shlex import quote

from geneticlog.errors import Refused
from geneticlog.rules.sampling import (
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
from geneticlog.work.plan.wishes import WANTED_A_CLASS, Asked, Size, Wishes

ALL_TOGETHER = "all of these, each class the greatest of its needs"


def how_many(wishes: Wishes, basis: Evidence, scheme: Scheme) -> Size:
    """Return the fish in all: what the greatest wish takes, within the budget; a number given is taken as it is.

    Of several wishes that each need fish of their own classes, every class gets the greatest of its needs. Where it is
    a kind of fish to be met that decides, and nobody asked for an allocation, the fish are shared by the likely catch:
    a fish that is not caught meets nothing. Else, and where something is asked of each class too, every class gets as
    many.

    raises
        Refused where the budget cannot pay for the least of every class, or a wish asks for more than can be.
    """
    needs = _needs(wishes, basis, scheme)
    asked = _asked(wishes, basis, needs)
    stretch = not needs  # nothing is worked out class by class: what the budget leaves is shared too
    if not needs and _nothing_asked(wishes) and basis.never_caught:
        needs = [_eight_of_each_met(basis)]
        asked = [Asked(needs[0].wish, needs[0].n_fish)]
    own = _together(needs) if wishes.fish is None and wishes.allocation is None else {}
    if len(needs) > 1 and own and sum(own.values()) > max(one.n_fish for one in asked):
        asked.append(Asked(ALL_TOGETHER, sum(own.values())))
    greatest = _greatest(asked, wishes)
    by_catch, allocation = _shared_how(wishes, greatest, needs)
    least = _least_of_each(wishes, basis, by_catch)
    asked.append(Asked(_least(least, wishes), max(1, sum(least.values()))))
    # Where each class's own need is known, the least of classes hardly caught is not asked on top.
    by_need = own and wishes.least is None and greatest.wish in {need.wish for need in needs} | {ALL_TOGETHER}
    decides = greatest if by_need else _greatest(asked, wishes)
    if decides.n_fish > MOST_PLANNED:
        raise Refused(
            f"{decides.wish} comes to {decides.n_fish:,} fish; no more than {MOST_PLANNED:,} can be planned"
        )
    n, why, of_budget = _within_budget(wishes, basis, asked, decides, _fewest(own, least, wishes))
    notes = [*_too_few(decides.n_fish, wishes, basis), *of_budget]
    if own:
        own = _cut_to(n, own, wishes, stretch=stretch)
        notes += _as_they_come(basis, own)
    asked = [_told(one, wishes, basis, needs, binds=one.wish == why) for one in asked]
    notes = [_in_all(n, why, asked, _least(least, wishes)), *notes]
    least = own or least
    if by_catch and basis.surveyed_on:
        notes.append(_by_likely_catch([name for name in basis.never_caught if not least[name]]))
    if wishes.half_width is not None:
        notes.append(_against_the_plain_formula(wishes.half_width, basis))
    return Size(n, tuple(asked), allocation, least, tuple(notes), bool(own) and n == sum(own.values()))


def _greatest(asked: Sequence[Asked], wishes: Wishes) -> Asked:
    """Return the wish that decides: the number given, which is the first, or that which takes most fish."""
    return asked[0] if wishes.fish is not None else max(asked, key=lambda one: one.n_fish)


def _fewest(
    own: Mapping[str, int], least: Mapping[str, int], wishes: Wishes
) -> tuple[Mapping[str, int], str]:
    """Return the fewest fish of each class that a budget must pay for, and that in words."""
    if not own:
        return least, _least(least, wishes)
    few = {name: min(need, wishes.at_least) for name, need in own.items()}
    return few, _least({name: need for name, need in few.items() if need}, wishes)


def _too_few(n: int, wishes: Wishes, basis: Evidence) -> list[str]:
    k = len(basis.spread)
    if wishes.fish is None or n >= k * wishes.at_least:
        return []
    return [f"{n} fish are too few for the least of {wishes.at_least} in each of {k} classes."]


def _in_all(n: int, why: str, asked: Sequence[Asked], least: str) -> str:
    others = [f"{one.wish} ({one.n_fish})" for one in asked if not (one.binds or one.wish == least)]
    return f"{n} fish in all: {why}." + (f" Also asked: {'; '.join(others)}." if others else "")


def _by_likely_catch(never: Sequence[str]) -> str:
    return (
        "Shared as the classes are likely to be caught, for a fish that is not caught meets nothing;"
        " --allocation asks for another way."
        + (f" Never caught here so far, so swab any that are caught: {listed(never)}." if never else "")
    )


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
    wishes: Wishes, basis: Evidence, asked: list[Asked], decides: Asked, fewest: tuple[Mapping[str, int], str]
) -> tuple[int, str, list[str]]:
    """Return the fish that the budget pays for, what decides then, and the sentence; adds to what is asked."""
    n, why = decides.n_fish, decides.wish
    least, in_words = fewest
    if wishes.budget is None or not wishes.fee:
        return n, why, []
    paid = floor(wishes.budget / wishes.fee + 1e-9)
    needed = max(1, min(n, sum(least.values())))
    if paid < needed:
        raise Refused(_too_dear(wishes, basis, paid, needed, why if needed == n else in_words, least))
    only_budget = _nothing_asked(wishes) and len(asked) == 2 and not _shows(wishes)
    notes = [f"Wanted: {n} fish; the budget pays for {paid}."] if paid < n else []
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
