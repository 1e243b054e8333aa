"""Heterozygosity of one survey's fish, its deficit, and the flag that another lineage or a mixture raises."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median_low

from geneticlog.rules.genetics.heterozygote_deficit import deficit_limits
from geneticlog.rules.genetics.lineage import LEAST_FISH, LEAST_P, MOST_P, lineage_sign
from geneticlog.rules.intervals import mean_from_sums
from geneticlog.rules.statistics.estimates import ONE_FISH
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.number_facts import Heterozygosity

TOO_FEW_TO_FLAG = f"under {LEAST_FISH} fish: no flag is raised"
TOO_NEAR_PURE = f"mean q outside {LEAST_P:g} to {MOST_P:g}: no flag is raised"


def heterozygosity_of(fish: Sequence[FishResult]) -> Heterozygosity:
    """Return mean heterozygosity, the deficit F with its limits and the flag, over the fish that have q and H."""
    both = [(one.q, one.heterozygosity, one.n_loci) for one in fish if one.heterozygosity is not None]
    if not both:
        return Heterozygosity()
    q, h = [q for q, _, _ in both], [h for _, h, _ in both]
    loci = [n for _, _, n in both if n]
    n = len(both)
    # A locus is one observation of H, two alleles of q: of fish at one locus each it is left open (wider limits).
    observed = sum(loci) if len(loci) == n and sum(loci) >= 2 * n else None
    mean = mean_from_sums(n, sum(h), sum(one * one for one in h), observed)
    sign = lineage_sign(q, h, median_low(loci) if loci else None)
    low, high = deficit_limits(q, h) or (None, None)
    if n < LEAST_FISH:
        guard = ONE_FISH if n == 1 else TOO_FEW_TO_FLAG
    else:
        guard = "" if LEAST_P <= sum(q) / n <= MOST_P else TOO_NEAR_PURE
    flag = "" if not sign.flagged else "third lineage" if sign.third_lineage else "mixture"
    return Heterozygosity(
        n, sum(h) / n, sign.f, low, high, guard, flag, sign.sentence, sign.hint, sign.variance, sign.marker_variance,
        sign.below_marker_variance, mean.low, mean.high, mean.guard,
    )  # fmt: skip
