"""How many fish, of which size classes: half-widths, chances of meeting a carrier, and shares of the swabs."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil, floor, log1p

import numpy as np
from scipy.special import gammaln

from geneticlog.rules.arguments import NumberFault, by_name, count, level_of, number, positive, proportion
from geneticlog.rules.intervals import t_quantile
from geneticlog.rules.statistics.estimates import NORMAL_95
from geneticlog.rules.statistics.least_number import least_number

EQUAL, PROPORTIONAL, LEAST_VARIANCE = "equal", "proportional", "least_variance"
ALLOCATIONS = {
    EQUAL: "the same number in every class, which shows a trend over sizes best",
    PROPORTIONAL: "as the classes are caught, which serves the mean of the lake",
    LEAST_VARIANCE: "by catch times spread, for the narrowest mean of the lake",
}
MOST_FISH = 1_000_000  # beyond this something is asked for that no lake can give
WIDEST_SPREAD = 0.5**0.5  # of two fish, one of each kind; more fish have less


def half_width_of(spread: float, n_fish: int, level: float = 0.95) -> float:
    """Return the half-width to expect of the mean of n fish, ``t[n-1] s / sqrt(n)``.

    spread
        Standard deviation of q over fish, from 0 up; 1 gives the half-width in standard deviations.
    n_fish
        At least 2.
    raises
        NumberFault for a negative spread, a level outside 0 to 1, or fewer than two fish.
    source
        Student (1908) Biometrika 6:1-25; Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 4.
    """
    n = count(n_fish, "fish", least=2)
    spread = number(spread, "spread", least=0)
    return float(t_quantile(np.array([n - 1.0]), level_of(level))[0] * spread / np.sqrt(n))


def fish_for_half_width(s: float, half_width: float, level: float = 0.95) -> int:
    """Return the least number of fish whose mean has this half-width, ``t[n-1] s / sqrt(n) <= half_width``.

    s
        Standard deviation of q over fish: about .06 in old intergrade lakes, .12 some years after stocking, up to
        .45 where pure fish of both kinds meet.
    half_width
        Wanted reach of the interval to each side, above 0.
    raises
        NumberFault for a spread that is not above 0 or above 0.71, a half-width that is not above 0, a level outside
        0 to 1, or more than a million fish.
    source
        Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 4, with t of n - 1 in place of the normal quantile.
    """
    s, d = positive(s, "spread"), positive(half_width, "half-width")
    if s > WIDEST_SPREAD + 1e-9:
        raise NumberFault(f"spread: {s:g} is more than q can vary, which is 0.71; is it a percentage?")
    level_of(level)
    n = least_number(lambda n: half_width_of(s, n, level) <= d, start=2, most=MOST_FISH)
    if n is None:
        raise NumberFault(f"half-width {half_width:g} with a spread of {s:g} asks for over a million fish")
    return n


def fish_for_share(
    share: float, half_width: float, quantile: float = NORMAL_95, population: int | None = None
) -> int:
    """Return the fish needed to know a share of fish to +/- half_width, ``n0 = t^2 p(1-p)/d^2``.

    population
        Fish in a closed water; then ``n = n0 / (1 + (n0 - 1)/N)``.
    raises
        NumberFault for a share outside 0 to 1 or numbers that are not above 0.
    source
        Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 4.
    """
    p = proportion(share, "share")
    n = positive(quantile, "quantile") ** 2 * p * (1 - p) / positive(half_width, "half-width") ** 2
    if population is not None:
        n = n / (1 + (n - 1) / count(population, "fish in the water", least=1))
    return max(1, ceil(n - 1e-9))


def chance_of_a_carrier(frequency: float, n_fish: int, population: int | None = None) -> float:
    """Return the chance that n fish include at least one of a kind, ``1 - (1 - frequency)^n``.

    frequency
        Share of the lake's fish that are of that kind (carriers: fish, not alleles), 0 to 1.
    population
        Fish in a closed water: then exact without replacement (hypergeometric), with frequency x population
        carriers rounded to whole fish.
    raises
        NumberFault for a frequency outside 0 to 1, fish in no whole number, or more of them than the water holds.
    source
        Binomial and hypergeometric; presumes fish met at random, which schools and stocking sites are not.
    """
    f, n = proportion(frequency, "frequency"), count(n_fish, "fish")
    if population is None:
        return float(1 - (1 - f) ** n)
    size = count(population, "fish in the water", least=1)
    if n > size:
        raise NumberFault(f"fish: {n} is more than the {size} in the water")
    others = size - round(f * size)
    if n > others:
        return 1.0
    return float(
        -np.expm1(gammaln(others + 1) - gammaln(others - n + 1) - gammaln(size + 1) + gammaln(size - n + 1))
    )


def chance_of_an_allele(frequency: float, n_fish: int, n_loci: int) -> float:
    """Return the chance that n fish typed at a number of loci show at least one Florida allele, ``1 - (1 - q)^(2nL)``.

    It presumes a random-mating swarm, in which every allele is met apart from the others. After recent stocking the
    Florida alleles sit in few fish and the true chance is far lower: then use `chance_of_a_carrier`.

    frequency
        Florida-allele frequency q of the water, 0 to 1.
    raises
        NumberFault for a frequency outside 0 to 1, a number of fish that is not whole, or fewer than one locus.
    source
        Binomial; the rule is common practice [from memory].
    """
    q, n, loci = proportion(frequency, "frequency"), count(n_fish, "fish"), count(n_loci, "loci", least=1)
    return float(1 - (1 - q) ** (2 * n * loci))


def fish_for_a_carrier(frequency: float, chance: float = 0.95) -> int:
    """Return the least number of fish that includes one of a kind with this chance, ``ln(1-P) / ln(1-f)``.

    frequency
        Share of the lake's fish that are of that kind, above 0 to 1.
    chance
        P, between 0 and 1.
    raises
        NumberFault for a frequency that is not above 0 to 1, a chance not between 0 and 1, or more than a million
        fish.
    source
        Binomial: `chance_of_a_carrier` solved for the fish.
    """
    f = positive(proportion(frequency, "frequency"), "frequency")
    level_of(chance)
    n = 1.0 if f == 1 else log1p(-chance) / log1p(-f)
    if n > MOST_FISH:
        raise NumberFault(f"frequency {f:g} with a chance of {chance:g} asks for over a million fish")
    return max(1, ceil(n - 1e-9))


def allocation_shares(
    n: float, catch: Mapping[str, float], spread: Mapping[str, float] | None, rule: str
) -> dict[str, float]:
    """Return n fish shared over the classes as fractions of fish, before `allocate` makes them whole.

    raises
        NumberFault as for `allocate`.
    source
        Neyman J (1934) for the least variance; Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 5.
    """
    n = number(n, "fish to allocate", least=0)
    if not by_name(catch, "catch"):
        raise NumberFault("allocation: there is no size class to share the fish over")
    if rule not in tuple(ALLOCATIONS):
        raise NumberFault(f"allocation: {rule!r} is not one of {', '.join(ALLOCATIONS)}")
    catch = {name: number(fish, f"catch of {name}", least=0) for name, fish in catch.items()}
    if rule == EQUAL:
        weights = dict.fromkeys(catch, 1.0)
    elif rule == PROPORTIONAL:
        weights = catch
    else:
        if spread is None or set(catch) - set(by_name(spread, "spread")):
            missing = next(iter(set(catch) - set(spread or {})))
            raise NumberFault(f"allocation by least variance: no spread is given for {missing!r}")
        weights = {
            name: fish * number(spread[name], f"spread of {name}", least=0) for name, fish in catch.items()
        }
    unknown = sorted(set(spread or {}) - set(catch))
    if unknown:
        raise NumberFault(f"allocation: a spread is given for {unknown[0]!r}, and no catch")
    total = sum(weights.values())
    if total <= 0:
        raise NumberFault("allocation: every class has a catch or a spread of 0, so nothing tells them apart")
    return {name: n * weight / total for name, weight in weights.items()}


def allocate(
    n: int,
    catch: Mapping[str, float],
    spread: Mapping[str, float] | None = None,
    *,
    rule: str | None = None,
    least: int | Mapping[str, int] = 0,
) -> dict[str, int]:
    """Return how many of n fish to swab in each size class, as whole fish that add up to n.

    n
        Fish in all.
    catch, spread
        Size class -> likely catch, and standard deviation of q within it.
    rule
        "equal", "proportional" or "least_variance" (catch times spread). Default: least variance with spreads,
        else proportional.
    least
        Fewest fish for every class, or for each class its own; what is left is shared by the rule.
    raises
        NumberFault for no class, a negative catch or spread, a missing spread or one of a class without a catch, or
        fewer fish than the least asks.
    source
        Neyman J (1934) Journal of the Royal Statistical Society 97:558-625 for the least variance; Cochran WG (1977)
        Sampling Techniques, 3rd ed., ch. 5. Largest remainders make the shares whole.
    """
    n = count(n, "fish to allocate")
    each = isinstance(least, Mapping)
    floor_of = {
        name: count(least.get(name, 0) if isinstance(least, Mapping) else least, "least fish for each class")
        for name in by_name(catch, "catch")
    }
    rule = rule or (LEAST_VARIANCE if spread is not None else PROPORTIONAL)
    shares = allocation_shares(n, catch, spread, rule)
    if sum(floor_of.values()) > n:
        asked = "the least of every class" if each else f"{least} in each of {len(shares)} classes"
        raise NumberFault(f"fish to allocate: {n} are too few for {asked}")
    # Classes whose share falls short get the least; the others share what remains, until none falls short.
    lifted: set[str] = set()
    while True:
        rest = {name: share for name, share in shares.items() if name not in lifted}
        left, total = n - sum(floor_of[name] for name in lifted), sum(rest.values())
        wanted = {name: left * share / total if total > 0 else 0.0 for name, share in rest.items()}
        short = {name for name, number in wanted.items() if number < floor_of[name]}
        if not short:
            break
        lifted |= short
    wanted |= {name: float(floor_of[name]) for name in lifted}
    whole = {name: floor(wanted[name] + 1e-9) for name in catch}
    by_remainder = sorted(catch, key=lambda name: (whole[name] - wanted[name], -shares[name]))
    for name in (by_remainder * 2)[: n - sum(whole.values())]:
        whole[name] += 1
    return whole
