"""The difference of two groups of size classes, each weighted to its own catch, and the p that goes with it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from scipy.special import ndtr, ndtri

from geneticlog.rules.estimates import Estimate
from geneticlog.rules.intervals import difference
from geneticlog.rules.strata import CatchWeighted, catch_weighted_from_sums
from geneticlog.rules.sums import Sums

LEAST_P = 1e-6  # no p is given below it
HALVINGS = 24


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

    def leaves_0_out(z: float) -> bool:
        found = at(1 - 2 * float(ndtr(-z)))[0]
        return found.low is not None and found.high is not None and (found.low > 0 or found.high < 0)

    found, one, two = at(level)
    p = None
    if found.low is not None and found.mean is not None:
        p = 1.0 if abs(found.mean) < 1e-12 else _p_where_0_is_reached(leaves_0_out)
    return WeightedDifference(found, one, two, p)


def _p_where_0_is_reached(leaves_0_out: Callable[[float], bool]) -> float:
    """Return the p whose interval just reaches 0, by halving in the normal quantile from that of 0.05 on."""
    usual, most = -float(ndtri(0.025)), -float(ndtri(LEAST_P / 2))
    below, above = (usual, most) if leaves_0_out(usual) else (0.0, usual)
    if above == most and leaves_0_out(most):
        return LEAST_P
    for _ in range(HALVINGS):
        middle = (below + above) / 2
        if leaves_0_out(middle):
            below = middle
        else:
            above = middle
    # Towards z = 0 the limits of few fish still lie apart from their mean: never out of 0 is a p of 1.
    return 1.0 if below == 0.0 else 2 * float(ndtr(-(below + above) / 2))
