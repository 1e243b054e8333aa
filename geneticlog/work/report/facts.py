"""What a lake report is made of: plain frozen records, numbers unrounded, absent is None."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from geneticlog.rules.genetics.generation import Generation
from geneticlog.rules.genetics.loci import LociSign
from geneticlog.rules.genetics.rule_set import RuleSet
from geneticlog.rules.lakes.state import Progress
from geneticlog.rules.report.comparability import Aspect, Footing
from geneticlog.rules.statistics.missed_kind import MissedKind
from geneticlog.rules.statistics.sums import Sums

NO_PROGRESS = Progress()


if TYPE_CHECKING:
    from geneticlog.work.report.lake_broods import Broods
    from geneticlog.work.report.lake_misreading import Misreading
    from geneticlog.work.report.lake_sites import Sites
    from geneticlog.work.report.lake_years import ThroughYears


@dataclass(frozen=True)
class FishResult:
    """One fish with a result that is in the numbers. Lengths and weights as measured, metric beside them."""

    survey: str
    number: int
    vial: str
    length: float | None
    length_unit: str | None
    length_mm: float | None
    weight: float | None
    weight_unit: str | None
    weight_g: float | None
    relative_weight: float | None
    size_class: str | None
    q: float
    heterozygosity: float | None
    n_loci: int | None
    call_rate: float | None
    call_rate_from: str | None
    ancestry_class: str
    lab_class: str | None
    panel: str | None
    doubtful: bool
    generation: Generation
    settled: str | None = None  # where genotypes gave another value than the lab's: what a person decided
    carrier: bool = False  # whether misreading does not explain its alleles of the taxon
    site: str | None = None


@dataclass(frozen=True)
class Number:
    """A number with its interval, the fish behind it, its guard words, and what these fish cannot see: the largest
    share of the catch that a kind of fish can make up and still be absent from them, over the size classes they are of.
    """

    mean: float | None = None
    low: float | None = None
    high: float | None = None
    n: int = 0
    guard: str = "no fish"
    unseen: float | None = None


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
    are alike, None without limits.
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
    """The later survey minus the earlier one of some sizes of fish; without numbers where they cannot be compared."""

    difference: float | None = None
    low: float | None = None
    high: float | None = None
    p: float | None = None
    n_earlier: int = 0
    n_later: int = 0


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

    Its p is below .05 exactly where the 95 % limits leave 0 out. No numbers with results in one class alone.
    """

    per_class: float | None = None
    low: float | None = None
    high: float | None = None
    p: float | None = None


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


@dataclass(frozen=True)
class SampleNote:
    """One sample that is not plainly in the numbers, or a decision about one; ``standing`` says how it counts."""

    standing: str
    vial: str | None
    fish: str | None
    text: str
    decision: str | None = None
    decided_by: str | None = None
    decided_at: datetime | None = None
    why: str | None = None


@dataclass(frozen=True)
class SurveyFacts:
    """One survey: how it was made, its fish, its numbers, its samples.

    taxon, other_taxon: the pair its numbers are about. n_left_out: results typed for another pair.
    """

    survey: str
    surveyed_on: date
    gear: str
    effort_minutes: float | None
    species: str
    unit: str
    taxon: str
    other_taxon: str
    scheme: str
    class_limits: tuple[float, ...]
    footing: Footing
    panels: tuple[str, ...]
    loci: tuple[int, ...]
    n_caught: int
    n_unmeasured: int
    n_other_species: int
    n_swabbed: int
    caught: tuple[tuple[float, int], ...]
    swabbed_lengths: tuple[float, ...]
    fish: tuple[FishResult, ...]
    classes: tuple[ClassRow, ...]
    swabbed: Number
    catch_weighted: WeightedNumber
    young_minus_adult: Contrast
    trend: TrendOfSizes
    rank_on_length: RankOnLength
    n_carriers: int
    carriers: WeightedNumber
    heterozygosity: Heterozygosity
    size_structure: SizeStructure
    markers: LociSign | None
    samples: tuple[SampleNote, ...]
    n_left_out: int
    misreading: Misreading | None = None
    sites: Sites | None = None
    class_differences: tuple[ClassDifference, ...] = ()
    broods: Broods | None = None

    @property
    def n_resulted(self) -> int:
        return len(self.fish)


