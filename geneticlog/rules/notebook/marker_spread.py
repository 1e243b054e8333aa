"""How much of the spread of q is the sampling of markers: what each class of cross is expected to show, and a lake."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from geneticlog.rules.arguments import NumberFault, count, numbers, proportions, same_length
from geneticlog.rules.genetics.hybrid_classes import (
    CLASS_GENOTYPES,
    FLORIDA,
    NORTHERN,
    class_names,
    marker_variance,
)


@dataclass(frozen=True, slots=True)
class Expected:
    """What a fish of a known cross is expected to show at independent diagnostic loci.

    genotypes
        Chance of 0, 1 and 2 Florida alleles at a locus.
    q, heterozygosity
        Expected values, 0 to 1.
    variance_q, variance_h
        Their variances over fish from the sampling of markers; linkage makes the true ones larger.
    """

    genotypes: tuple[float, float, float]
    q: float
    heterozygosity: float
    variance_q: float
    variance_h: float


def expected_of_class(
    name: str, n_loci: int, *, taxon: str = FLORIDA, other_taxon: str = NORTHERN
) -> Expected:
    """Return what a fish of one of the six classes is expected to show.

    name
        As in `class_names` of the panel's two taxa: "F2", "backcross to northern" and so on.
    raises
        NumberFault for a name that is not one of the six, or fewer than one locus.
    source
        Class means: Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131, as in the R package HIest 2.0; variances
        as of `marker_variance`.
    """
    names = class_names(taxon, other_taxon)
    if name not in names:
        raise NumberFault(f"class: {name!r} is not one of {', '.join(names)}")
    return _expected(list(CLASS_GENOTYPES.values())[names.index(name)], n_loci)


def expected_of_backcross(backcross: int, n_loci: int, *, to_taxon: bool = False) -> Expected:
    """Return what a k-th backcross to one parent is expected to show: ``H = 2^-k``, q half that far from the parent.

    backcross
        k from 0 up; 0 is an F1, 1 the first backcross.
    to_taxon
        True for backcrosses to the taxon whose alleles are counted (Florida); else to the other (northern).
    raises
        NumberFault for a k that is not a whole number from 0 up, or fewer than one locus.
    source
        Mendel: each backcross halves the heterozygous loci. Variances as of `marker_variance`.
    """
    h = 0.5 ** count(backcross, "backcross")
    return _expected((0.0, h, 1 - h) if to_taxon else (1 - h, h, 0.0), n_loci)


def _expected(genotypes: tuple[float, float, float], n_loci: int) -> Expected:
    q, h = genotypes[2] + genotypes[1] / 2, genotypes[1]
    return Expected(genotypes, q, h, *marker_variance(q, h, n_loci))


@dataclass(frozen=True, slots=True)
class MarkerShare:
    """How much of the variance of q over fish is marker sampling.

    variance
        Variance of q over fish, divisor n - 1; None below two fish.
    by_markers
        What the sampling of independent markers alone would give, mean over the fish.
    share
        by_markers over variance; near 1 the fish hardly differ, above 1 loci do not segregate as they should. None
        where all fish are alike or there is one.
    n
        Fish.
    """

    variance: float | None
    by_markers: float
    share: float | None
    n: int


def marker_share(q: ArrayLike, heterozygosity: ArrayLike, n_loci: ArrayLike) -> MarkerShare:
    """Return how much of the variance of q is marker sampling, mean of ``[4q(1-q) - H] / (4L)`` over its variance.

    A small share means that fish differ, and that more loci cannot replace more fish.

    q, heterozygosity
        (fish,) each, 0 to 1, of the fish that have both.
    n_loci
        Scored loci of each fish, (fish,), or one number for all.
    raises
        NumberFault for an empty list, values outside 0 to 1, loci that are no whole number from 1 up, or lists of
        different lengths.
    source
        Sampling of alleles at independent loci given the fish's own q and H; checked on the lakes of Silliman K et
        al. (2021) Evolutionary Applications 14:2815-2830.
    """
    p, h, loci = proportions(q, "q"), proportions(heterozygosity, "heterozygosity"), numbers(n_loci, "n_loci")
    same_length(p, h, "q and heterozygosity")
    if loci.size not in (1, p.size):
        raise NumberFault(f"n_loci: {loci.size} numbers for {p.size} fish; each fish needs its own")
    for at, value in enumerate(loci):
        count(float(value), f"n_loci, number {at + 1}", least=1)
    by_markers = max(0.0, float(((4 * p * (1 - p) - h) / (4 * loci)).mean()))
    variance = float(p.var(ddof=1)) if p.size > 1 else None
    known = variance is not None and np.ptp(p) > 0
    return MarkerShare(variance, by_markers, by_markers / variance if known and variance else None, p.size)
