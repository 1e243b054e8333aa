"""Sample sizes and allocation: what adds up, what is least, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import hypergeom, t

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.sampling import (
    allocate,
    chance_of_a_carrier,
    fish_for_a_carrier,
    fish_for_half_width,
    half_width_of,
)

catches = st.dictionaries(st.sampled_from("abcdef"), st.integers(0, 90), min_size=1).filter(
    lambda catch: sum(catch.values()) > 0
)


@given(catches, st.integers(0, 200), st.integers(0, 8), st.sampled_from(["equal", "proportional"]))
def test_an_allocation_adds_up_and_gives_every_class_the_least(
    catch: dict[str, int], n: int, least: int, rule: str
) -> None:
    if least * len(catch) > n:
        with pytest.raises(NumberFault, match="too few"):
            allocate(n, catch, rule=rule, least=least)
        return
    found = allocate(n, catch, rule=rule, least=least)
    assert sum(found.values()) == n
    assert list(found) == list(catch)
    assert min(found.values()) >= least


def test_spreads_bring_the_least_variance_and_their_absence_the_catch() -> None:
    assert allocate(30, {"a": 100, "b": 100}, {"a": 0.1, "b": 0.2}) == {"a": 10, "b": 20}
    assert allocate(30, {"a": 100, "b": 200}) == {"a": 10, "b": 20}
    assert allocate(30, {"a": 99, "b": 1}, least=5) == {"a": 25, "b": 5}
    assert allocate(31, {"a": 99, "b": 1}, rule="equal") == {"a": 16, "b": 15}


def test_no_other_allocation_of_ten_swabs_has_less_variance() -> None:
    catch, spread = {"a": 60, "b": 30, "c": 10}, {"a": 0.1, "b": 0.3, "c": 0.2}

    def variance(n: dict[str, int]) -> float:
        return sum((catch[k] * spread[k]) ** 2 / n[k] for k in catch)

    best = min(variance({"a": a, "b": b, "c": 20 - a - b}) for a in range(1, 19) for b in range(1, 20 - a))
    assert variance(allocate(20, catch, spread)) == pytest.approx(best, rel=0.01)


@given(st.floats(0.02, 0.45), st.floats(0.02, 0.3))
@settings(max_examples=40)
def test_one_fish_fewer_would_not_do(spread: float, half_width: float) -> None:
    n = fish_for_half_width(spread, half_width)
    assert half_width_of(spread, n) <= half_width
    if n > 2:
        assert half_width_of(spread, n - 1) > half_width
    assert half_width_of(spread, n) == pytest.approx(t.ppf(0.975, n - 1) * spread / n**0.5)


@given(st.integers(1, 300), st.data())
def test_a_closed_water_equals_scipy(population: int, data: st.DataObject) -> None:
    carriers = data.draw(st.integers(0, population))
    n = data.draw(st.integers(0, population))
    expected = 1 - hypergeom.pmf(0, population, carriers, n)
    assert chance_of_a_carrier(carriers / population, n, population) == pytest.approx(expected, abs=1e-9)


@given(st.floats(0.001, 0.999), st.floats(0.5, 0.999))
def test_fish_for_a_carrier_is_the_least_that_does(frequency: float, chance: float) -> None:
    n = fish_for_a_carrier(frequency, chance)
    assert chance_of_a_carrier(frequency, n) >= chance - 1e-9
    if n > 1:
        assert chance_of_a_carrier(frequency, n - 1) < chance + 1e-9


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: allocate(30, {}), "no size class"),
        (lambda: allocate(30, {"a": -1}), "catch of a: -1"),
        (lambda: allocate(30, {"a": 1, "b": 1}, {"a": 0.1}), "no spread is given for 'b'"),
        (lambda: allocate(30, {"a": 1}, {"a": -0.1}), "spread of a"),
        (lambda: allocate(30, {"a": 0, "b": 0}), "nothing tells them apart"),
        (lambda: allocate(30, {"a": 1}, rule="best"), "'best' is not one of"),
        (lambda: allocate(2.5, {"a": 1}), "2.5 is not a whole number"),
        (lambda: fish_for_half_width(0, 0.1), "spread: 0"),
        (lambda: fish_for_half_width(0.2, 0), "half-width: 0"),
        (lambda: fish_for_half_width(0.4, 1e-6), "over a million"),
        (lambda: half_width_of(0.2, 1), "1 is not a whole number from 2"),
        (lambda: chance_of_a_carrier(1.2, 5), "frequency: 1.2 is not"),
        (lambda: chance_of_a_carrier(0.1, 50, 40), "50 is more than the 40"),
        (lambda: fish_for_a_carrier(0), "frequency: 0"),
        (lambda: fish_for_a_carrier(0.1, 1), "level 1"),
    ],
)
def test_wrong_input_is_named(call: object, words: str) -> None:
    with pytest.raises(NumberFault, match=words):
        call()
