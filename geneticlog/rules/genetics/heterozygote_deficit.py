"""How sure is a heterozygote deficit: limits of F = 1 - mean(H) / [2p(1-p)], the fish as the sampling unit."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from geneticlog.rules.arguments import level_of, proportions, same_length
from geneticlog.rules.genetics.lineage import LEAST_FISH
from geneticlog.rules.intervals import t_quantile
from geneticlog.rules.statistics.estimates import Limits


def deficit_limits(q: ArrayLike, heterozygosity: ArrayLike, level: float = 0.95) -> Limits | None:
    """Return limits of the heterozygote deficit F, leaving out one fish at a time (jackknife) with Student's t.

    None below ten fish, where the flag is not raised either, and where a fish left out leaves mean q at
    0 or 1 or nothing varies.
    In invented lakes of 15 to 60 fish and 38 loci the 95 % limits held the truth .92 to .96 of the time in swarms and
    mixtures, .83 to .90 where one fish in three carries any. Kept within -1 and 1.

    q, heterozygosity
        (fish,) each, 0 to 1.
    raises
        NumberFault as for `lineage_sign`.
    source
        Efron B, Tibshirani R (1993) An Introduction to the Bootstrap, ch. 11.
    """
    p_fish, h_fish = proportions(q, "q"), proportions(heterozygosity, "heterozygosity")
    same_length(p_fish, h_fish, "q and heterozygosity")
    level_of(level)
    n = len(p_fish)
    if n < LEAST_FISH:
        return None
    p = np.append((p_fish.sum() - p_fish) / (n - 1), p_fish.mean())
    h = np.append((h_fish.sum() - h_fish) / (n - 1), h_fish.mean())
    below = 2 * p * (1 - p)
    if (below < 1e-9).any():
        return None
    f = 1 - h / below
    one_by_one = n * f[-1] - (n - 1) * f[:-1]
    if one_by_one.std() < 1e-9:  # placeholders all alike: nothing to tell a spread from
        return None
    reach = float(t_quantile(np.array([n - 1.0]), level)[0]) * float(one_by_one.std(ddof=1)) / n**0.5
    return Limits(max(-1.0, float(f[-1]) - reach), min(1.0, float(f[-1]) + reach))
