"""The interval that a number of fish can be expected to give: the report's own interval, worked out beforehand."""

from __future__ import annotations

from functools import lru_cache

from geneticlog.rules.arguments import NumberFault, count, level_of, number, positive, proportion
from geneticlog.rules.sampling import MOST_FISH
from geneticlog.rules.statistics.estimates import Estimate
from geneticlog.rules.statistics.least_number import least_number
from geneticlog.rules.statistics.sums import Sums


def likely_sums(n_fish: int, mean: float, spread: float) -> Sums:
    """Return the sums of n fish with this mean q and this standard deviation of q, alleles unknown.

    Their lowest and highest q are taken two standard deviations from the mean, within 0 to 1. A spread that
    proportions of this mean cannot have is taken as the greatest they can.

    raises
        NumberFault for a mean outside 0 to 1, a negative spread, a number of fish that is not whole.
    """
    n, p = count(n_fish, "fish"), proportion(mean, "mean")
    spread = number(spread, "spread", least=0)
    most = n * p * (1 - p)  # (n - 1) s^2 where every fish is 0 or 1
    ends = max(0.0, p - 2 * spread), min(1.0, p + 2 * spread)
    return Sums(n, n * p, n * p**2 + min(max(0, n - 1) * spread**2, most), None, *ends)


def expected_interval(mean: float, spread: float, n_fish: int, level: float = 0.95) -> Estimate:
    """Return the guarded Korn-Graubard interval that n fish of this mean and spread give.

    It is the interval of the reports (`mean_from_sums`), so it stays within 0 to 1 and does not vanish where all fish
    are alike. For a spread of .25 around .5 it asks for 29 fish where ``t[n-1] s / sqrt(n)`` asks for 27; where the
    spread is small and the mean near 0 or 1 it asks for many times as many (19 against 2 at a mean of .0016, a spread
    of .0044 and a half-width of .05): so few fish can be alike by chance.

    mean, spread
        Mean and standard deviation of q over fish, 0 to 1.
    returns
        Estimate with its guard; no limits below two fish.
    raises
        NumberFault as `likely_sums`.
    """
    return _interval(likely_sums(n_fish, mean, spread), level_of(level))


@lru_cache(maxsize=2_000)  # a plan asks for the same numbers of fish class by class, and again for its words
def _interval(sums: Sums, level: float) -> Estimate:
    return sums.estimate(level)


def half_width(interval: Estimate | None) -> float | None:
    """Return half the distance between the limits, at most 0.5; None without limits."""
    return None if interval is None or interval.width is None else interval.width / 2


def fish_for_interval(mean: float, spread: float, half_width: float, level: float = 0.95) -> int:
    """Return the least number of fish, from two up, whose expected interval is no wider than twice half_width.

    raises
        NumberFault for a half-width that is not above 0, or one that asks for more than a million fish.
    """
    d = positive(half_width, "half-width")
    level_of(level)

    def narrow(n: int) -> bool:
        width = expected_interval(mean, spread, n, level).width
        return width is not None and width / 2 <= d

    n = least_number(narrow, start=2, most=MOST_FISH)
    if n is None:
        raise NumberFault(
            f"half-width {half_width:g} with a spread of {spread:g} asks for over a million fish"
        )
    return n
