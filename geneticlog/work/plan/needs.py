"""What one wish needs of each size class, and what that many fish can be expected to show of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import floor

from geneticlog.errors import Refused
from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.plan.likely_fish import likely_fish
from geneticlog.rules.plan.likely_numbers import (
    chance_to_see_change,
    chance_to_see_young_and_adult,
    likely_half_width,
    shares_of,
)
from geneticlog.rules.sampling import EQUAL, LEAST_VARIANCE, PROPORTIONAL, allocate
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.sentences import listed
from geneticlog.rules.statistics.estimates import unseen_share
from geneticlog.rules.statistics.least_number import least_number
from geneticlog.rules.statistics.planned_intervals import expected_interval, fish_for_interval, half_width
from geneticlog.work.plan.evidence import FLOOR_SPREAD, LEAST_FOR_SPREAD, Evidence, Spread

HALF_WIDTH, CHANCE = "half_width", "chance"
MOST_PLANNED = 100_000  # fish in all; more is a slip of the keyboard
Targets = Mapping[str, int]


@dataclass(frozen=True)
class Need:
    """A wish in words, the fish of each class it takes, how they were shared, and what will stay unknown.

    measure: what it is about, a half-width or a chance, None for a number of fish; reach: what some fish of each class
    give of it, None where they give nothing; of: what a half-width is of, in words.
    """

    wish: str
    targets: dict[str, int]
    allocation: str
    measure: str | None
    reach: Callable[[Targets], float | None]
    unknown: str
    of: str = ""

    @property
    def n_fish(self) -> int:
        return sum(self.targets.values())


@dataclass(frozen=True)
class Sharing:
    """How fish are shared over the classes: the ways to try, the least asked of each class (None: as it is caught)."""

    ways: tuple[str, ...]
    least: int | None
    usual_least: int

    def least_of(self, basis: Evidence, names: tuple[str, ...]) -> dict[str, int]:
        """Return the fewest fish of some classes: those asked for, else no more than one outing brings, and one."""
        if self.least is not None:
            return dict.fromkeys(names, self.least)
        if not basis.surveyed_on:
            return dict.fromkeys(names, self.usual_least)
        return {name: max(1, min(self.usual_least, floor(basis.catch.get(name, 0.0)))) for name in names}


def met_with(basis: Evidence, least: int | None) -> tuple[str, ...]:
    """Return the classes to ask fish of: unless a least is asked, those never caught are left to come as they come."""
    never = basis.never_caught if least is None and len(basis.never_caught) < len(basis.spread) else ()
    return tuple(name for name in basis.spread if name not in never)


def class_need(wished: float, basis: Evidence, sharing: Sharing) -> Need:
    """Return what each class needs for a half-width of its own mean."""
    names = met_with(basis, sharing.least)
    least = sharing.usual_least if sharing.least is None else sharing.least
    targets = dict.fromkeys(basis.spread, 0) | {
        name: max(least, fish_for(basis.spread[name], wished)) for name in names
    }

    def widest(swabs: Targets) -> float | None:
        widths = [
            half_width(
                expected_interval(basis.spread[name].mean, basis.spread[name].spread, swabs.get(name, 0))
            )
            for name in names
        ]
        known = [one for one in widths if one is not None]
        return max(known) if len(known) == len(widths) else None

    few = min((n for n in targets.values() if n), default=0)
    return Need(
        f"a half-width of {wished:g} in every class, each its own need",
        targets,
        EQUAL,
        HALF_WIDTH,
        widest,
        f"a kind of fish that makes up to {_percent(unseen_share(few))} of the class with fewest fish",
        "in the class with the widest interval",
    )


def lake_need(wished: float, basis: Evidence, sharing: Sharing) -> Need:
    """Return the fish that the lake's mean needs, by the way to share them that takes fewest.

    raises
        Refused where a class that is caught is left out, or it would take more fish than can be planned.
    """
    gone = [name for name, fish in basis.catch.items() if fish and name not in basis.spread]
    if gone:
        raise Refused(
            f"the mean of the lake needs fish of every size class that is caught, and {listed(gone)} is left out;"
            " leave out --lake-half-width or --without"
        )
    names = met_with(basis, sharing.least)

    def reach(swabs: Targets) -> float | None:
        return lake_half_width(swabs, basis)

    targets, way = _fewest(
        names,
        {name: basis.weights[name] for name in names},
        basis,
        sharing,
        lambda swabs: (found := reach(swabs)) is not None and found <= wished,
        f"a half-width of {wished:g} for the mean of the lake",
        "ask for a wider one",
    )
    hidden = _percent(unseen_share(sum(targets.values())))
    return Need(
        f"a half-width of {wished:g} for the mean of the lake", targets, way, HALF_WIDTH, reach,
        f"in which sizes the ancestry is; a kind of fish that makes up to {hidden} of the catch",
        "for the mean of the lake",
    )  # fmt: skip


def change_need(wished: float, power: float, basis: Evidence, sharing: Sharing) -> Need:
    """Return the fish that let the next survey show a change of this size since the last, with this chance.

    raises
        Refused without an earlier survey that can be compared, or where no number of fish would show it: the last
        survey is as small as it is.
    """
    last = basis.last
    names = tuple(
        name for name in basis.spread if last is not None and last.q.get(name) and basis.catch.get(name)
    )
    if last is None or not names or sum(len(last.q[name]) - 1 for name in names) < 1:
        raise Refused(
            "a change is seen since an earlier survey, and no survey of this lake has fish enough with a result; take"
            " --change away"
        )
    shares = [
        shares_of({name: of[name] for name in names if of.get(name)}) for of in (last.caught, basis.catch)
    ]
    weights = {name: (shares[0].get(name, 0.0) + shares[1].get(name, 0.0)) / 2 for name in names}
    every = likely_fish([q for name in last.q for q in last.q[name]])
    earlier = {
        name: (
            len(last.q[name]),
            likely_fish(last.q[name]) if len(last.q[name]) >= LEAST_FOR_SPREAD else every,
        )
        for name in names
    }
    mean = sum(weights[name] * earlier[name][1].mean for name in names)
    signed = wished if mean + wished <= 1 else -wished

    def reach(swabs: Targets) -> float | None:
        some = {name: swabs.get(name, 0) for name in names if swabs.get(name, 0)}
        total = sum(weights[name] for name in some)
        if not some:
            return None
        of = {name: weights[name] / total for name in some}
        return chance_to_see_change({name: earlier[name] for name in some}, some, of, signed)

    wish = f"a {power:.4g} chance to see a change of {wished * 100:g} points since {last.code}"
    n_last = sum(n for n, _ in earlier.values())
    targets, way = _fewest(
        names, weights, basis, sharing, lambda swabs: (reach(swabs) or 0.0) >= power, wish,
        f"{last.code} has only {n_last} fish with a result in these sizes, which no later survey makes up for; ask for"
        " a greater change or a lower --power",
    )  # fmt: skip
    return Need(
        wish, targets, way, CHANCE, reach,
        f"a change of less than {wished * 100:g} points; whether it is of young or of adult fish alone. Tried as first "
        "crosses of some of the fish with a pure kind, which spreads them: a change of all fish alike takes fewer fish",
    )  # fmt: skip


def young_adult_need(wished: float, power: float, scheme: Scheme, basis: Evidence, sharing: Sharing) -> Need:
    """Return the fish that show a difference of young and adult fish of this size, with this chance; half are young.

    raises
        Refused where young or adult fish were never caught, or no number of fish that can be planned would do.
    """
    met = met_with(basis, None)
    sides = [
        tuple(name for name in met if name in of and basis.catch.get(name))
        for of in (scheme.young, scheme.adult)
    ]
    for side, whose in zip(sides, ("young", "adult"), strict=True):
        if not side:
            raise Refused(f"no {whose} fish are expected here, so young and adults cannot be compared")
    fish = tuple({name: basis.fish[name] for name in side} for side in sides)
    shares = [shares_of({name: basis.catch[name] for name in side}) for side in sides]
    means = [sum(w * basis.fish[name].mean for name, w in of.items()) for of in shares]
    signed = -wished if means[0] < means[1] and means[1] - wished >= 0 else wished

    def reach(swabs: Targets) -> float | None:
        some = tuple({name: one for name, one in side.items() if swabs.get(name, 0)} for side in fish)
        if not all(some):
            return None
        return chance_to_see_young_and_adult((some[0], some[1]), dict(swabs), basis.catch, signed)

    names = (*sides[0], *sides[1])
    weights = {name: w / 2 for of in shares for name, w in of.items()}
    wish = f"a {power:.4g} chance to see {wished * 100:g} points between young and adult fish"
    targets, way = _fewest(
        names,
        weights,
        basis,
        sharing,
        lambda swabs: (reach(swabs) or 0.0) >= power,
        wish,
        "ask for a greater one",
    )
    return Need(
        wish, targets, way, CHANCE, reach,
        f"a difference of less than {wished * 100:g} points; which class of the young or the adults it is in",
    )  # fmt: skip


def _fewest(
    names: tuple[str, ...],
    weights: Mapping[str, float],
    basis: Evidence,
    sharing: Sharing,
    does: Callable[[Targets], bool],
    wish: str,
    way_out: str,
) -> tuple[dict[str, int], str]:
    """Return the fewest fish that do, shared by one of the ways, and which; classes not named get none."""
    least = sharing.least_of(basis, names)
    spread = {name: max(FLOOR_SPREAD, basis.fish[name].spread) for name in names}
    best: tuple[dict[str, int], str] | None = None
    for way in sharing.ways:

        def shared(n: int, way: str = way) -> dict[str, int]:
            of_rule = spread if way == LEAST_VARIANCE else None
            return dict.fromkeys(basis.spread, 0) | allocate(n, weights, of_rule, rule=way, least=least)

        n = least_number(lambda n: does(shared(n)), start=max(1, sum(least.values())), most=MOST_PLANNED)
        if n is not None and (best is None or n < sum(best[0].values())):
            best = shared(n), way
    if best is None:
        raise Refused(f"{wish} asks for more than {MOST_PLANNED:,} fish; {way_out}")
    return best


def ways_to_share(allocation: str | None) -> tuple[str, ...]:
    """Return the ways of sharing fish that are tried: the one asked for, else those that serve a mean of the lake."""
    return (PROPORTIONAL, LEAST_VARIANCE) if allocation is None else (allocation,)


def lake_half_width(swabs: Targets, held: Evidence) -> float | None:
    """Return the half-width to expect of the catch-weighted mean of the lake; None where there will be none."""
    return likely_half_width(swabs, held.catch, held.fish, held.miscall_rate)


def fish_for(spread: Spread, wished: float) -> int:
    """Return the fish of a class for a half-width of its mean. Raises Refused for one that no survey could fill."""
    try:
        return fish_for_interval(spread.mean, spread.spread, wished)
    except NumberFault as fault:
        raise Refused(f"{fault}; ask for a wider one, such as 0.05") from None


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %" if share < 0.1 else f"{share * 100:.0f} %"