@dataclass(frozen=True)
class Change:
    """The later survey minus the earlier one of the same species, and what stands in the way of comparing them.

    p_holm: p after Holm over all changes of the lake. n_earlier, n_later: fish with a result that were compared.

    differs, alike: what differs and what is the same (codes); only_one_typed: size classes with a result in one of
    the two alone. The shares (0 to 1) are of each catch in the size classes compared, None where the swabbed fish were
    compared without sizes. young, adult: the same of the young and of the adult size classes alone. missed: the kind of
    fish that could move the difference farthest unseen, the first group being the later survey.
    """

    earlier: str
    later: str
    species: str
    earlier_on: date
    later_on: date
    basis: str
    difference: float | None
    low: float | None
    high: float | None
    p: float | None
    p_holm: float | None
    guard: str
    differs: tuple[Aspect, ...]
    alike: tuple[Aspect, ...]
    only_one_typed: tuple[str, ...]
    earlier_covered: float | None
    later_covered: float | None
    n_earlier: int
    n_later: int
    footing: tuple[Footing, Footing]
    young: Difference = NO_DIFFERENCE
    adult: Difference = NO_DIFFERENCE
    missed: MissedKind | None = None


@dataclass(frozen=True)
class StockingFact:
    """One stocking on record."""

    stocked_on: date
    taxon: str
    n_fish: int | None
    size: str | None
    source: str | None


@dataclass(frozen=True)
class NextTime:
    """How many fish of one size class bring its own mean to the wanted half-width, by the spread seen now.

    n_for_half_width: another number than n_wanted of the `PlannedSize`, which are the fish that the lake's mean needs.
    """

    size_class: str
    n_resulted: int
    half_width: float | None
    spread: float | None
    borrowed: bool
    n_for_half_width: int | None


@dataclass(frozen=True)
class PlannedSize:
    """Fish of one size class wanted next time; likely_catch: None without a survey; half_width: to expect then."""

    size_class: str
    n_wanted: int
    likely_catch: float | None
    half_width: float | None
    cost: float | None


@dataclass(frozen=True)
class NextPlan:
    """What the next survey would take; n_likely: of the fish wanted, those an average survey would catch.

    half_width: of the lake's mean that it aims at, None where nothing is known to plan with yet.
    """

    n_fish: int
    n_likely: int | None
    cost: float | None
    half_width: float | None
    classes: tuple[PlannedSize, ...]


@dataclass(frozen=True)
class FishToSee:
    """Fish of the next survey that would show the difference that matters, with a chance of .8, as the planner has it.

    young_adult: between young and adult fish; change: since the last survey. None where it is not open, or takes more
    than can be planned.
    """

    young_adult: int | None = None
    change: int | None = None


@dataclass(frozen=True)
class LakeFacts:
    """Everything one lake report says."""

    lake: str
    name: str
    area_ha: float | None
    taxon: str
    other_taxon: str
    surveys: tuple[SurveyFacts, ...]
    main: SurveyFacts | None
    changes: tuple[Change, ...]
    stockings: tuple[StockingFact, ...]
    half_width: float
    matters: float
    next_time: tuple[NextTime, ...]
    rule_set: RuleSet
    return_files: tuple[tuple[str, str], ...]
    n_left_out: int
    n_open_findings: int
    fingerprint: str
    made_at: datetime
    made_by: str
    progress: Progress = NO_PROGRESS  # of the samples of the latest survey that was swabbed
    next_plan: NextPlan | None = None
    to_see: FishToSee = FishToSee()
    through_years: ThroughYears | None = None
    journal_head: str | None = None  # of the database when this was read
