"""The statistics of the reports as plain functions on columns: lists, arrays, or columns of ``geneticlog.open``.

A row with an absent value in any of the columns given is left out, as a report leaves it out. Proportions run from 0
to 1. Every function returns a number or a small record whose fields are named in the documentation of its class:
an ``Estimate`` has mean, low, high, n and guard.

=====================================  ================================================================================
of some fish                           `mean`, `pooled_share`, `share_of_fish`
of a lake, weighted to the catch       `weighted_mean`
of a water whose fish are counted      `counted_water_mean`, `sorted_sample_mean`, `counted_lot_mean`
two groups of fish                     `difference`, `permutation_difference`, `welch`
over sizes, with a measure             `trend_over_sizes`, `correlation`, `kendall_tau_b`, `association`
of any statistic, by resampling        `bca_interval`
from genotypes                         `ancestry_of_genotypes`, `unfixed_ancestry`, `accept_unfixed_class`,
                                       `genotype_chances`
kinds of fish                          `ancestry_classes`, `lineage_sign`, `marker_share`, `expected_of_class`,
                                       `expected_of_backcross`
size and condition                     `size_classes`, `relative_weights`, `increments`, `simultaneous_limits`
before the trip                        `fish_for_half_width`, `fish_for_share`, `chance_of_a_carrier`,
                                       `chance_of_an_allele`, `allocate`
=====================================  ================================================================================

Formulas, errors and sources are in the functions of ``geneticlog.rules`` that each of these calls.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geneticlog.rules.ancestry import MISSING, Ancestry, ancestry_class, from_genotypes
from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.lineage import LineageSign
from geneticlog.rules.genetics.lineage import lineage_sign as _lineage_sign
from geneticlog.rules.genetics.misread_mean import Typed, reach_of_misreading
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet
from geneticlog.rules.intervals import Estimate, share
from geneticlog.rules.notebook import known_catch
from geneticlog.rules.notebook.marker_spread import MarkerShare, expected_of_backcross, expected_of_class
from geneticlog.rules.notebook.marker_spread import marker_share as _marker_share
from geneticlog.rules.notebook.ratio import pooled_interval
from geneticlog.rules.notebook.unfixed_markers import accept_unfixed_class, genotype_chances, unfixed_ancestry
from geneticlog.rules.sampling import (
    allocate,
    chance_of_a_carrier,
    chance_of_an_allele,
    fish_for_half_width,
    fish_for_share,
)
from geneticlog.rules.species import relative_weight, size_class
from geneticlog.rules.statistics import growth
from geneticlog.rules.statistics.bootstrap import bca_interval
from geneticlog.rules.statistics.contrast import Contrast, Side, contrast
from geneticlog.rules.statistics.psd import increments, simultaneous_limits
from geneticlog.rules.statistics.sums import Sums, sums_of, together
from geneticlog.rules.strata import CatchWeighted, catch_weighted_from_sums
from geneticlog.rules.trend import (
    RankCorrelation,
    Trend,
    jonckheere_terpstra,
    kendall_tau_b,
    permutation_difference,
    spearman,
    welch,
)

if TYPE_CHECKING:
    import pandas as pd

    Column = Sequence[Any] | NDArray[Any] | pd.Series[Any]

__all__ = [
    "accept_unfixed_class",
    "allocate",
    "ancestry_classes",
    "ancestry_of_genotypes",
    "association",
    "bca_interval",
    "chance_of_a_carrier",
    "chance_of_an_allele",
    "correlation",
    "counted_lot_mean",
    "counted_water_mean",
    "difference",
    "expected_of_backcross",
    "expected_of_class",
    "fish_for_half_width",
    "fish_for_share",
    "genotype_chances",
    "increments",
    "kendall_tau_b",
    "lineage_sign",
    "marker_share",
    "mean",
    "permutation_difference",
    "pooled_share",
    "relative_weights",
    "share_of_fish",
    "simultaneous_limits",
    "size_classes",
    "sorted_sample_mean",
    "trend_over_sizes",
    "unfixed_ancestry",
    "weighted_mean",
    "welch",
]


def mean(q: Column, n_loci: Column | None = None, level: float = 0.95) -> Estimate:
    """Return the mean share of alleles of some fish with its interval; as a size class of a report.

    >>> estimate = mean([0.1, 0.2, 0.4, 0.0, 0.3], [38, 38, 37, 38, 38])
    >>> round(estimate.mean, 3), round(estimate.low, 3), round(estimate.high, 3), estimate.n, estimate.guard
    (0.2, 0.041, 0.488, 5, 'wide')
    """
    values, loci = _together(q, n_loci)
    return _sums_of(values, loci).estimate(level)  # from sums rounded once, as the reports


def weighted_mean(
    q: Column,
    size_class: Column,
    n_caught: Mapping[str, int],
    n_loci: Column | None = None,
    level: float = 0.95,
    *,
    miscall_high: float = 0.0,
) -> CatchWeighted:
    """Return the mean weighted to the measured catch; as the number of a lake in a report.

    n_caught
        Size class -> fish measured, swabbed or not.
    miscall_high
        The most the panel may misread (``geneticlog panel show``; 0.02 where nothing is stated): the limits reach as
        far as that could have moved the mean, as they do in a report.

    >>> estimate = weighted_mean(
    ...     [0.1, 0.3, 0.6, 0.8], ["stock", "stock", "quality", "quality"], {"stock": 30, "quality": 10}
    ... )
    >>> round(estimate.mean, 3), estimate.n, estimate.share_covered
    (0.325, 4, 1.0)
    """
    sums = _sums(q, size_class, n_loci)
    mean = catch_weighted_from_sums(sums, n_caught, level)
    if not miscall_high or mean.low is None or mean.high is None or mean.n_if_alike is None:
        return mean
    typed = Typed(
        together(of_class for name, of_class in sums.items() if n_caught.get(name)), mean.n_if_alike
    )
    low, high = reach_of_misreading(mean.low, mean.high, miscall_high, typed, level)
    return replace(mean, low=low, high=high)


def counted_water_mean(
    q: Column,
    size_class: Column,
    n_in_class: Mapping[str, int],
    n_loci: Column | None = None,
    level: float = 0.95,
) -> CatchWeighted:
    """Return the mean of a water of which every fish is counted, as after draining; fish drawn within the classes.

    >>> estimate = counted_water_mean([0.1, 0.3, 0.6, 0.8], ["s", "s", "q", "q"], {"s": 4, "q": 4})
    >>> round(estimate.mean, 3), round(estimate.low, 3), round(estimate.high, 3)
    (0.45, 0.186, 0.736)
    """
    return known_catch.known_totals(_sums(q, size_class, n_loci), n_in_class, level)


def sorted_sample_mean(
    q: Column,
    size_class: Column,
    n_in_class: Mapping[str, int],
    n_loci: Column | None = None,
    level: float = 0.95,
) -> CatchWeighted:
    """Return the mean of a simple random sample that was sorted into size classes afterwards; the water is counted.

    >>> estimate = sorted_sample_mean([0.1, 0.3, 0.6, 0.8], ["s", "s", "q", "q"], {"s": 40, "q": 40})
    >>> round(estimate.mean, 3)
    0.45
    """
    return known_catch.post_stratified(_sums(q, size_class, n_loci), n_in_class, level)


def counted_lot_mean(
    q: Column, n_in_water: int, n_loci: Column | None = None, level: float = 0.95
) -> Estimate:
    """Return the mean of some fish of a counted lot without size classes, as of a raceway.

    >>> counted_lot_mean([0.0, 0.5, 1.0], 3).low
    0.5
    """
    values, loci = _together(q, n_loci)
    return known_catch.mean_in_closed_water(_sums_of(values, loci), n_in_water, level)


def pooled_share(q: Column, n_loci: Column, level: float = 0.95) -> Estimate:
    """Return alleles over all alleles with its interval, which lets fish with more scored loci count for more.

    >>> round(pooled_share([0.0, 0.5], [10, 30]).mean, 3)
    0.375
    """
    values, loci = _together(q, n_loci)
    scored = _numbers(loci)
    return pooled_interval(np.rint(2 * scored * _numbers(values)), scored, level)


def share_of_fish(is_of_kind: Column, level: float = 0.95) -> Estimate:
    """Return the share of fish of a kind with its Wilson interval, from a column of yes and no.

    >>> estimate = share_of_fish([True, False, False, None, True])
    >>> estimate.mean, estimate.n, round(estimate.low, 3)
    (0.5, 4, 0.15)
    """
    (held,) = _together(is_of_kind)
    return share(sum(bool(value) for value in held), len(held), level)


def difference(
    first: Column,
    second: Column,
    class_of_first: Column | None = None,
    class_of_second: Column | None = None,
    weights: Mapping[str, float] | None = None,
    level: float = 0.95,
) -> Contrast:
    """Return mean q of the first fish minus that of the second, with interval and p of one statistic.

    class_of_first, class_of_second, weights
        Size classes of the fish, and the weight of each class in both means, together 1; None compares the fish as
        they are.

    >>> contrast = difference([0.5, 0.6, 0.7, 0.8], [0.1, 0.2, 0.3, 0.2])
    >>> round(contrast.estimate.mean, 3), contrast.p < 0.05, contrast.n_first
    (0.45, True, 4)
    """
    sides = []
    for q, of_class in ((first, class_of_first), (second, class_of_second)):
        if (of_class is None) != (weights is None):
            raise NumberFault("weights: give them together with the size classes of both groups")
        sums = {"all": _sums_of(*_together(q, None))} if of_class is None else _sums(q, of_class, None)
        sides.append(Side(sums, weights or {"all": 1.0}))
    return contrast(sides[0], sides[1], level)


def trend_over_sizes(q: Column, size_class: Column, order: Sequence[str] | None = None) -> Trend:
    """Return whether q rises or falls from the small fish to the large (Jonckheere-Terpstra, a test on ranks).

    order
        Size classes from small to large; None takes that of an ordered column.

    >>> trend = trend_over_sizes([0.1, 0.2, 0.3, 0.4], ["s", "s", "q", "q"], order=["s", "q"])
    >>> trend.statistic, trend.n
    (4.0, 4)
    """
    if order is None:
        categories = getattr(getattr(size_class, "cat", None), "categories", None)
        if categories is None:
            raise NumberFault("order: name the size classes from small to large, or give an ordered column")
        order = [str(name) for name in categories]
    groups = _groups(*_together(q, size_class))
    if unknown := set(groups) - set(order):
        raise NumberFault(f"order: size class {min(unknown)!r} is not in it")
    return jonckheere_terpstra([groups[name] for name in order if name in groups])


def correlation(q: Column, measure: Column, level: float = 0.95) -> RankCorrelation:
    """Return Spearman's rank correlation of q with a measure, such as length_mm.

    >>> rank = correlation([0.1, 0.2, 0.3, 0.5, 0.4], [200, 250, 300, 350, 400])
    >>> round(rank.correlation, 2), rank.n
    (0.9, 5)
    """
    x, y = _together(q, measure)
    return spearman(_numbers(x), _numbers(y), level)


def association(
    q: Column, measure: Column, size_class: Column | None = None, level: float = 0.95
) -> growth.Association:
    """Return how a measure (relative weight, length in mm) goes with q, within the size classes where they are given.

    >>> slope = association([0.0, 0.2, 0.4, 0.6, 0.8], [100, 98, 97, 93, 92])
    >>> slope.n, slope.slope < 0
    (5, True)
    """
    if size_class is None:
        x, y = _together(q, measure)
        return growth.association(_numbers(x), _numbers(y), level)
    x, y, names = _together(q, measure, size_class)
    groups = {
        name: tuple(
            _numbers([value for value, of in zip(column, names, strict=True) if of == name])
            for column in (x, y)
        )
        for name in dict.fromkeys(names)
    }
    return growth.association_over_classes(groups, level)  # type: ignore[arg-type]


def ancestry_of_genotypes(fish: Column, marker: Column, n_alleles: Column) -> tuple[list[Any], Ancestry]:
    """Return the fish in order of appearance, and q, heterozygosity and loci scored of each, from one row a locus.

    fish, marker, n_alleles
        As the columns vial, marker and n_alleles of ``log.genotypes()``; an absent count is a locus not scored.

    >>> fish, ancestry = ancestry_of_genotypes(["A", "A", "B", "B"], ["M1", "M2", "M1", "M2"], [0, 1, 2, None])
    >>> fish, ancestry.q.tolist(), ancestry.n_loci.tolist()
    (['A', 'B'], [0.25, 1.0], [2, 1])
    """
    names, markers = list(dict.fromkeys(fish)), list(dict.fromkeys(marker))
    rows = {name: at for at, name in enumerate(names)}
    columns = {name: at for at, name in enumerate(markers)}
    counts = np.full((len(names), len(markers)), MISSING, dtype=np.int64)
    for name, locus, n in zip(fish, marker, n_alleles, strict=True):
        if not _absent(n):
            counts[rows[name], columns[locus]] = int(n)
    return names, from_genotypes(counts)


def ancestry_classes(
    q: Column, heterozygosity: Column, n_loci: Column, rule_set: RuleSet = DEFAULT_RULE_SET
) -> list[str | None]:
    """Return the ancestry class of each fish by a rule set; None where q is absent.

    >>> ancestry_classes([0.01, 0.5, None], [0.02, 1.0, None], [38, 38, None])
    ['northern', 'F1', None]
    """
    return [
        None
        if _absent(of_fish)
        else ancestry_class(
            float(of_fish), None if _absent(h) else float(h), None if _absent(loci) else int(loci), rule_set
        )
        for of_fish, h, loci in zip(q, heterozygosity, n_loci, strict=True)
    ]


def lineage_sign(q: Column, heterozygosity: Column) -> LineageSign:
    """Return the heterozygote deficit of some fish and whether it points to a third lineage.

    >>> lineage_sign([0.5, 0.5], [0.5, 0.5]).flagged
    False
    """
    p, h = _together(q, heterozygosity)
    return _lineage_sign(_numbers(p), _numbers(h))


def marker_share(q: Column, heterozygosity: Column, n_loci: Column) -> MarkerShare:
    """Return how much of the spread of q over fish comes from the sampling of markers.

    >>> share = marker_share([0.1, 0.5, 0.9], [0.1, 0.4, 0.1], [38, 38, 38])
    >>> share.n, round(share.share, 3)
    (3, 0.015)
    """
    p, h, loci = _together(q, heterozygosity, n_loci)
    return _marker_share(_numbers(p), _numbers(h), _numbers(loci))


def size_classes(length: Column, unit: str = "mm", species: str = "largemouth_bass") -> list[str | None]:
    """Return the published size class of each length; None where it is absent.

    >>> size_classes([8, 11.9, None], "in")
    ['stock', 'stock', None]
    """
    return [None if _absent(value) else size_class(species, float(value), unit) for value in length]


def relative_weights(
    length_mm: Column, weight_g: Column, species: str = "largemouth_bass"
) -> list[float | None]:
    """Return the relative weight of each fish in percent; None where a measure is absent or the fish is too short.

    >>> [round(value) for value in relative_weights([300.0], [360.0])]
    [95]
    """
    return [
        None if _absent(length) or _absent(weight) else relative_weight(species, float(length), float(weight))
        for length, weight in zip(length_mm, weight_g, strict=True)
    ]


def _absent(value: Any) -> bool:
    return value is None or type(value).__name__ in {"NAType", "NaTType"} or value != value


def _together(*columns: Column | None) -> list[Any]:
    """Return the columns as lists of the rows in which all are there; an absent column stays None.

    Raises NumberFault for columns of different lengths.
    """
    given = [list(column) for column in columns if column is not None]
    if len({len(column) for column in given}) > 1:
        raise NumberFault(f"columns of different lengths: {', '.join(str(len(column)) for column in given)}")
    kept = [row for row in zip(*given, strict=True) if not any(map(_absent, row))]
    lists = iter([list(column) for column in zip(*kept, strict=True)] if kept else [[] for _ in given])
    return [None if column is None else next(lists) for column in columns]


def _numbers(values: Sequence[Any]) -> NDArray[np.float64]:
    return np.asarray(values, dtype=np.float64)


def _sums_of(q: Sequence[Any], n_loci: Sequence[Any] | None) -> Sums:
    loci: ArrayLike | None = None if n_loci is None else _numbers(n_loci)
    return sums_of(_numbers(q), loci)


def _groups(q: Sequence[Any], names: Sequence[Any]) -> dict[str, NDArray[np.float64]]:
    of_group: dict[str, list[float]] = {}
    for value, name in zip(q, names, strict=True):
        of_group.setdefault(str(name), []).append(float(value))
    return {name: _numbers(values) for name, values in of_group.items()}


def _sums(q: Column, size_class: Column, n_loci: Column | None) -> dict[str, Sums]:
    """Return the sums of the fish of each size class."""
    values, names, loci = _together(q, size_class, n_loci)
    of_classes: dict[str, tuple[list[float], list[float]]] = {}
    for at, name in enumerate(names):
        of_class = of_classes.setdefault(str(name), ([], []))
        of_class[0].append(float(values[at]))
        if loci is not None:
            of_class[1].append(float(loci[at]))
    return {
        name: _sums_of(some, its_loci if loci is not None else None)
        for name, (some, its_loci) in of_classes.items()
    }
