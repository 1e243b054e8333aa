"""Means and shares of one survey weighted to its measured catch, size class by size class."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from geneticlog.rules.statistics.sums import sums_of
from geneticlog.rules.statistics.weighted_share import catch_weighted_share
from geneticlog.rules.strata import PART_OF_CATCH, catch_weighted_from_sums
from geneticlog.rules.strata import CatchWeighted as Weighted
from geneticlog.work.report.facts import CatchWeighted, ClassRow, FishResult
from geneticlog.work.report.lake_means import loci_of


def weighted_mean(
    classes: Sequence[ClassRow], fish: Sequence[FishResult], n_unmeasured: int, unseen: float | None
) -> CatchWeighted:
    """Return the mean q of a catch; fish without a class, n_unmeasured, were caught too and are not covered."""
    of_class = {row.size_class: [one for one in fish if one.size_class == row.size_class] for row in classes}
    sums = {
        name: sums_of([one.q for one in group], loci_of(group)) for name, group in of_class.items() if group
    }
    if not sums:
        return CatchWeighted(None, None, None, 0, None, "no fish")
    n_caught = {row.size_class: row.n_caught for row in classes}
    return _of_catch(catch_weighted_from_sums(sums, n_caught), classes, n_unmeasured, unseen)


def weighted_share(
    classes: Sequence[ClassRow], n_kind: Mapping[str, int], n_unmeasured: int, unseen: float | None
) -> CatchWeighted:
    """Return the share of a catch that is of a kind, from the fish of it among those with a result of each class."""
    n_typed = {row.size_class: row.n_resulted for row in classes}
    n_caught = {row.size_class: row.n_caught for row in classes}
    return _of_catch(catch_weighted_share(n_kind, n_typed, n_caught), classes, n_unmeasured, unseen)


def _of_catch(
    found: Weighted, classes: Sequence[ClassRow], n_unmeasured: int, unseen: float | None
) -> CatchWeighted:
    share, guard = found.share_covered, found.guard
    if n_unmeasured and share is not None:
        n_measured = sum(row.n_caught for row in classes)
        share *= n_measured / (n_measured + n_unmeasured)
        if PART_OF_CATCH not in guard:
            guard = "; ".join(word for word in (guard, PART_OF_CATCH) if word)
    return CatchWeighted(found.mean, found.low, found.high, found.n, share, guard, unseen)
