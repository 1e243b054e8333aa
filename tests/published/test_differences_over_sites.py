"""A difference of means whose sampling unit is the site, against scipy's t-tests of the means of the sites.

With as many fish at every site and one size class a side, the variance over sites is that of the site means over their
number: Welch's test of them for two surveys, the paired test where both sides are of one survey and so share its sites.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from geneticlog.rules.statistics.contrast import Side, contrast
from geneticlog.rules.statistics.site_cells import AtSites, at_sites
from geneticlog.rules.statistics.sums import sums_of

Fish = list[tuple[str | None, str | None, float]]


def fish_of(random: np.random.Generator, size: str, n_sites: int, away: float = 0.0) -> Fish:
    """Five fish at every site, alike within it."""
    level = random.uniform(0.1, 0.6, n_sites)
    return [
        (size, f"cove {at}", float(q))
        for at in range(n_sites)
        for q in level[at] + away + random.uniform(-0.02, 0.02, 5)
    ]


def side(fish: Fish, size: str, sites: AtSites | None) -> Side:
    return Side({size: sums_of([q for name, _, q in fish if name == size], 38)}, {size: 1.0}, sites=sites)


def means(fish: Fish, size: str) -> list[float]:
    sites = sorted({str(site) for _, site, _ in fish})
    return [float(np.mean([q for name, at, q in fish if (name, at) == (size, site)])) for site in sites]


def test_two_surveys_are_welch_s_test_of_their_sites() -> None:
    random = np.random.default_rng(31)
    first, second = fish_of(random, "stock", 7), fish_of(random, "stock", 9, 0.2)
    found = contrast(side(first, "stock", at_sites("A", first)), side(second, "stock", at_sites("B", second)))
    expected = stats.ttest_ind(means(first, "stock"), means(second, "stock"), equal_var=False)
    interval = expected.confidence_interval(0.95)
    assert found.p == pytest.approx(expected.pvalue)
    assert (found.estimate.low, found.estimate.high) == pytest.approx((interval.low, interval.high))
    single = contrast(side(first, "stock", None), side(second, "stock", None))
    assert single.p is not None
    assert found.p is not None
    assert single.p < found.p / 10  # fish of a site are alike: taken as single they say too much


def test_two_sizes_that_go_together_over_the_sites_are_no_surer_than_single_fish() -> None:
    random = np.random.default_rng(32)
    young = fish_of(random, "stock", 8)
    adult: Fish = [("quality", site, q + float(random.normal(0.04, 0.05))) for _, site, q in young]
    sites = at_sites("A", [*young, *adult])
    found = contrast(side(young, "stock", sites), side(adult, "quality", sites), guard_fish=0, spare_fish=0)
    expected = stats.ttest_rel(means(young, "stock"), means(adult, "quality"))
    apart = contrast(side(young, "stock", None), side(adult, "quality", None), guard_fish=0, spare_fish=0)
    assert apart.p is not None
    assert expected.pvalue < apart.p  # what the fish of a site have in common cancels
    assert found.p == apart.p  # and sites that happen to agree make nothing surer than single fish do


def test_two_sizes_of_other_kinds_at_each_site_are_the_paired_test() -> None:
    """Young rich where adults are poor: the difference scatters more than single fish tell."""
    random = np.random.default_rng(33)
    young = fish_of(random, "stock", 8)
    adult: Fish = [("quality", site, 0.7 - q + float(random.normal(0, 0.02))) for _, site, q in young]
    sites = at_sites("A", [*young, *adult])
    found = contrast(side(young, "stock", sites), side(adult, "quality", sites))
    assert found.p == pytest.approx(stats.ttest_rel(means(young, "stock"), means(adult, "quality")).pvalue)


@pytest.mark.parametrize(("n_sites", "known", "follows"), [(5, 1.0, False), (6, 1.0, True), (12, 0.4, False)])
def test_few_sites_and_few_fish_with_one_are_not_followed(n_sites: int, known: float, follows: bool) -> None:
    fish = fish_of(np.random.default_rng(34), "stock", n_sites)
    n_known = round(known * len(fish))
    some = [(name, site if at < n_known else None, q) for at, (name, site, q) in enumerate(fish)]
    assert (at_sites("A", some) is not None) is follows
