"""What is asked of a sampling plan, and what answers it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from geneticlog.errors import Refused
from geneticlog.rules.sampling import ALLOCATIONS

LEAST_A_CLASS, WANTED_A_CLASS = 5, 8  # no published number was found; half-width 1.24 and 0.84 spreads
POWER = 0.8  # chance to see a change or a difference; common practice in planning, no source


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
        raise Refused(f"a budget of {wishes.budget:g} cannot be used for a plan; it must be above 0")
    widths = (("half-width", wishes.half_width), ("lake half-width", wishes.lake_half_width))
    seen = (("change", wishes.change), ("difference of young and adult", wishes.young_adult))
    for what, value in seen:
        if value is not None and not 0 < value < 1:
            raise Refused(
                f"a {what} of {value:g} cannot be used for a plan; it must be above 0 and below 1, such as 0.10"
            )
    if not 0 < wishes.power < 1:
        raise Refused(f"a power of {wishes.power:g} cannot be planned for; between 0 and 1, such as 0.8")
    for what, value in widths:
        if value is not None and not 0 < value < inf:
            raise Refused(
                f"a {what} of {value:g} cannot be used for a plan; it must be above 0, such as 0.10"
            )
        if value is not None and value >= 0.5:
            raise Refused(
                f"a {what} of {value:g} is too wide to say anything about a proportion; ask for less than 0.5"
            )
    if wishes.carrier_frequency is not None and not 0 < wishes.carrier_frequency <= 1:
        raise Refused(
            f"a frequency of {wishes.carrier_frequency:g} is not possible; it must be above 0 and at most 1"
        )
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
