"""Means of some fish of a lake, from what each fish carries."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.intervals import Estimate, mean_from_sums
from geneticlog.rules.statistics.unseen import unseen_share_of_catch
from geneticlog.work.report.facts import FishResult, Number


def mean_of(fish: Sequence[FishResult]) -> Estimate:
    """Return the mean proportion of some fish with its guarded interval; of no fish, its guard alone."""
    known = loci_of(fish)
    q = [one.q for one in fish]
    alleles = 2.0 * sum(known) if known is not None else None
    return mean_from_sums(len(q), sum(q), sum(value * value for value in q), alleles)


def loci_of(fish: Sequence[FishResult]) -> list[int] | None:
    """Return the loci scored of each fish; None where the lab did not say it of one of them."""
    known = [one.n_loci for one in fish if one.n_loci is not None]
    return known if len(known) == len(fish) else None


def number_of(estimate: Estimate, unseen: float | None) -> Number:
    """Return a mean with what its fish cannot see."""
    return Number(estimate.mean, estimate.low, estimate.high, estimate.n, estimate.guard, unseen)


def unseen_of(classes: Sequence[tuple[int, int]]) -> float | None:
    """Return what the fish typed cannot see of a catch, from fish caught and typed of each size class; None where no
    fish was typed.
    """
    if not any(typed for _, typed in classes):
        return None
    caught, typed = zip(*classes, strict=True)
    return unseen_share_of_catch(caught, typed)
