"""What each size class of a survey is made of: fish of every ancestry class, as shares with intervals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geneticlog.rules.intervals import share
from geneticlog.work.report.facts import FishResult, SurveyFacts

NOT_TOLD = "not known without heterozygosity"


@dataclass(frozen=True)
class KindShare:
    """Fish of one ancestry class among the fish with a result of one size class; ``size_class`` None is every fish
    typed, which is not a sample of the lake where size classes were swabbed unevenly.

    Share and Wilson limits run 0 to 1 and are None without a fish, and for an F1 that nothing could show.
    """

    size_class: str | None
    ancestry_class: str
    n_fish: int | None
    n_resulted: int
    share: float | None
    low: float | None
    high: float | None
    guard: str


def kind_shares(survey: SurveyFacts) -> tuple[KindShare, ...]:
    """Return the shares of every size class that was caught, smallest first, then of every fish with a result."""
    kinds = (survey.other_taxon, "intergrade", "F1", survey.taxon, "undetermined")
    shares: list[KindShare] = []
    for row in survey.classes:
        if row.n_caught:
            group = [fish for fish in survey.fish if fish.size_class == row.size_class]
            shares += [_share(row.size_class, kind, group) for kind in kinds]
    return (*shares, *(_share(None, kind, survey.fish) for kind in kinds))


@dataclass(frozen=True)
class KindsAndCarriers:
    """Where the class of a fish, by the cut-offs of the rule set, and the likelihood of misreading do not agree.

    n_mixed_misread: fish named neither taxon that misreading explains, so no carriers; n_pure_carriers: fish named the
    other taxon that are carriers.
    """

    n_mixed_misread: int
    n_pure_carriers: int


def kinds_and_carriers(survey: SurveyFacts) -> KindsAndCarriers:
    """Return how many fish of a survey have a class and a likelihood that do not agree."""
    mixed = [one for one in survey.fish if one.ancestry_class in ("intergrade", "F1")]
    pure = [one for one in survey.fish if one.ancestry_class == survey.other_taxon]
    return KindsAndCarriers(sum(not one.carrier for one in mixed), sum(one.carrier for one in pure))


def _share(size_class: str | None, kind: str, group: Sequence[FishResult]) -> KindShare:
    if kind == "F1" and group and all(fish.heterozygosity is None for fish in group):
        return KindShare(size_class, kind, None, len(group), None, None, None, NOT_TOLD)
    n_fish = sum(fish.ancestry_class == kind for fish in group)
    told = share(n_fish, len(group))
    return KindShare(size_class, kind, n_fish, len(group), told.mean, told.low, told.high, told.guard)
