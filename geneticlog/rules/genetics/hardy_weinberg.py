"""One locus over many fish: does it keep Hardy-Weinberg proportions?

In a hybrid lake departure at all diagnostic loci is expected and describes the lake. A single locus out of step is
a matter for the lab.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln, ndtr

from geneticlog.rules.arguments import NumberFault, count, number


@dataclass(frozen=True, slots=True)
class HardyWeinberg:
    """Tests of one locus; where only one allele is seen there is nothing to test: f is None and every p is 1.

    n, p
        Fish, and the share of the first allele.
    chi2, p_chi2, chi2_corrected, p_chi2_corrected
        Chi-square on 1 df and with the continuity correction of 1/2.
    p_exact, p_mid, p_doubled
        Exact p: outcomes no likelier than the one seen; counting equals half; twice the smaller tail, at most 1.
    f, fis
        ``1 - AB / E(AB)``, and the same with Nei's unbiased expectation.
    """

    n: int
    p: float
    chi2: float
    p_chi2: float
    chi2_corrected: float
    p_chi2_corrected: float
    p_exact: float
    p_mid: float
    p_doubled: float
    f: float | None
    fis: float | None


def hardy_weinberg(n_aa: int, n_ab: int, n_bb: int) -> HardyWeinberg:
    """Return Hardy-Weinberg tests from genotype counts.

    ``E(AB) = 2 n p (1-p)``; exact ``P(h) = 2^h n! nA! nB! / (nAA! h! nBB! (2n)!)``.

    n_aa, n_ab, n_bb
        Fish with two, one and no copy of the first allele.
    raises
        NumberFault for a number that is negative or not whole, or no fish.
    source
        Wigginton JE, Cutler DJ, Abecasis GR (2005) American Journal of Human Genetics 76:887-893.
    """
    aa, ab, bb = (count(value, "fish of a genotype") for value in (n_aa, n_ab, n_bb))
    n = aa + ab + bb
    if n == 0:
        raise NumberFault("Hardy-Weinberg: no fish has a genotype")
    p = (2 * aa + ab) / (2 * n)
    if p in (0.0, 1.0):
        return HardyWeinberg(n, p, 0.0, 1.0, 0.0, 1.0, 1.0, 1.0, 1.0, None, None)
    expected = np.array([n * p * p, 2 * n * p * (1 - p), n * (1 - p) ** 2])
    off = np.abs(np.array([aa, ab, bb]) - expected)
    chi2 = float((off**2 / expected).sum())
    corrected = float((np.maximum(off - 0.5, 0) ** 2 / expected).sum())
    exact, mid, doubled = _exact(aa, ab, bb)
    nei = 2 * n / (2 * n - 1) * 2 * p * (1 - p)
    return HardyWeinberg(
        n, p, chi2, _upper(chi2), corrected, _upper(corrected), exact, mid, doubled,
        float(1 - ab / expected[1]), float(1 - ab / n / nei),
    )  # fmt: skip


def exact_p_at_fixation(n_aa: int, n_ab: int, n_bb: int, f: float) -> float:
    """Return the exact two-sided p of genotype counts where heterozygotes are expected to be short by a share f.

    Given the alleles seen, ``P(h) ~ theta**(h/2) / (nAA! h! nBB!)`` with theta = P_AB**2 / (P_AA P_BB) of genotypes
    at ``P_AB = 2 p (1-p) (1-f)``; at f = 0 this is the exact Hardy-Weinberg test. No f takes what is expected of a
    genotype below half a fish, so that one misread fish is no departure from a deficit of 1 or -1.

    n_aa, n_ab, n_bb
        Fish with two, one and no copy of the first allele.
    f
        From -1 (all fish heterozygous that can be) to 1 (none).
    raises
        NumberFault for a number that is negative or not whole, no fish, or f outside -1 to 1.
    source
        Rohlfs RV, Weir BS (2008) Genetics 180:1609-1616.
    """
    aa, ab, bb = (count(value, "fish of a genotype") for value in (n_aa, n_ab, n_bb))
    n = aa + ab + bb
    if n == 0:
        raise NumberFault("Hardy-Weinberg: no fish has a genotype")
    deficit = number(f, "deficit")
    if not -1 <= deficit <= 1:
        raise NumberFault(f"a deficit of {f!r} is outside -1 to 1")
    p = (2 * aa + ab) / (2 * n)
    if p in (0.0, 1.0):
        return 1.0
    both = p * (1 - p)
    least = 0.5 / n
    aa_share, ab_share, bb_share = (
        max(awaited, min(at_f_0, least))
        for awaited, at_f_0 in (
            (p * p + deficit * both, p * p),
            (2 * both * (1 - deficit), 2 * both),
            ((1 - p) ** 2 + deficit * both, (1 - p) ** 2),
        )
    )
    theta = ab_share**2 / (aa_share * bb_share)
    return _exact(aa, ab, bb, float(np.log(theta)) / 2)[0]


def _upper(chi2: float) -> float:
    """Upper tail of chi-square on 1 df."""
    return float(2 * ndtr(-(chi2**0.5)))


def _exact(
    aa: int, ab: int, bb: int, log_a_heterozygote: float = float(np.log(2))
) -> tuple[float, float, float]:
    n, rare = aa + ab + bb, min(2 * aa + ab, 2 * bb + ab)
    common = 2 * n - rare
    h = np.arange(rare % 2, rare + 1, 2)
    logs = (
        h * log_a_heterozygote - gammaln((rare - h) / 2 + 1) - gammaln(h + 1) - gammaln((common - h) / 2 + 1)
    )
    chances = np.exp(logs - logs.max())
    chances /= chances.sum()
    seen = float(chances[h == ab][0])
    level = chances <= seen * (1 + 1e-9)
    equal = level & (chances >= seen * (1 - 1e-9))
    exact = float(chances[level].sum())
    tails = (float(chances[h <= ab].sum()), float(chances[h >= ab].sum()))
    return min(1.0, exact), exact - float(chances[equal].sum()) / 2, min(1.0, 2 * min(tails))
