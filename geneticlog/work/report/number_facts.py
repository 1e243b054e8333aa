"""The numbers of a survey: means, shares, differences and slopes, each with its n, interval and guard."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from geneticlog.rules.statistics.missed_kind import MissedKind
from geneticlog.rules.statistics.sums import Sums


@dataclass(frozen=True)
class Number:
    """A number with its interval, the fish behind it, its guard words, and what these fish cannot see: the largest
    share of the catch that a kind of fish can make up and still be absent from them, over the size classes they are of.

    misreading_alone: of the mean of all fish, whether misread alleles alone explain it.
    """

    mean: float | None = None
    low: float | None = None
    high: float | None = None
    n: int = 0
    guard: str = "no fish"
    unseen: float | None = None
    misreading_alone: bool = False


@dataclass(frozen=True)
class ClassRow:
    """One size class of one survey."""

    size_class: str
    label: str
    adult: bool
    n_caught: int
    n_swabbed: int
    n_resulted: int
    mean: float | None
    low: float | None
    high: float | None
    guard: str
    unseen: float | None
    spread: float | None
    least_q: float | None
    most_q: float | None
    n_carriers: int
    carriers_low: float | None
    carriers_high: float | None
    composition: Mapping[str, int]
    mean_relative_weight: float | None
    n_weighed: int
    relative_weight_low: float | None = None
    relative_weight_high: float | None = None


@dataclass(frozen=True)
class WeightedNumber:
    """A mean or a share weighted to the measured catch, how much of it that represents, and what its fish cannot see.

    share_of_catch_covered: fish caught of size classes with a result, of all fish caught, those without a class too.
    classes: the sums of these size classes; n_if_alike: fish that a simple sample would need to carry as much where all
    are alike, None without limits. misreading_alone: whether misread alleles alone explain it.
    """

    mean: float | None
    low: float | None
    high: float | None
    n: int
    share_of_catch_covered: float | None
    guard: str
    unseen: float | None = None
    classes: tuple[Sums, ...] = ()
    n_if_alike: float | None = None
    misreading_alone: bool = False


@dataclass(frozen=True)
class Contrast:
    """A difference of two means with its interval, its p, that p after Holm, and on which footing it stands.

    first_covered, second_covered: share of the catch of either side in the size classes with a result, 0 to 1.
    missed: the kind of fish that could move it farthest unseen; None without a difference.
    """

    difference: float | None = None
    low: float | None = None
    high: float | None = None
    p: float | None = None
    first: Number = Number()
    second: Number = Number()
    p_holm: float | None = None
    basis: str = ""
    first_covered: float | None = None
    second_covered: float | None = None
    missed: MissedKind | None = None


@dataclass(frozen=True)
class Difference:
    """The later survey minus the earlier one of some sizes of fish; without numbers where they cannot be compared.

    p_holm: p after Holm over the young and the adult fish, which are shown together; p itself where it is shown alone.
    misreading_alone: whether misreading alone may be what parts the two.
    """

    difference: float | None = None
    low: float | None = None
    high: float | None = None
    p: float | None = None
    n_earlier: int = 0
    n_later: int = 0
    p_holm: float | None = None
    misreading_alone: bool = False


NO_DIFFERENCE = Difference()


@dataclass(frozen=True)
class ClassDifference:
    """The mean q of a larger size class minus that of a smaller one; p_holm: after Holm over all pairs of classes."""

    larger: str
    smaller: str
    difference: float | None
    low: float | None
    high: float | None
    p: float | None
    p_holm: float | None = None
    n_larger: int = 0
    n_smaller: int = 0
    guard: str = ""


@dataclass(frozen=True)
class Slope:
    """How much the mean q changes from one size class to the next larger, over the class means weighted to the catch.

    Its p is below .05 exactly where the 95 % limits leave 0 out. No numbers with results in one class alone. guard: of
    the fewer fish, of those of the smaller classes and those of the larger ones.
    """

    per_class: float | None = None
    low: float | None = None
    high: float | None = None
    p: float | None = None
    guard: str = "no fish"


@dataclass(frozen=True)
class TrendOfSizes:
    """Jonckheere-Terpstra over the ordered size classes, a test of ranks; p two-sided, ``rising`` its direction.

    slope: of the class means, which is another question. statistic, expected: J, and its mean where size has nothing to
    do with q; method: where p is from.
    """

    statistic: float | None = None
    p: float | None = None
    rising: bool | None = None
    n_classes: int = 0
    p_holm: float | None = None
    n: int = 0
    guard: str = "no fish"
    expected: float | None = None
    method: str = ""
    slope: Slope = Slope()


@dataclass(frozen=True)
class RankOnLength:
    """Spearman's correlation of q with total length; p two-sided, ``method`` where it is from.

    The correlation and its limits run from -1 to 1; n counts the fish with a result and a length.
    """

    correlation: float | None = None
    low: float | None = None
    high: float | None = None
    p: float | None = None
    p_holm: float | None = None
    n: int = 0
    method: str = "nothing to compare"
    guard: str = "no fish"


@dataclass(frozen=True)
class SizeIndexRow:
    """PSD or one of its higher indices: 100 x fish of a length and above / fish of stock length and above.

    Value and Wilson limits run from 0 to 100, unrounded; least_length is in the unit of the size structure.
    """

    index: str
    least_length: float
    value: float | None
    low: float | None
    high: float | None
    n_at_least: int
    n_stock: int
    guard: str


@dataclass(frozen=True)
class SizeStructure:
    """PSD, PSD-P, PSD-M and PSD-T of a measured catch; ``why`` says why there is none.

    unit, stock_length: of the published limits that are named. n_substock: fish below stock length, in no index.
    n_left_out: fish caught that could not be judged.
    """

    indices: tuple[SizeIndexRow, ...] = ()
    unit: str | None = None
    stock_length: float | None = None
    n_stock: int = 0
    n_substock: int = 0
    n_left_out: int = 0
    why: str = ""


@dataclass(frozen=True)
class Heterozygosity:
    """Mean heterozygosity of the n fish that have it, and its deficit F = 1 - mean(H) / [2p(1-p)] with limits.

    flag: "mixture", "third lineage" or none raised; flag_text and hint are its words. variance is that of q over
    these fish, marker_variance what the sampling of markers alone would give; below it is the second sign.
    mean_low, mean_high and mean_guard belong to the mean, by the interval of a mean q with loci in place of alleles.
    """

    n: int = 0
    mean: float | None = None
    deficit: float | None = None
    deficit_low: float | None = None
    deficit_high: float | None = None
    guard: str = "no fish"
    flag: str = ""
    flag_text: str = ""
    hint: str = ""
    variance: float | None = None
    marker_variance: float | None = None
    below_marker_variance: bool = False
    mean_low: float | None = None
    mean_high: float | None = None
    mean_guard: str = "no fish"
