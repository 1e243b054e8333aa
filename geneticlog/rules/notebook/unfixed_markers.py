"""Fish typed at markers that are not fixed: alleles that are commoner in one parent, not found in it alone.

At a diagnostic marker the frequency of the counted allele is 1 in the one parent and 0 in the other, and all here
becomes what `hybrid_classes` and `ancestry` give.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from geneticlog.rules.ancestry import MISSING
from geneticlog.rules.arguments import Floats, NumberFault, array, proportion, proportions
from geneticlog.rules.genetics.hybrid_classes import (
    CLASS_GENOTYPES,
    FLORIDA,
    MISCALL_RATE,
    NORTHERN,
    Accepted,
    accept_likelihoods,
    class_names,
    miscalls,
)

_STEPS = 200  # of Newton; it needs about ten


@dataclass(frozen=True, slots=True)
class UnfixedAncestry:
    """The maximum-likelihood ancestry of one fish.

    q, heterozygosity
        Share of its genome that is Florida, and share that has one copy of each kind, 0 to 1, as its scored loci
        tell them.
    log_likelihood
        At its maximum, without the constant; never above 0.
    n_loci
        Loci scored.
    """

    q: float
    heterozygosity: float
    log_likelihood: float
    n_loci: int


def genomic_shares(q: float, heterozygosity: float) -> tuple[float, float, float]:
    """Return the shares of a genome with none, one and two Florida copies: ``1 - q - H/2``, ``H``, ``q - H/2``.

    raises
        NumberFault for q or H outside 0 to 1, or an H above ``2 min(q, 1-q)``, which no fish can have.
    source
        Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131.
    """
    p, h = proportion(q, "q"), proportion(heterozygosity, "heterozygosity")
    most = 2 * min(p, 1 - p)
    if h > most + 1e-9:
        raise NumberFault(f"heterozygosity: {heterozygosity!r} is above {most:g}, the most at a q of {q!r}")
    return max(0.0, 1 - p - h / 2), h, max(0.0, p - h / 2)


def genotype_chances(
    shares: ArrayLike, florida: ArrayLike, northern: ArrayLike, miscall_rate: float = 0.0
) -> Floats:
    """Return the (loci, 3) chances of counting 0, 1 and 2 alleles at each locus.

    With p0, p1, p2 the shares of the genome and r, s the frequency in Florida and northern parents:
    ``P(2) = p2 r^2 + p1 r s + p0 s^2``, ``P(1) = 2 p2 r(1-r) + p1 [r(1-s) + (1-r)s] + 2 p0 s(1-s)``,
    ``P(0) = p2 (1-r)^2 + p1 (1-r)(1-s) + p0 (1-s)^2``; then the miscalls.

    shares
        (3,) shares with none, one and two Florida copies, as of `genomic_shares`; they add up to 1.
    florida, northern
        (loci,) frequency of the counted allele in either parent, 0 to 1.
    miscall_rate
        Chance that an allele is misread, 0 to 1.
    raises
        NumberFault for a share, frequency or rate outside 0 to 1, shares that do not add up, or lists of different
        lengths.
    source
        Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131, as in the R package HIest 2.0.
    """
    of_genome = proportions(shares, "shares of the genome")
    if of_genome.shape != (3,) or abs(of_genome.sum() - 1) > 1e-9:
        raise NumberFault(f"shares of the genome: {shares!r} are not three that add up to 1")
    by_origin = _by_origin(*_frequencies(florida, northern), miscall_rate)
    return np.asarray(of_genome @ by_origin, dtype=np.float64)


def unfixed_class_likelihoods(
    genotypes: ArrayLike,
    florida: ArrayLike,
    northern: ArrayLike,
    miscall_rate: float = MISCALL_RATE,
    *,
    taxon: str = FLORIDA,
    other_taxon: str = NORTHERN,
) -> dict[str, float]:
    """Return the log-likelihood of one fish under each of the six classes at markers that are not fixed.

    genotypes
        (loci,) counted alleles 0, 1 or 2; MISSING (-1) where the lab made no call. Those leave the sum.
    florida, northern
        (loci,) frequency of the counted allele in either parent, as from reference fish. A frequency of 0 or 1 from
        few of them says more than they can know: then leave the miscall rate above 0.
    miscall_rate
        Chance that an allele is misread, 0 to 1; with 0 a class that cannot make the genotype is -infinity.
    taxon, other_taxon
        The panel's two taxa, in whose words the classes are named; ``florida`` is of the first.
    raises
        NumberFault for another genotype, no scored locus, a frequency or rate outside 0 to 1, or lists of different
        lengths.
    source
        Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131, as in the R package HIest 2.0.
    """
    seen = _chances_of_seen(genotypes, florida, northern, miscall_rate)
    with np.errstate(divide="ignore"):
        found = np.log(np.array(list(CLASS_GENOTYPES.values())) @ seen.T).sum(axis=1)
    return {name: float(value) for name, value in zip(class_names(taxon, other_taxon), found, strict=True)}


def unfixed_ancestry(
    genotypes: ArrayLike, florida: ArrayLike, northern: ArrayLike, miscall_rate: float = 0.0
) -> UnfixedAncestry:
    """Return the maximum-likelihood q and H of one fish at markers that are not fixed.

    The log-likelihood is concave in the shares of the genome, so its one maximum is found: at a corner, on an edge
    or inside. At diagnostic markers without miscalls it is ``q = sum(x) / (2L)``, ``H = n1 / L``. It describes one
    fish as far as its markers carry, and linked loci carry less than they seem to.

    Arguments as for `unfixed_class_likelihoods`.

    raises
        NumberFault as there; for loci none of which tells the parents apart; and for a genotype that neither parent
        nor any cross can have, naming the locus (a miscall rate above 0 allows for it).
    source
        Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131.
    """
    seen = _chances_of_seen(genotypes, florida, northern, miscall_rate)
    if np.ptp(seen, axis=1).max() < 1e-12:
        raise NumberFault("no locus scored tells the parents apart: its allele is as frequent in both")
    impossible = np.flatnonzero(seen.max(axis=1) <= 0)
    if impossible.size:
        scored = np.flatnonzero(array(genotypes, "genotypes") != MISSING)
        raise NumberFault(
            f"locus {scored[impossible[0]] + 1}: its genotype cannot be, by the frequencies in both parents; a"
            " miscall rate above 0 allows for it"
        )
    shares = _best_shares(seen)
    return UnfixedAncestry(
        float(np.clip(shares[2] + shares[1] / 2, 0.0, 1.0)),
        float(shares[1]),
        float(np.log(seen @ shares).sum()),
        len(seen),
    )


def accept_unfixed_class(
    genotypes: ArrayLike,
    florida: ArrayLike,
    northern: ArrayLike,
    miscall_rate: float = MISCALL_RATE,
    *,
    taxon: str = FLORIDA,
    other_taxon: str = NORTHERN,
) -> Accepted:
    """Return the class of a fish typed at markers that are not fixed, if the rule of `accept_class` accepts one.

    Arguments and faults as for `unfixed_class_likelihoods` and `unfixed_ancestry`.

    source
        Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131; R package HIest 2.0.
    """
    likelihoods = unfixed_class_likelihoods(
        genotypes, florida, northern, miscall_rate, taxon=taxon, other_taxon=other_taxon
    )
    free = unfixed_ancestry(genotypes, florida, northern, miscall_rate)
    return accept_likelihoods(likelihoods, free.log_likelihood)


def _frequencies(florida: ArrayLike, northern: ArrayLike) -> tuple[Floats, Floats]:
    r, s = proportions(florida, "frequency in Florida parents"), proportions(northern, "in northern parents")
    if len(r) != len(s):
        raise NumberFault(f"frequencies: {len(r)} against {len(s)}; each locus needs both")
    return r, s


def _by_origin(r: Floats, s: Floats, miscall_rate: float) -> Floats:
    """Return the (loci, 3, 3) chances of 0, 1, 2 alleles where none, one or two copies are Florida."""
    none = np.stack([(1 - s) ** 2, 2 * s * (1 - s), s**2], axis=1)
    one = np.stack([(1 - r) * (1 - s), r * (1 - s) + (1 - r) * s, r * s], axis=1)
    two = np.stack([(1 - r) ** 2, 2 * r * (1 - r), r**2], axis=1)
    return np.asarray(np.stack([none, one, two], axis=1) @ miscalls(miscall_rate), dtype=np.float64)


def _chances_of_seen(
    genotypes: ArrayLike, florida: ArrayLike, northern: ArrayLike, miscall_rate: float
) -> Floats:
    """Return the (scored loci, 3) chances of what was seen where none, one or two copies are Florida."""
    x = np.atleast_1d(array(genotypes, "genotypes"))
    if x.ndim != 1:
        raise NumberFault(f"genotypes: one row of loci of one fish is wanted, not the shape {x.shape}")
    wrong = np.flatnonzero(~np.isin(x, (MISSING, 0, 1, 2)))
    if wrong.size:
        raise NumberFault(
            f"genotypes: locus {wrong[0] + 1} is {x[wrong[0]]:g}; it has 0, 1 or 2 counted alleles, or {MISSING}"
            " where there was no call"
        )
    r, s = _frequencies(florida, northern)
    if len(x) != len(r):
        raise NumberFault(f"genotypes and frequencies: {len(x)} against {len(r)}; each locus needs both")
    scored = np.flatnonzero(x != MISSING)
    if not scored.size:
        raise NumberFault("no locus is scored: there is no likelihood to give")
    by_origin = _by_origin(r, s, miscall_rate)
    return np.asarray(by_origin[scored, :, x[scored].astype(np.int64)], dtype=np.float64)


def _best_shares(seen: Floats) -> Floats:
    """Return the three shares with the largest ``sum(log(seen @ shares))``, a concave function of them."""
    best, top = np.array([1.0, 0.0, 0.0]), -np.inf
    for shares in (*np.eye(3), *(_best_on_edge(seen, i, j) for i, j in ((0, 1), (1, 2), (0, 2)))):
        mixed = seen @ shares
        reached = float(np.log(mixed).sum()) if (mixed > 0).all() else -np.inf
        if reached > top:
            best, top = shares, reached
    # At the largest value over the triangle no share would gain: each gradient is at most the number of loci.
    if top > -np.inf and float((seen / (seen @ best)[:, None]).sum(axis=0).max()) <= len(seen) * (1 + 1e-9):
        return np.asarray(best, dtype=np.float64)
    return _best_inside(seen)


def _best_on_edge(seen: Floats, i: int, j: int) -> Floats:
    """Return the best shares with two of the three above 0: the slope of a concave function is halved to 0."""
    a, b = seen[:, i], seen[:, j]
    low, high = 0.0, 1.0
    for _ in range(60):
        share = (low + high) / 2
        mixed = share * a + (1 - share) * b
        if (mixed <= 0).any():
            break
        low, high = (share, high) if float(((a - b) / mixed).sum()) > 0 else (low, share)
    shares = np.zeros(3)
    shares[i], shares[j] = (low + high) / 2, 1 - (low + high) / 2
    return shares


def _best_inside(seen: Floats) -> Floats:
    """Return the best shares with all three above 0, by Newton's steps, halved where they would not climb."""
    shares = np.full(3, 1 / 3)
    top = float(np.log(seen @ shares).sum())
    basis = np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, -1.0]])  # moves that keep the sum of the shares
    for _ in range(_STEPS):
        lifted = (seen / (seen @ shares)[:, None]) @ basis
        gradient = lifted.sum(axis=0)
        step = basis @ np.linalg.lstsq(lifted.T @ lifted, gradient, rcond=None)[0]
        down = step < 0
        size = min(1.0, 0.99 * float((shares[down] / -step[down]).min())) if down.any() else 1.0
        while size > 1e-12:
            moved = shares + size * step
            reached = float(np.log(seen @ moved).sum())
            if reached >= top - 1e-12 * abs(top):  # the rounding of a sum of logarithms
                break
            size /= 2
        else:
            break
        gained, shares, top = float(np.abs(size * step).max()), moved, reached
        if gained < 1e-13:
            break
    return np.asarray(shares, dtype=np.float64)
