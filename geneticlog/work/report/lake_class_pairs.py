"""Which size classes of a survey differ: each with each, by the engine of every other difference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from geneticlog.rules.statistics.contrast import Side, contrasts
from geneticlog.rules.statistics.holm import holm_of
from geneticlog.rules.statistics.site_cells import at_sites
from geneticlog.rules.statistics.sums import sums_of
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.lake_means import loci_of
from geneticlog.work.report.number_facts import ClassDifference

FEWEST_FISH = 2  # of a class; below it there is no interval


def class_differences(names: Sequence[str], fish: Sequence[FishResult]) -> tuple[ClassDifference, ...]:
    """Return the mean of the larger class minus that of the smaller, of every two classes with two fish or more.

    p_holm is adjusted over all of them.

    names
        The size classes, smallest first.
    """
    groups = {name: [one for one in fish if one.size_class == name] for name in names}
    sums = {
        name: sums_of([one.q for one in group], loci_of(group))
        for name, group in groups.items()
        if len(group) >= FEWEST_FISH
    }
    pairs = list(combinations(sums, 2))
    sites = at_sites("", [(one.size_class, one.site, one.q) for one in fish])
    tested = contrasts(
        [
            (Side(sums, {larger: 1.0}, sites=sites), Side(sums, {smaller: 1.0}, sites=sites))
            for smaller, larger in pairs
        ]
    )
    adjusted = holm_of([one.p for one in tested])
    differences = [
        ClassDifference(
            larger, smaller, difference.estimate.mean, difference.estimate.low, difference.estimate.high, difference.p,
            n_larger=difference.n_first, n_smaller=difference.n_second, guard=difference.estimate.guard,
        )
        for (smaller, larger), difference in zip(pairs, tested, strict=True)
    ]  # fmt: skip
    return tuple(replace(one, p_holm=p) for one, p in zip(differences, adjusted, strict=True))
