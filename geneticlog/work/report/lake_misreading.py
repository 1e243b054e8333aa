"""What misread alleles can do to the numbers of one survey: its carriers, its mean and its heterozygosity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from geneticlog.rules.genetics.misread_mean import (
    Reading,
    Typed,
    corrected,
    corrected_heterozygosity,
    misreading_alone,
    reach_of_misreading,
)
from geneticlog.rules.statistics.sums import Sums
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.number_facts import Number, WeightedNumber
from geneticlog.work.result.panel_error import PanelError

M = TypeVar("M", Number, WeightedNumber)


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


def misreading_of(
    fish: Sequence[FishResult], swabbed: Number, weighted: WeightedNumber, error: PanelError
) -> Misreading:
    """Return what misreading does to the numbers of some fish, whose two means reach out for it (`reaching`)."""
    if not fish:
        return Misreading(error, False, None, None)
    rate, leading = error.rate, swabbed if weighted.mean is None else weighted
    both = [(one.q, one.heterozygosity) for one in fish if one.heterozygosity is not None]
    h = None
    if both:
        h = corrected_heterozygosity(
            sum(value for value, _ in both) / len(both),
            sum(value for _, value in both) / len(both),
            rate.rate,
        )
    assert leading.mean is not None
    return Misreading(error, leading.misreading_alone, corrected(leading.mean, rate.rate), h)


def reaching(number: M, error: PanelError, every: Sums) -> M:
    """Return a mean whose limits reach as far as misreading at the rate's upper limit could have moved it.

    every: the sums of all fish with a result, in the mean or without a size; none of them may show more than misreading
    does, where it is to be what alone explains the mean.
    """
    if number.low is None or number.high is None:
        return number
    rate, typed, alone = error.rate.high, None, False
    n_if_alike = number.n_if_alike if isinstance(number, WeightedNumber) else number.n
    if n_if_alike is not None and (number.low <= rate or number.high >= 1 - rate):
        typed = Typed(every, n_if_alike)
        alone = misreading_alone(number.low, number.high, every, rate)
    low, high = reach_of_misreading(number.low, number.high, rate, typed)
    return replace(number, low=low, high=high, misreading_alone=alone)


def reading_of(misreading: Misreading | None) -> Reading:
    """Return how the mean of a survey was read, for its comparison with another."""
    return (
        Reading(0.0, False) if misreading is None else Reading(misreading.error.rate.high, misreading.alone)
    )
