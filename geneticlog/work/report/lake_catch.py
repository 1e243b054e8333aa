"""Means and shares of one survey weighted to its measured catch, size class by size class."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from geneticlog.rules.statistics.sums import Sums, sums_of
from geneticlog.rules.statistics.weighted_share import catch_weighted_share
from geneticlog.rules.strata import PART_OF_CATCH, CatchWeighted, catch_weighted_many
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.lake_means import loci_of
from geneticlog.work.report.number_facts import ClassRow, WeightedNumber


def weighted_number(
    classes: Sequence[ClassRow], fish: Sequence[FishResult], n_unmeasured: int, unseen: float | None
) -> WeightedNumber:
    """Return the mean q of a catch; fish without a class, n_unmeasured, were caught too and are not covered."""
    groups: dict[str | None, list[FishResult]] = {}
    for one in fish:
        groups.setdefault(one.size_class, []).append(one)
    sums = {name: sums_of([one.q for one in group], loci_of(group)) for name, group in groups.items()}
    caught: dict[str | None, int] = {row.size_class: row.n_caught for row in classes}
    caught[None] = n_unmeasured
    return replace(weighted_numbers([(sums, caught)])[0], unseen=unseen)


def weighted_numbers(
    surveys: Sequence[tuple[Mapping[str | None, Sums], Mapping[str | None, int]]],
) -> list[WeightedNumber]:
    """Return the mean q of each catch, the same to the last digit for one survey as for thousands.

    surveys
        Size class (None: without one) -> sums of the fish with a result; and -> fish caught, in the order of the
        classes. Where no fish with a result has a size class there is no mean.
    """
    asked = [_to_weigh(*survey) for survey in surveys]
    means = catch_weighted_many([(sums, caught) for sums, caught, _ in asked])
    return [
        replace(
            _of_catch(mean, sum(caught.values()), n_outside, None),
            classes=tuple(of_class for name, of_class in sums.items() if caught.get(name)),
            n_if_alike=mean.n_if_alike,
        )
        if mean.n
        else WeightedNumber(None, None, None, 0, None, "no fish")
        for mean, (sums, caught, n_outside) in zip(means, asked, strict=True)
    ]


def _to_weigh(
    sums: Mapping[str | None, Sums], caught: Mapping[str | None, int]
) -> tuple[dict[str, Sums], dict[str, int], int]:
    """Return the sums and the catch of each class, and the fish caught beside them that have none."""
    sized = {name: n for name, n in caught.items() if name is not None}
    held = {name: of_class for name, of_class in sums.items() if name is not None and of_class.n}
    return held, sized, caught.get(None, 0)


def weighted_share(
    classes: Sequence[ClassRow], n_kind: Mapping[str, int], n_unmeasured: int, unseen: float | None
) -> WeightedNumber:
    """Return the share of a catch that is of a kind, from the fish of it among those with a result of each class."""
    n_typed = {row.size_class: row.n_resulted for row in classes}
    n_caught = {row.size_class: row.n_caught for row in classes}
    found = catch_weighted_share(n_kind, n_typed, n_caught)
    return _of_catch(found, sum(n_caught.values()), n_unmeasured, unseen)


def _of_catch(
    mean: CatchWeighted, n_measured: int, n_unmeasured: int, unseen: float | None
) -> WeightedNumber:
    share, guard = mean.share_covered, mean.guard
    if n_unmeasured and share is not None:
        share *= n_measured / (n_measured + n_unmeasured)
        if PART_OF_CATCH not in guard:
            guard = "; ".join(word for word in (guard, PART_OF_CATCH) if word)
    return WeightedNumber(mean.mean, mean.low, mean.high, mean.n, share, guard, unseen)
