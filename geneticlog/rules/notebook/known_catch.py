"""The mean of a water whose fish are counted: class totals known, one simple sample sorted afterwards, or one lot.

The usual case, in which the shares of the size classes come from the measured catch, is `catch_weighted_from_sums`.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from geneticlog.rules.arguments import Floats, NumberFault, count, level_of
from geneticlog.rules.intervals import GUARD_FISH, NO_VARIANCE, beta_limits
from geneticlog.rules.statistics.estimates import Estimate, guard_words
from geneticlog.rules.statistics.sums import Sums
from geneticlog.rules.strata import WATER, CatchWeighted, mean_over_classes


def known_totals(
    sums: Mapping[str, Sums],
    n_in_class: Mapping[str, int],
    level: float = 0.95,
    guard_fish: float = GUARD_FISH,
    *,
    finite: bool = True,
) -> CatchWeighted:
    """Return the mean allele proportion of a water whose size classes are counted, from the sums of each class.

    With W_h the share of class h in the N fish of the water: ``p = sum W_h p_h``,
    ``V = sum W_h^2 s_h^2 / n_h (1 - n_h / N_h)``, Satterthwaite degrees of freedom; limits, guard and what becomes of
    a class of one fish as described at `catch_weighted_from_sums`. Nothing is added for the weights: they are known.
    Where
    they come from the measured catch of a survey they are not, and that function is the one to use.

    A mean of 0 or 1, or fish all alike, takes its limits without the factor: fish that were not typed may differ.
    Where every fish of every class was typed the mean is known; low and high are that mean. Where few fish of one kind
    carry the spread of classes otherwise alike the limits can hold the mean less than nine times in ten
    (DEVELOPERS.md).

    sums
        Size class -> `Sums` of the fish with a result, drawn at random within the class.
    n_in_class
        Size class -> all fish of the class in the water, as after draining it, in a raceway or a stocked pond.
    finite
        False leaves the factor ``1 - n_h / N_h`` out: only the shares of the classes are known, not the fish.
    raises
        NumberFault for a class without its total, more results than fish, or sums that are none.
    source
        Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 5; the interval as `catch_weighted_from_sums`.
    """

    def coefficients(n: Floats, total: Floats) -> Floats:
        left = 1 - n / total if finite else 1.0
        return np.asarray((total / total.sum()) ** 2 / n * left, dtype=np.float64)

    return mean_over_classes(sums, n_in_class, coefficients, WATER, level, guard_fish)


def post_stratified(
    sums: Mapping[str, Sums],
    n_in_class: Mapping[str, int],
    level: float = 0.95,
    guard_fish: float = GUARD_FISH,
    *,
    finite: bool = True,
) -> CatchWeighted:
    """Return the mean of a simple random sample of fish that was sorted into size classes only afterwards.

    With W_h the known share of class h, n fish typed and f = n/N: ``p = sum W_h p_h`` and
    ``V = (1-f)/n sum W_h s_h^2 + (1/n^2) sum (1-W_h) s_h^2``. The second part is the price of not having chosen how
    many fish each class got; the formula is an approximation for classes of several fish each. Swabs that were
    chosen by class are no simple sample: then use `known_totals` or `catch_weighted_from_sums`.

    Arguments, results and faults as for `known_totals`; the factor there is ``1 - n/N`` here.

    source
        Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 5A.9; the interval as `catch_weighted_from_sums`.
    """

    def coefficients(n: Floats, total: Floats) -> Floats:
        typed, fish, share = n.sum(), total.sum(), total / total.sum()
        left = 1 - typed / fish if finite else 1.0
        chosen_by_chance = (1 - share) / typed**2 if left else 0.0
        return np.asarray(left / typed * share + chosen_by_chance, dtype=np.float64)

    return mean_over_classes(sums, n_in_class, coefficients, WATER, level, guard_fish)


def mean_in_closed_water(
    sums: Sums, n_in_water: int, level: float = 0.95, guard_fish: float = GUARD_FISH
) -> Estimate:
    """Return the mean allele proportion of n fish out of the N of a closed water, one lot without size classes.

    The standard error of `mean_from_sums` times ``sqrt(1 - n/N)``, so its effective number over ``1 - n/N``. A mean
    of 0 or 1, or fish all alike, takes its limits without the factor: fish that were not typed may differ. Where all
    were typed, low and high are the mean.

    sums
        `Sums` of the fish with a result.
    n_in_water
        All fish of the water, from a count. A lake that fish enter and leave, or of unknown number, has none.
    returns
        Estimate; one fish of several has a mean and no interval.
    raises
        NumberFault for more results than fish in the water, or sums that are none.
    source
        Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 2 [chapter from memory]; the interval as `mean_from_sums`.
    """
    if not isinstance(sums, Sums):
        raise NumberFault(f"sums: {sums!r} are not the sums of some fish")
    size = count(n_in_water, "fish in the water")
    if sums.n > size:
        raise NumberFault(f"fish in the water: {sums.n} have a result but {size} were counted")
    estimate = sums.estimate(level_of(level), guard_fish)
    mean, left = estimate.mean, 1 - sums.n / size if size else 1.0
    if mean is None:
        return estimate
    if not left:
        guard = guard_words(sums.n, None, None)
        return Estimate(mean, mean, mean, sums.n, guard=guard, level=estimate.level, se=0.0)
    if estimate.n_effective is None or estimate.se is None:
        return estimate
    n_eff, se = estimate.n_effective, estimate.se * left**0.5
    if NO_VARIANCE < mean < 1 - NO_VARIANCE and estimate.se > 0:
        n_eff /= left
    low, high = (
        float(limit[0]) for limit in beta_limits(np.array([mean]), np.array([n_eff]), estimate.level)
    )
    guard = guard_words(sums.n, low, high)
    return Estimate(mean, low, high, sums.n, n_eff, guard, estimate.level, se, estimate.df)
