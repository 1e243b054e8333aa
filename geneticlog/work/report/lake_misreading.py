"""What misread alleles can do to the numbers of one survey: its carriers, its mean and its heterozygosity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from geneticlog.rules.genetics.misread_mean import (
    Typed,
    corrected,
    corrected_heterozygosity,
    misreading_alone,
    reach_of_misreading,
)
from geneticlog.rules.statistics.sums import sums_of, together
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.lake_means import loci_of
from geneticlog.work.report.number_facts import WeightedNumber
from geneticlog.work.result.panel_error import PanelError


@dataclass(frozen=True)
class Misreading:
    """The error of the panel that may misread most of those a survey was typed with, and what it does.

    alone: misreading alone explains the alleles of the taxon (of the other taxon, where most fish are the taxon).
    corrected_mean: the leading mean without what the rate adds to it; corrected_heterozygosity likewise, over the fish
    that have it. None without fish.
    """

    error: PanelError
    alone: bool
    corrected_mean: float | None
    corrected_heterozygosity: float | None


def misreading_of(fish: Sequence[FishResult], number: WeightedNumber, error: PanelError) -> Misreading:
    """Return what misreading does to the numbers of some fish; ``number`` is their plain mean before it reaches out."""
    if not fish:
        return Misreading(error, False, None, None)
    q, rate = [one.q for one in fish], error.rate
    mean = sum(q) / len(q) if number.mean is None else number.mean
    alone = False
    if number.low is not None and number.high is not None:
        alone = misreading_alone(number.low, number.high, sums_of(q, loci_of(fish)), rate.high)
    both = [(one.q, one.heterozygosity) for one in fish if one.heterozygosity is not None]
    h = None
    if both:
        h = corrected_heterozygosity(
            sum(value for value, _ in both) / len(both),
            sum(value for _, value in both) / len(both),
            rate.rate,
        )
    return Misreading(error, alone, corrected(mean, rate.rate), h)


def reaching(number: WeightedNumber, error: PanelError) -> WeightedNumber:
    """Return a mean whose limits reach as far as misreading at the rate's upper limit could have moved it."""
    if number.low is None or number.high is None:
        return number
    rate, typed = error.rate.high, None
    if number.n_if_alike is not None and (number.low <= rate or number.high >= 1 - rate):
        typed = Typed(together(number.classes), number.n_if_alike)
    low, high = reach_of_misreading(number.low, number.high, rate, typed)
    return replace(number, low=low, high=high)
