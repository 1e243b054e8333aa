"""What a lake report is made of: plain frozen records, numbers unrounded, absent is None."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from geneticlog.rules.genetics.generation import Generation
from geneticlog.rules.genetics.loci import LociSign
from geneticlog.rules.genetics.rule_set import RuleSet
from geneticlog.rules.lakes.state import Progress
from geneticlog.rules.report.comparability import Aspect, Footing
from geneticlog.rules.statistics.missed_kind import MissedKind
from geneticlog.work.report.next_facts import NOTHING_TO_SEE, FishToSee, NextPlan, NextTime
from geneticlog.work.report.number_facts import (
    NO_DIFFERENCE,
    ClassDifference,
    ClassRow,
    Contrast,
    Difference,
    Heterozygosity,
    Number,
    RankOnLength,
    SizeStructure,
    TrendOfSizes,
    WeightedNumber,
)

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
    compared without sizes. young, adult: the same of the young and of the adult size classes alone, their p after Holm
    over the two. missed: the kind of fish that could move the difference farthest unseen, the first group being the
    later survey. misreading_alone: misreading may be all that parts the two surveys.
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
    misreading_alone: bool = False


@dataclass(frozen=True)
class StockingFact:
    """One stocking on record."""

    stocked_on: date
    taxon: str
    n_fish: int | None
    size: str | None
    source: str | None


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
    to_see: FishToSee = NOTHING_TO_SEE
    through_years: ThroughYears | None = None
    journal_head: str | None = None  # of the database when this was read
