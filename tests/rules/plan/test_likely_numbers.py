"""What a plan tries its fish on: fish drawn from the lake's own, against statsmodels' power and plain resampling."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.power import NormalIndPower

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.plan.likely_fish import likely_fish, moved, unknown_fish
from geneticlog.rules.plan.likely_numbers import (
    chance_to_see_change,
    chance_to_see_young_and_adult,
    likely_half_width,
)
from geneticlog.rules.strata import catch_weighted

SWARM = np.random.default_rng(3).beta(6, 14, 40)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=20), st.floats(-1, 1))
def test_fish_are_moved_by_as_much_as_asked_or_to_the_end(q: list[float], by: float) -> None:
    fish = likely_fish(q)
    there = moved(fish, by)
    assert there.mean == pytest.approx(min(1.0, max(0.0, fish.mean + by)), abs=1e-9)
    assert there.share.sum() == pytest.approx(1)
    assert ((there.q >= 0) & (there.q <= 1)).all()


def test_fish_drawn_have_the_spread_of_a_sample() -> None:
    assert likely_fish(SWARM).spread == pytest.approx(float(np.std(SWARM, ddof=1)), rel=1e-9)
    assert (unknown_fish(0.25).mean, unknown_fish(0.25).spread) == pytest.approx((0.5, 0.25), abs=0.01)
    with pytest.raises(NumberFault, match="at least one is wanted"):
        likely_fish([])
    with pytest.raises(NumberFault, match=r"not between 0 and 0\.5"):
        unknown_fish(0.5)


@pytest.mark.parametrize(("n", "change"), [(40, 0.1), (90, 0.08), (200, -0.05)])
def test_the_chance_of_one_class_is_the_power_of_two_means(n: int, change: float) -> None:
    fish = likely_fish(SWARM)
    found = chance_to_see_change({"all": (n, fish)}, {"all": n}, {"all": 1.0}, change)
    spread = ((fish.spread**2 + moved(fish, change).spread ** 2) / 2) ** 0.5
    power = NormalIndPower().power(abs(change) / spread, n, 0.05)
    assert found == pytest.approx(power, abs=0.06)  # t in place of the normal, and a guard on the variance


def test_young_against_adults_is_the_same_where_either_is_one_class() -> None:
    fish = likely_fish(SWARM)
    found = chance_to_see_young_and_adult(
        ({"young": fish}, {"adult": fish}), {"young": 60, "adult": 60}, {"young": 60, "adult": 60}, 0.08
    )
    spread = ((fish.spread**2 + moved(fish, 0.08).spread ** 2) / 2) ** 0.5
    assert found == pytest.approx(NormalIndPower().power(0.08 / spread, 60, 0.05), abs=0.06)


def test_no_change_is_seen_as_often_as_the_level_lets_it() -> None:
    fish = likely_fish(SWARM)
    assert chance_to_see_change({"all": (40, fish)}, {"all": 40}, {"all": 1.0}, 1e-9) < 0.04  # on one side


def test_the_half_width_of_a_lake_is_the_mean_of_those_of_surveys_drawn() -> None:
    random = np.random.default_rng(8)
    q = {"small": random.beta(2, 8, 12), "large": random.beta(5, 5, 9)}
    catch, swabs = {"small": 60, "large": 20}, {"small": 15, "large": 8}
    fish = {name: likely_fish(values) for name, values in q.items()}
    found = likely_half_width(swabs, catch, fish)
    widths = []
    for _ in range(300):
        drawn = {name: random.choice(fish[name].q, n) for name, n in swabs.items()}
        told = catch_weighted(drawn, catch, None)
        widths.append((told.high - told.low) / 2)
    assert found == pytest.approx(float(np.mean(widths)), rel=0.04)
    assert likely_half_width({"small": 15}, catch, fish) is None  # a class that is caught and not swabbed
    assert likely_half_width({"small": 1, "large": 1}, catch, fish) is None
    assert likely_half_width(swabs, {}, fish) is None


def test_what_was_tried_once_answers_for_nothing_else() -> None:
    """Answers are kept; so each that differs in one thing asked must be an answer of its own."""
    fish, other = likely_fish(SWARM), likely_fish(SWARM[:30])
    swabs, catch = {"small": 12, "large": 9}, {"small": 30.0, "large": 20.0}
    both = {"small": fish, "large": fish}
    widths = [
        likely_half_width(swabs, catch, both),
        likely_half_width(swabs | {"large": 10}, catch, both),
        likely_half_width(swabs, catch | {"large": 25.0}, both),
        likely_half_width(swabs, catch, both | {"large": other}),
        likely_half_width(swabs, catch, both, 0.01),
        likely_half_width(swabs, catch, both, 0.0, 0.9),
        likely_half_width(swabs, dict(reversed(catch.items())), both),
    ]
    assert len(set(widths)) == len(widths)
    assert likely_half_width(swabs, catch, {name: likely_fish(SWARM) for name in catch}) == widths[0]

    half = {"small": 0.5, "large": 0.5}
    earlier = dict.fromkeys(half, (20, fish))
    chances = [
        chance_to_see_change(earlier, swabs, half, 0.2),
        chance_to_see_change(earlier | {"small": (10, fish)}, swabs, half, 0.2),
        chance_to_see_change(earlier | {"small": (20, other)}, swabs, half, 0.2),
        chance_to_see_change(earlier, swabs | {"large": 5}, half, 0.2),
        chance_to_see_change(earlier, swabs, {"small": 0.8, "large": 0.2}, 0.2),
        chance_to_see_change(earlier, swabs, half, 0.25),
        chance_to_see_change(earlier, swabs, half, 0.2, 0.9),
    ]
    assert len(set(chances)) == len(chances)

    young = {"small": fish, "middle": other}
    sides = young, {"large": fish}
    swabs, catch = swabs | {"middle": 7}, catch | {"middle": 15.0}
    differences = [
        chance_to_see_young_and_adult(sides, swabs, catch, 0.2),
        chance_to_see_young_and_adult(sides, swabs | {"small": 6}, catch, 0.2),
        chance_to_see_young_and_adult(sides, swabs, catch | {"small": 12.0}, 0.2),
        chance_to_see_young_and_adult((young | {"small": other}, {"large": fish}), swabs, catch, 0.2),
        chance_to_see_young_and_adult((young, {"large": other}), swabs, catch, 0.2),
        chance_to_see_young_and_adult(sides, swabs, catch, 0.25),
        chance_to_see_young_and_adult(sides, swabs, catch, 0.2, 0.9),
    ]
    assert len(set(differences)) == len(differences)
