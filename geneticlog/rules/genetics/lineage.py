"""Signs that a lake's fish are not what the panel was made for."""

from __future__ import annotations

from dataclasses import dataclass

from numpy.typing import ArrayLike

from geneticlog.rules.arguments import NumberFault, count, number, proportion, proportions, same_length

# Project rule: a mean q from .1 to .9, more than half the heterozygotes missing, and at least ten fish.
LEAST_P, MOST_P, LEAST_F, LEAST_FISH = 0.1, 0.9, 0.5, 10
# Single fish below the first or above the second are near pure: at least a tenth of each and most of all fish
# there speak for a fresh mixture of pure parents.
NEAR_PURE, LEAST_EACH, LEAST_BOTH = 0.2, 0.1, 0.6

POSSIBLE_LINEAGE = "possible third lineage, other species or failed assay"
POSSIBLE_MIXTURE = "possibly two kinds of fish beside each other that are not one interbreeding stock"
BIMODAL = "the fish fall into two near-pure groups, as a fresh mixture of pure parents does"
ALIKE = "the fish are nearly alike, as another lineage or a placeholder in the file is"
NEITHER = "the fish are neither in two groups nor alike"
WITHIN_IN_ORDER = (
    "single fish have the heterozygous loci that their own ancestry calls for, as in a lake that holds a parent kind "
    "beside crosses"
)


@dataclass(frozen=True, slots=True)
class LineageSign:
    """The heterozygote deficit of a lake's fish.

    f
        ``1 - mean(H) / [2 p (1-p)]``, p the mean q; None where p is 0 or 1 or there are no fish.
    flagged, sentence
        Whether the project rule is met, and what to say ("" if not).
    hint
        What single fish look like; "" if not flagged.
    f_within
        ``1 - sum(H) / sum[2 q (1-q)]``, each fish held against its own q; None where that sum is 0. Fish of different
        ancestry side by side leave it at or below 0, whatever their families: a gamete of q1 and one of q2 give
        ``H = q1 + q2 - 2 q1 q2 >= 2 q (1-q)``. Only a fish whose own loci lack heterozygotes raises it.
    variance, marker_variance
        Variance of q over fish, and what the sampling of markers alone would give; None below two fish or
        without the loci. Below it, loci are fixed by lineage instead of segregating: the second sign.
    """

    f: float | None
    flagged: bool
    sentence: str
    hint: str
    variance: float | None
    marker_variance: float | None
    f_within: float | None = None

    @property
    def third_lineage(self) -> bool:
        """Whether the flag points to another lineage, species or a failed assay, and not of two kinds side by side."""
        return self.flagged and self.hint not in (BIMODAL, WITHIN_IN_ORDER)

    @property
    def below_marker_variance(self) -> bool:
        """Whether q varies less over fish than markers alone would make it vary."""
        return (
            self.variance is not None
            and self.marker_variance is not None
            and self.variance < self.marker_variance
        )


def lineage_sign(q: ArrayLike, heterozygosity: ArrayLike, n_loci: int | None = None) -> LineageSign:
    """Return the heterozygote deficit of some fish and whether it points to a third lineage.

    q, heterozygosity
        (fish,) each, 0 to 1, of the fish that have both.
    n_loci
        Usual number of scored loci, for the second sign; None leaves it out.
    raises
        NumberFault for an empty list, values outside 0 to 1, or lists of different lengths.
    source
        Project rule on Wahlund's (1928) deficit, and on the bound of H within a fish (Fitzpatrick BM (2012) BMC
        Evolutionary Biology 12:131); thresholds checked on Silliman et al. (2021) Evolutionary
        Applications 14:2815-2830.
    """
    p_fish, h_fish = proportions(q, "q"), proportions(heterozygosity, "heterozygosity")
    same_length(p_fish, h_fish, "q and heterozygosity")
    low, high = int((p_fish <= NEAR_PURE).sum()), int((p_fish >= 1 - NEAR_PURE).sum())
    return lineage_sign_from_sums(
        len(p_fish), float(p_fish.sum()), float((p_fish**2).sum()), float(h_fish.sum()), low, high, n_loci
    )


def lineage_sign_from_sums(
    n: int,
    sum_q: float,
    sum_q2: float,
    sum_h: float,
    n_near_northern: int,
    n_near_florida: int,
    n_loci: int | None = None,
) -> LineageSign:
    """Return what `lineage_sign` returns from sums over the n fish that have q and H.

    n_near_northern, n_near_florida
        Fish with q up to .2 and from .8.
    raises
        NumberFault for a negative number of fish or means outside 0 to 1.
    """
    n = count(n, "fish")
    low, high = count(n_near_northern, "near northern"), count(n_near_florida, "near Florida")
    if low + high > n:
        raise NumberFault(f"near northern and near Florida: {low} and {high} are more than the {n} fish")
    sum_q, sum_q2 = number(sum_q, "sum of q"), number(sum_q2, "sum of q squared")
    sum_h, slack = number(sum_h, "sum of heterozygosity"), 1e-9 * (n + 1)
    if n and not sum_q**2 / n - slack <= sum_q2 <= sum_q + slack:
        raise NumberFault(f"sum of q squared: {sum_q2:g} does not fit {n} fish with a sum of q of {sum_q:g}")
    if not n:
        return LineageSign(None, False, "", "", None, None)
    p, h = proportion(sum_q / n, "mean q"), proportion(sum_h / n, "mean heterozygosity")
    variance = max(0.0, (sum_q2 - sum_q**2 / n) / (n - 1)) if n > 1 else None
    by_markers = None
    if n_loci is not None:  # the mean over fish of [4q(1-q) - H]/(4L)
        by_markers = max(0.0, 4 * (sum_q - sum_q2) / n - h) / (4 * count(n_loci, "loci", least=1))
    if p in (0.0, 1.0):
        return LineageSign(None, False, "", "", variance, by_markers)
    f = 1 - h / (2 * p * (1 - p))
    own = 2 * (sum_q - sum_q2)  # what the fish's own q call for, summed
    within = 1 - sum_h / own if own > slack else None
    flagged = LEAST_P <= p <= MOST_P and f > LEAST_F and n >= LEAST_FISH
    if not flagged:
        return LineageSign(f, False, "", "", variance, by_markers, within)
    if low / n >= LEAST_EACH and high / n >= LEAST_EACH and (low + high) / n >= LEAST_BOTH:
        hint = BIMODAL
    elif within is None or within <= LEAST_F:
        hint = WITHIN_IN_ORDER
    elif variance is not None and variance < (0.1**2 if by_markers is None else max(0.1**2, 2 * by_markers)):
        hint = ALIKE
    else:
        hint = NEITHER
    sentence = POSSIBLE_MIXTURE if hint in (BIMODAL, WITHIN_IN_ORDER) else POSSIBLE_LINEAGE
    return LineageSign(f, True, sentence, hint, variance, by_markers, within)
