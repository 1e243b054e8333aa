"""Fish of one site as a cluster: the interval of a catch-weighted mean that follows the sites."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from geneticlog.rules.statistics.clusters import clustered, limits_over_sites
from geneticlog.rules.statistics.estimates import Limits
from geneticlog.rules.statistics.sums import sums_of
from geneticlog.rules.strata import catch_weighted_from_sums
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.lake_means import loci_of
from geneticlog.work.report.number_facts import ClassRow, WeightedNumber

NO_SITE = "no site"
ONE_BROOD_FROM = (
    0.5  # share of the young with a result from one site from which they are warned of as one brood
)
FEWEST_YOUNG = 3


@dataclass(frozen=True)
class Sites:
    """The sites of the fish with a result.

    n_sites: sites logged; n_without: fish with a result and no site, together one more cluster. design_effect: variance
    of the catch-weighted mean over sites / over single fish. leads: from six clusters on the interval follows them.
    young_site, n_young_there, n_young: the site with most of the young fish, where these are half of them or more.
    """

    n_sites: int
    n_without: int
    design_effect: float | None
    leads: bool
    young_site: str | None
    n_young_there: int
    n_young: int


def sites_of(
    classes: Sequence[ClassRow], fish: Sequence[FishResult], whole: WeightedNumber
) -> tuple[Sites | None, WeightedNumber]:
    """Return the sites of some fish, and their mean with an interval that follows the sites where there are enough.

    None where no fish with a result has a site.
    """
    logged = {one.site for one in fish if one.site}
    if not logged:
        return None, whole
    young = [one for one in fish if one.size_class in {row.size_class for row in classes if not row.adult}]
    most = Counter(one.site for one in young if one.site).most_common(1)
    site, n_there = most[0] if most else (None, 0)
    crowded = n_there >= FEWEST_YOUNG and n_there >= ONE_BROOD_FROM * len(young)
    sites = Sites(
        len(logged), sum(not one.site for one in fish), None, False, site if crowded else None,
        n_there if crowded else 0, len(young),
    )  # fmt: skip
    rows = {row.size_class: row.n_caught for row in classes if row.n_caught}
    of_class = {name: [one for one in fish if one.size_class == name] for name in rows}
    of_class = {name: group for name, group in of_class.items() if group}
    if whole.mean is None or whole.low is None or whole.high is None or not of_class:
        return sites, whole
    caught = {name: rows[name] for name in of_class}
    total = sum(caught.values())
    weights = {name: n / total for name, n in caught.items()}
    cells: dict[str, dict[str, tuple[int, float]]] = {}
    for name, group in of_class.items():
        for one in group:
            n, q = cells.setdefault(name, {}).get(one.site or NO_SITE, (0, 0.0))
            cells[name][one.site or NO_SITE] = (n + 1, q + one.q)
    plain = catch_weighted_from_sums(
        {name: sums_of([one.q for one in group], loci_of(group)) for name, group in of_class.items()}, caught
    )
    if plain.se is None or plain.mean is None:
        return sites, whole
    between = sum(
        weights[name] * (sum(one.q for one in group) / len(group) - plain.mean) ** 2 / total
        for name, group in of_class.items()
    )
    every = [one for group in of_class.values() for one in group]
    loci = loci_of(every)
    over_sites = clustered(cells, weights)
    limits, effect = limits_over_sites(
        whole.mean,
        Limits(whole.low, whole.high),
        plain.se,
        2.0 * sum(loci) if loci else None,
        over_sites,
        between,
    )
    return replace(sites, design_effect=effect, leads=over_sites.leads), replace(
        whole, low=limits.low, high=limits.high
    )
