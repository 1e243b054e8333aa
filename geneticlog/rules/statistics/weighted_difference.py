"""The difference of two groups of size classes, each weighted to its own catch, and the p that goes with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from geneticlog.rules.intervals import difference
from geneticlog.rules.statistics.change_p import p_of_difference
from geneticlog.rules.statistics.estimates import Estimate
from geneticlog.rules.statistics.sums import Sums
from geneticlog.rules.strata import CatchWeighted, catch_weighted_from_sums


@dataclass(frozen=True, slots=True)
class WeightedDifference:
    """First minus second, both weighted to their own catch.

    difference
        Estimate with MOVER limits; None for what is missing on either side.
    first, second
        The two catch-weighted means, with the share of their catch that they cover.
    p
        Two-sided; None without an interval.
    """

    difference: Estimate
    first: CatchWeighted
    second: CatchWeighted
    p: float | None


def weighted_difference(
    first: Mapping[str, Sums],
    first_caught: Mapping[str, int],
    second: Mapping[str, Sums],
    second_caught: Mapping[str, int],
    level: float = 0.95,
) -> WeightedDifference:
    """Return first minus second, with each group's mean weighted to what its own size classes make up of its catch.

    Swabs are spread over size classes to see each of them, so the swabbed fish of a group are not a sample of it.
    Fish cannot be shuffled between groups that share no size class; p is the level at which the interval reaches 0,
    so that p is below 0.05 exactly where the 95 % interval leaves 0 out.

    first, second
        Size class -> sums of the fish with a result.
    first_caught, second_caught
        Size class -> fish measured, swabbed or not.
    returns
        WeightedDifference; p from 1e-6 to 1.
    raises
        NumberFault as `catch_weighted_from_sums`.
    source
        Means: Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 12. Difference and p: Zou GY, Donner A (2008)
        Statistics in Medicine 27:1693-1702, and the inversion of that interval.
    """
    sides = ((first, first_caught), (second, second_caught))

    def at(level: float) -> tuple[Estimate, CatchWeighted, CatchWeighted]:
        one, two = (catch_weighted_from_sums(sums, caught, level) for sums, caught in sides)
        return difference(one, two), one, two

    found, one, two = at(level)
    usual = found if level == 0.95 else at(0.95)[0]
    return WeightedDifference(found, one, two, p_of_difference(usual, lambda level: at(level)[0]))
