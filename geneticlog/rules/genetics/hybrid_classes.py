"""The six classes of a first and second generation cross: how likely each makes a fish's genotype."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import bdtr, xlogy

from geneticlog.rules.arguments import Floats, NumberFault, array, count, number, proportion

NORTHERN, FLORIDA, F1, F2 = "northern", "Florida", "F1", "F2"
BACKCROSS_NORTHERN, BACKCROSS_FLORIDA = "backcross to northern", "backcross to Florida"

# Chance of 0, 1 and 2 Florida alleles at a diagnostic locus, class by class.
# Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131, as in the R package HIest 2.0.
CLASS_GENOTYPES: dict[str, tuple[float, float, float]] = {
    NORTHERN: (1.0, 0.0, 0.0),
    FLORIDA: (0.0, 0.0, 1.0),
    F1: (0.0, 1.0, 0.0),
    F2: (0.25, 0.5, 0.25),
    BACKCROSS_NORTHERN: (0.5, 0.5, 0.0),
    BACKCROSS_FLORIDA: (0.0, 0.5, 0.5),
}
# Chance that a lab misreads one allele. Genotyping error from swabs was 0.42 % in Le Vin AL, Adam A, Tedder A,
# Arnold KE, Mable BK (2011) Molecular Ecology Resources 11:107-109 (abstract); rounded up.
MISCALL_RATE = 0.005

LEAST_MARGIN = 2.0  # log units to the second best class
NOT_RESOLVED = "generation not resolved"


def class_names(taxon: str = FLORIDA, other_taxon: str = NORTHERN) -> tuple[str, ...]:
    """Return the six classes in the order of CLASS_GENOTYPES, in the words of a panel's two taxa.

    taxon
        the one whose alleles are counted.
    raises
        NumberFault where both taxa have one name, so that their classes could not be told apart.
    """
    if taxon.casefold() == other_taxon.casefold():
        raise NumberFault(f"a panel tells two taxa apart; both are {taxon!r}")
    return (other_taxon, taxon, F1, F2, f"backcross to {other_taxon}", f"backcross to {taxon}")


def miscalls(rate: float) -> Floats:
    """Return the (3, 3) chances of reading 0, 1, 2 Florida alleles (columns) where there are 0, 1, 2 (rows).

    rate
        Chance that an allele is read as the other, 0 to 1, each by itself.
    raises
        NumberFault for a rate outside 0 to 1.
    """
    e = proportion(rate, "miscall rate")
    return np.array(
        [
            [(1 - e) ** 2, 2 * e * (1 - e), e**2],
            [e * (1 - e), (1 - e) ** 2 + e**2, e * (1 - e)],
            [e**2, 2 * e * (1 - e), (1 - e) ** 2],
        ]
    )


def class_likelihoods(
    n0: int,
    n1: int,
    n2: int,
    miscall_rate: float = MISCALL_RATE,
    *,
    taxon: str = FLORIDA,
    other_taxon: str = NORTHERN,
) -> dict[str, float]:
    """Return the log-likelihood of a fish under each of the six classes.

    ``n0 ln P0 + n1 ln P1 + n2 ln P2`` without the constant, P from CLASS_GENOTYPES after miscalls.

    n0, n1, n2
        Loci at which the fish has 0, 1 and 2 Florida alleles; at least one locus in all.
    miscall_rate
        Chance that an allele is misread, 0 to 1; with 0 a class that cannot make the genotype is -infinity.
    taxon, other_taxon
        The panel's two taxa, in whose words the classes are named; the alleles counted are those of the first.
    raises
        NumberFault for a number of loci that is negative or not whole, none at all, or a rate outside 0 to 1.
    source
        Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131.
    """
    many = class_likelihoods_many([_loci(n0, n1, n2)], miscall_rate)[0]
    return {name: float(value) for name, value in zip(class_names(taxon, other_taxon), many, strict=True)}


def class_likelihoods_many(counts: ArrayLike, miscall_rate: float = MISCALL_RATE) -> Floats:
    """Return the (fish, 6) log-likelihoods in the order of CLASS_GENOTYPES, from (fish, 3) loci with 0, 1, 2.

    counts
        (fish, 3) loci with 0, 1 and 2 Florida alleles, from 0 up.
    raises
        NumberFault for another shape, a number below 0 or none, or a miscall rate outside 0 to 1.
    source
        As for `class_likelihoods`.
    """
    n = array(counts, "loci with 0, 1 and 2 Florida alleles")
    if n.ndim != 2 or n.shape[1] != 3:
        raise NumberFault(
            f"loci with 0, 1 and 2 Florida alleles: three numbers a fish are wanted, not {n.shape}"
        )
    wrong = ~((n >= 0) & np.isfinite(n))
    if wrong.any():
        fish, at = (int(found[0]) for found in np.nonzero(wrong))
        raise NumberFault(
            f"loci with {at} Florida alleles: fish {fish + 1} has {n[fish, at]:g}; a number from 0 up is wanted"
        )
    chances = np.array(list(CLASS_GENOTYPES.values())) @ miscalls(miscall_rate)
    return np.asarray(xlogy(n[:, None, :], chances[None, :, :]).sum(axis=2), dtype=np.float64)


def free_likelihood(n0: int, n1: int, n2: int, miscall_rate: float = 0.0) -> float:
    """Return the largest log-likelihood over every q and H, the yardstick of `accept_class`.

    Without miscalls that is at the shares seen. With them, shares that no fish can show (35 of 35 heterozygous
    loci where two in a hundred would be misread) are not on offer: the best of the possible ones is taken.
    Arguments and faults as for `class_likelihoods`.
    """
    n = np.array(_loci(n0, n1, n2), dtype=np.float64)
    misread = miscalls(miscall_rate)
    seen = n / n.sum()
    try:
        true_shares = np.linalg.solve(misread.T, seen)
    except np.linalg.LinAlgError:
        true_shares = np.array([-1.0, 0.0, 0.0])
    if (true_shares >= -1e-12).all():
        return float(xlogy(n, seen).sum())
    return max(_best_on_edge(n, misread[a], misread[b]) for a, b in ((0, 1), (1, 2), (0, 2)))


def _best_on_edge(n: Floats, a: Floats, b: Floats) -> float:
    """Largest log-likelihood over mixtures of two true genotypes: concave, so its slope is halved to 0."""
    low, high = 0.0, 1.0
    used = n > 0
    for _ in range(60):
        share = (low + high) / 2
        mixed = share * a[used] + (1 - share) * b[used]
        if (mixed <= 0).any():
            return -np.inf
        slope = float((n[used] * (a - b)[used] / mixed).sum())
        low, high = (share, high) if slope > 0 else (low, share)
    ends = [share * a + (1 - share) * b for share in (0.0, 1.0, (low + high) / 2)]
    return max(float(xlogy(n, mixed).sum()) for mixed in ends)


def _loci(n0: int, n1: int, n2: int) -> tuple[int, int, int]:
    counts = (
        count(n0, "loci with 0 Florida alleles"),
        count(n1, "loci with 1"),
        count(n2, "loci with 2"),
    )
    if not sum(counts):
        raise NumberFault("no locus is scored: there is no likelihood to give")
    return counts


@dataclass(frozen=True, slots=True)
class Accepted:
    """What the likelihoods allow to be said of one fish.

    name
        The accepted class, or "generation not resolved".
    best, second
        The two likeliest classes.
    margin
        Log units between them; infinity where the second cannot make the genotype.
    aic_difference
        AIC of the best class minus AIC of free q and H; negative favours the class.
    accepted
        Whether both conditions hold.
    likelihoods
        Class -> log-likelihood.
    """

    name: str
    best: str
    second: str
    margin: float
    aic_difference: float
    accepted: bool
    likelihoods: dict[str, float]


def accept_class(
    n0: int,
    n1: int,
    n2: int,
    miscall_rate: float = MISCALL_RATE,
    *,
    taxon: str = FLORIDA,
    other_taxon: str = NORTHERN,
) -> Accepted:
    """Return the class of a fish if the published rule accepts one.

    Accepted when the best class beats the second by at least 2 log units and is better by AIC than free q and H:
    ``(2 - 2 lnL_class) - (4 - 2 lnL_free) < 0``. Six classes mislead for wild hybrids of later generations, and
    the source asks for at least 50 informative markers: read an accepted class as "consistent with".

    Arguments and faults as for `class_likelihoods`.

    source
        Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131; R package HIest 2.0.
    """
    likelihoods = class_likelihoods(n0, n1, n2, miscall_rate, taxon=taxon, other_taxon=other_taxon)
    return accept_likelihoods(likelihoods, free_likelihood(n0, n1, n2, miscall_rate))


def accept_likelihoods(likelihoods: Mapping[str, float], free: float) -> Accepted:
    """Return the class that the published rule accepts, as described at `accept_class`, from likelihoods at hand.

    likelihoods
        Class -> log-likelihood, at least two; minus infinity where a class cannot make the genotype.
    free
        The largest log-likelihood over every q and H.
    raises
        NumberFault for fewer than two classes or a log-likelihood that is none.
    source
        Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131; R package HIest 2.0.
    """
    if not isinstance(likelihoods, Mapping) or len(likelihoods) < 2:
        raise NumberFault(f"likelihoods: {likelihoods!r} are not those of two classes and more")
    for name, value in likelihoods.items():
        if value != -np.inf:
            number(value, f"log-likelihood of {name}")
    free = number(free, "log-likelihood of free q and H")
    best, second = sorted(likelihoods, key=lambda name: -likelihoods[name])[:2]
    top, next_best = likelihoods[best], likelihoods[second]
    if top == -np.inf:
        return Accepted(NOT_RESOLVED, best, second, 0.0, np.inf, False, dict(likelihoods))
    aic = (2 - 2 * top) - (4 - 2 * free)
    accepted = top - next_best >= LEAST_MARGIN and aic < 0
    return Accepted(
        best if accepted else NOT_RESOLVED,
        best,
        second,
        float(top - next_best),
        float(aic),
        accepted,
        dict(likelihoods),
    )


def chance_of_heterozygous_loci(low: int, high: int, backcross: int, n_loci: int) -> float:
    """Return the chance that a k-th backcross to one parent is heterozygous at low to high of n_loci loci.

    Each independent diagnostic locus is heterozygous with chance 2^-k; k = 0 is an F1.

    raises
        NumberFault for numbers that are not whole, or high below low.
    source
        Binomial; for 50 markers as in Malde K et al. (2017) BMC Genomics 18:76, Table 4.
    """
    n = count(n_loci, "loci", least=1)
    h = 0.5 ** count(backcross, "backcross")
    low, high = count(low, "fewest heterozygous loci"), count(high, "most heterozygous loci")
    if high < low:
        raise NumberFault(f"heterozygous loci: from {low} to {high} is no range")
    up_to = 1.0 if high >= n else float(bdtr(high, n, h))
    return up_to - (float(bdtr(low - 1, n, h)) if low > 0 else 0.0)


def chance_of_passing_as_pure(backcross: int, n_loci: int, pure: float) -> float:
    """Return the chance that a k-th backcross to northern has q <= pure, as for the cut-off of a rule set.

    q = h / (2 L) with h heterozygous loci, so at most ``floor(2 L pure)`` of them. Linked loci make it larger.

    raises
        NumberFault for a cut-off outside 0 to 1 or numbers that are not whole.
    """
    n = count(n_loci, "loci", least=1)
    most = int(np.floor(2 * n * proportion(pure, "cut-off of pure") + 1e-9))
    return chance_of_heterozygous_loci(0, min(most, n), backcross, n)


def marker_variance(q: float, heterozygosity: float, n_loci: int) -> tuple[float, float]:
    """Return Var(q) and Var(H) of one fish from the sampling of independent diagnostic loci alone.

    ``[4q(1-q) - H]/(4L)`` and ``H(1-H)/L`` at the expected q and H; linkage makes the true ones larger.

    raises
        NumberFault for q or H outside 0 to 1, or fewer than one locus.
    """
    q, h = proportion(q, "q"), proportion(heterozygosity, "heterozygosity")
    loci = count(n_loci, "loci", least=1)
    return max(0.0, 4 * q * (1 - q) - h) / (4 * loci), h * (1 - h) / loci
