"""Fish of one site as a cluster: the interval of a catch-weighted mean that follows the sites."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from geneticlog.rules.statistics.clusters import DesignEffect, clustered, limits_over_sites
from geneticlog.rules.statistics.estimates import Limits
from geneticlog.rules.statistics.site_cells import LEAST_LOGGED
from geneticlog.rules.statistics.sums import sums_of
from geneticlog.rules.strata import means_at_weights
from geneticlog.work.report.facts import FishResult
from geneticlog.work.report.lake_means import loci_of
from geneticlog.work.report.number_facts import ClassRow, WeightedNumber

ONE_BROOD_FROM = (
    0.5  # share of the young with a result from one site from which they are warned of as one brood
)
FEWEST_YOUNG = 3


@dataclass(frozen=True)
class Sites:
    """The sites of the fish with a result.

    n_sites: sites logged; n_without: fish with a result and no site, of which nothing is known. design_effect: variance
    of the catch-weighted mean over sites / over single fish, of the fish with a site, with its limits; None from fewer
    than three sites, or where fewer than half of the fish have one. leads: from six sites on the interval follows them.
    young_site, n_young_there, n_young: the site with most of the young fish, where these are half of them or more.
    """

    n_sites: int
    n_without: int
    design_effect: float | None
    leads: bool
    young_site: str | None
    n_young_there: int
    n_young: int
    n_logged: int = 0
    design_effect_low: float | None = None
    design_effect_high: float | None = None


def sites_of(
    classes: Sequence[ClassRow], fish: Sequence[FishResult], whole: WeightedNumber
) -> tuple[Sites | None, WeightedNumber]:
    """Return the sites of some fish, and their mean with an interval that follows the sites where there are enough.

    None where no fish with a result has a site.
    """
    logged = [one for one in fish if one.site]
    if not logged:
        return None, whole
    young = [one for one in fish if one.size_class in {row.size_class for row in classes if not row.adult}]
    most = Counter(one.site for one in young if one.site).most_common(1)
    site, n_there = most[0] if most else (None, 0)
    crowded = n_there >= FEWEST_YOUNG and n_there >= ONE_BROOD_FROM * len(young)
    caught = {row.size_class: row.n_caught for row in classes if row.n_caught}
    total = sum(caught.values())
    limits, effect, leads = over_sites(fish, {name: n / total for name, n in caught.items()}, whole, total)
    sites = Sites(
        n_sites=len({one.site for one in logged}),
        n_without=len(fish) - len(logged),
        design_effect=effect.effect if effect else None,
        leads=leads,
        young_site=site if crowded else None,
        n_young_there=n_there if crowded else 0,
        n_young=len(young),
        n_logged=len(logged),
        design_effect_low=effect.low if effect else None,
        design_effect_high=effect.high if effect else None,
    )
    return sites, replace(whole, low=limits.low, high=limits.high) if limits else whole


def over_sites(
    fish: Sequence[FishResult],
    weights: Mapping[str, float],
    whole: WeightedNumber,
    n_catch: int | None = None,
) -> tuple[Limits | None, DesignEffect | None, bool]:
    """Return limits of a weighted mean that follow the sites, its design effect, and whether the sites lead.

    Fish without a site are neither one cluster nor many: the fish with one show how much farther than single fish the
    sites scatter, and that is taken for all. Nothing is said where fewer than half of the fish have a site.

    weights
        Size class -> its weight.
    whole
        The weighted mean, with the limits over single fish.
    n_catch
        Fish caught, where the weights are their shares and so are a sample themselves.
    returns
        No limits where there are none over single fish or the sites say nothing.
    """
    sized = [one for one in fish if weights.get(one.size_class or "")]
    logged = [one for one in sized if one.site]
    if whole.mean is None or whole.low is None or whole.high is None or not logged:
        return None, None, False
    if len(logged) < LEAST_LOGGED * len(sized):
        return None, None, False
    of_all, of_logged = _single_fish(sized, weights, n_catch), _single_fish(logged, weights, n_catch)
    if of_all is None or of_logged is None or of_logged.within == 0:
        return None, None, False
    sites = clustered(_cells(logged), of_logged.weights)
    if sites.variance is not None and len(logged) < len(sized):
        sites = replace(sites, variance=sites.variance * of_all.within / of_logged.within)
    loci = loci_of(sized)
    limits, effect = limits_over_sites(
        whole.mean,
        Limits(whole.low, whole.high),
        of_all.se,
        2.0 * sum(loci) if loci else None,
        sites,
        of_all.between,
    )
    return limits, effect, sites.leads


@dataclass(frozen=True)
class _SingleFish:
    """A weighted mean over single fish: weights of the classes met, within- and between-class part of its variance."""

    weights: dict[str, float]
    within: float
    between: float

    @property
    def se(self) -> float:
        return float((self.within + self.between) ** 0.5)


def _single_fish(
    fish: Sequence[FishResult], weights: Mapping[str, float], n_catch: int | None
) -> _SingleFish | None:
    """Return what single fish show; None where no size class has two of them."""
    groups = _by_class(fish)
    total = sum(weights[name] for name in groups)
    of_them = {name: w / total for name, w in weights.items() if name in groups}
    sums = {name: sums_of([one.q for one in group], loci_of(group)) for name, group in groups.items()}
    (plain,) = means_at_weights([sums], of_them)
    if plain.se is None or plain.mean is None:
        return None
    between = 0.0
    if n_catch is not None:
        between = (
            sum(w * (sums[name].sum_q / sums[name].n - plain.mean) ** 2 for name, w in of_them.items())
            / n_catch
        )
    return _SingleFish(of_them, plain.se**2, between)


def _by_class(fish: Sequence[FishResult]) -> dict[str, list[FishResult]]:
    groups: dict[str, list[FishResult]] = {}
    for one in fish:
        groups.setdefault(one.size_class or "", []).append(one)
    return groups


def _cells(fish: Sequence[FishResult]) -> dict[str, dict[str, tuple[int, float]]]:
    """Return fish and sum of q of each size class at each site."""
    cells: dict[str, dict[str, tuple[int, float]]] = {}
    for each in fish:
        at_site = cells.setdefault(each.size_class or "", {})
        n, q = at_site.get(each.site or "", (0, 0.0))
        at_site[each.site or ""] = (n + 1, q + each.q)
    return cells
