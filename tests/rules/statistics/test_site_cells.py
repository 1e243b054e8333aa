"""Fish by class and site, and where too few sites, or fish with one, are known to hold them against each other."""

from __future__ import annotations

import pytest

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.statistics.site_cells import AtSites, Weighted, at_sites, over_sites
from geneticlog.rules.statistics.sums import sums_of

SIX = [("stock", f"S{i}", 0.1 * i) for i in range(6)]


def test_fish_are_summed_by_class_and_site() -> None:
    fish = [*SIX, ("stock", "S1", 0.5), ("trophy", "S1", 0.9), (None, "S1", 0.3), ("stock", None, 0.2)]
    found = at_sites("2024", fish)
    assert found == AtSites(
        "2024",
        {
            "stock": {**{f"S{i}": (1, 0.1 * i) for i in range(6)}, "S1": (2, 0.6)},
            "trophy": {"S1": (1, 0.9)},
        },
    )


@pytest.mark.parametrize(
    ("fish", "known"),
    [
        (SIX, True),
        (SIX[:5], False),  # five sites
        ([*SIX[:5], SIX[0]], False),
        ([*SIX, *[("stock", None, 0.2)] * 6], True),  # half of the fish
        ([*SIX, *[("stock", None, 0.2)] * 7], False),
        ([*SIX, *[(None, None, 0.2)] * 9], True),  # fish without a class have no say
        ([(None, site, q) for _, site, q in SIX], False),
        ([], False),
    ],
)
def test_sites_that_are_too_few(fish: list[tuple[str | None, str | None, float]], known: bool) -> None:
    assert (at_sites("2024", fish) is not None) is known


def side(weight: float, name: str = "stock", *, sites: bool = True) -> Weighted:
    fish = [(name, f"S{i}", 0.1 * i + 0.02 * k) for i in range(6) for k in range(3)]
    sums = {name: sums_of([q for _, _, q in fish], 38)}
    return Weighted(sums, {name: weight}, at_sites("2024", fish) if sites else None)


def test_the_variance_over_sites_grows_with_the_square_of_the_weight() -> None:
    one, two = over_sites([side(0.5)]), over_sites([side(1.0)])
    assert one is not None
    assert two is not None
    assert one.variance is not None
    assert two.variance == pytest.approx(4 * one.variance)
    # six site means of .02 + .1 i: their variance over six is that of the mean
    assert two.variance == pytest.approx(0.1**2 * 3.5 / 6)


def test_two_sides_of_one_outing_share_what_is_common_to_their_sites() -> None:
    apart = over_sites([side(1.0), side(-1.0, "trophy")])
    assert apart is None or apart.variance == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    "sides", [[], [side(0.0)], [side(1.0, sites=False)], [side(1.0), side(-1.0, "trophy", sites=False)]]
)
def test_without_sites_or_weights_nothing_is_said(sides: list[Weighted]) -> None:
    assert over_sites(sides) is None


def test_a_class_on_both_sides_is_refused() -> None:
    with pytest.raises(NumberFault, match="'stock' is on both sides"):
        over_sites([side(1.0), side(-1.0)])
