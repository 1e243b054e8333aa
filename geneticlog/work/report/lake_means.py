"""Means of some fish of a lake, from what each fish carries."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.intervals import Estimate
from geneticlog.rules.statistics.class_table import by_class
from geneticlog.rules.statistics.sums import Sums, sums_of, together
from geneticlog.rules.statistics.unseen_shares import unseen_shares_of_catches
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.number_facts import Number


def mean_of(fish: Sequence[FishResult]) -> Estimate:
    """Return the mean proportion of some fish with its guarded interval; of no fish, its guard alone."""
    return sums_of_all(fish).estimate()


def sums_of_all(fish: Sequence[FishResult]) -> Sums:
    """Return the sums of some fish of one survey."""
    groups: dict[str | None, list[FishResult]] = {}
    for one in fish:
        groups.setdefault(one.size_class, []).append(one)
    # size class by size class, as the list of all lakes adds them up: both tell the same digits
    return together(sums_of([one.q for one in group], loci_of(group)) for group in groups.values())


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
    return unseen_of_many([classes])[0]


def unseen_of_many(surveys: Sequence[Sequence[tuple[int, int]]]) -> list[float | None]:
    """Return `unseen_of` of many surveys at once, in order."""
    caught, typed = by_class(surveys, 2)
    shares = unseen_shares_of_catches(caught, typed)
    n_typed = typed.sum(axis=0)
    return [float(share) if n_typed[at] else None for at, share in enumerate(shares)]
