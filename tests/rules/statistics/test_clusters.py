"""Limits that follow the sites: where they lead, and where the plain ones stay."""

from __future__ import annotations

import pytest
from scipy import stats

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.statistics.clusters import (
    Clustered,
    DesignEffect,
    clustered,
    design_effect,
    limits_over_sites,
)
from geneticlog.rules.statistics.estimates import Limits

PLAIN = Limits(0.2, 0.4)


def over(
    mean: float = 0.3, se: float = 0.05, between: float = 0.0, **of: float | None
) -> tuple[Limits, DesignEffect | None]:
    sites = Clustered(**{"n_sites": 8, "n_fish": 40, "variance": 0.01, "df": 7.0, **of})  # type: ignore[arg-type]
    return limits_over_sites(mean, PLAIN, se, None, sites, between)


def test_the_design_effect_is_the_ratio_of_the_variances() -> None:
    found, more = over()[1], over(between=0.005)[1]
    assert found is not None
    assert more is not None
    assert (found.effect, more.effect) == pytest.approx((0.01 / 0.05**2, 0.015 / 0.05**2))
    assert over(se=0.0)[1] is None
    # limits of a variance of 7 degrees of freedom, by scipy
    chi2 = stats.chi2.ppf([0.975, 0.025], 7)
    assert (found.low, found.high) == pytest.approx(tuple(0.01 * 7 / chi2 / 0.05**2))
    assert more.low == pytest.approx((0.01 * 7 / chi2[0] + 0.005) / 0.05**2)


def test_two_sites_show_no_design_effect() -> None:
    assert over(n_sites=2, df=1.0) == (PLAIN, None)
    assert over(n_sites=3, df=2.0)[1] is not None
    with pytest.raises(NumberFault, match="standard error"):
        design_effect(Clustered(3, 9, 0.01, 2.0), -0.1)


@pytest.mark.parametrize(
    ("mean", "of", "leads"),
    [
        (0.3, {}, True),
        (0.3, {"n_sites": 6}, True),
        (0.3, {"n_sites": 5}, False),
        (0.3, {"variance": 0.0}, False),
        (0.3, {"variance": None}, False),
        (0.0, {}, False),
        (1.0, {}, False),
    ],
)
def test_from_six_sites_on_they_lead_where_they_are_wider(
    mean: float, of: dict[str, float | None], leads: bool
) -> None:
    limits, _ = over(mean, **of)
    assert (limits != PLAIN) is leads
    # the variance over sites is four times that over fish: twice as wide, about
    if leads:
        assert limits.low < PLAIN.low < PLAIN.high < limits.high


def test_sites_that_agree_do_not_narrow_the_limits() -> None:
    assert over(variance=0.0001)[0] == PLAIN
    # more between the classes widens
    assert over(between=0.01)[0].high > over()[0].high


def test_one_site_alone_has_no_variance_over_sites() -> None:
    alone = clustered({"a": {"dam": (4, 1.0)}, "b": {"dam": (2, 2.0)}}, {"a": 0.5, "b": 0.5})
    assert (alone.n_sites, alone.n_fish, alone.variance, alone.leads) == (1, 6, None, False)
