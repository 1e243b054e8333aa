"""The interval to expect of so many fish: the one the reports give for fish of that mean and spread."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.intervals import mean_from_sums_many, mean_proportion
from geneticlog.rules.sampling import fish_for_half_width
from geneticlog.rules.statistics.planned_intervals import (
    expected_interval,
    fish_for_interval,
    half_width,
    likely_sums,
)


@given(st.lists(st.floats(0, 1), min_size=2, max_size=40))
def test_it_is_the_interval_that_fish_of_that_mean_and_spread_get(q: list[float]) -> None:
    found = expected_interval(float(np.mean(q)), float(np.std(q, ddof=1)), len(q))
    seen = mean_proportion(np.array(q), None)
    assert (found.low, found.high) == pytest.approx((seen.low, seen.high), abs=1e-6)


@given(st.floats(0, 1), st.floats(0, 0.6), st.integers(2, 200))
def test_no_half_width_is_above_one_half(mean: float, spread: float, n: int) -> None:
    reach = half_width(expected_interval(mean, spread, n))
    assert reach is not None
    assert 0 < reach <= 0.5


def test_too_few_fish_are_said_and_one_has_no_interval() -> None:
    assert [expected_interval(0.5, 0.25, n).guard for n in (0, 1, 3, 60)] == [
        "no fish",
        "one fish",
        "too few to read; wide",
        "",
    ]
    assert half_width(expected_interval(0.5, 0.25, 1)) is None
    assert half_width(None) is None


def test_alike_fish_still_leave_a_half_width() -> None:
    # all of 8 fish pure: the exact binomial limit of 0 of 8 at 95 % two-sided, 1 - .025^(1/8) = .3694
    assert half_width(expected_interval(0.0, 0.0, 8)) == pytest.approx(0.3694 / 2, abs=5e-5)
    assert fish_for_interval(0.0, 0.0, 0.10) == 17  # 1 - .025^(1/17) = .195, of 16 fish .206


@given(st.floats(0.05, 0.95), st.floats(0.02, 0.4), st.floats(0.05, 0.3))
@settings(max_examples=40)
def test_one_fish_fewer_would_not_do(mean: float, spread: float, wished: float) -> None:
    n = fish_for_interval(mean, spread, wished)
    assert (half_width(expected_interval(mean, spread, n)) or 1) <= wished
    if n > 2:
        assert (half_width(expected_interval(mean, spread, n - 1)) or 1) > wished


def test_it_asks_for_a_little_more_than_the_plain_formula() -> None:
    assert (fish_for_half_width(0.25, 0.10), fish_for_interval(0.5, 0.25, 0.10)) == (27, 29)
    assert fish_for_interval(0.5, 0.25, 0.5) == 2  # no interval is wider, and one fish has none


def test_it_asks_for_many_more_where_nearly_all_fish_are_alike() -> None:
    assert (fish_for_half_width(0.0044, 0.05), fish_for_interval(0.0016, 0.0044, 0.05)) == (2, 19)


def test_a_spread_that_cannot_be_is_taken_as_the_greatest_that_can() -> None:
    assert likely_sums(10, 0.1, 0.45).sum_q2 == pytest.approx(1.0)  # one fish of ten all Florida


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: expected_interval(1.2, 0.1, 5), "mean: 1.2 is not"),
        (lambda: expected_interval(0.2, -0.1, 5), "spread: -0.1"),
        (lambda: expected_interval(0.2, 0.1, 2.5), "2.5 is not a whole number"),
        (lambda: fish_for_interval(0.2, 0.1, 0), "half-width: 0"),
        (lambda: fish_for_interval(0.5, 0.4, 1e-6), "over a million"),
    ],
)
def test_wrong_input_is_named(call: object, words: str) -> None:
    with pytest.raises(NumberFault, match=words):
        call()


@pytest.mark.parametrize(("a", "b"), [(6, 14), (2, 2)])
def test_simulated_surveys_get_the_half_width_that_was_expected(a: float, b: float) -> None:
    random, n, surveys = np.random.default_rng(3), 10, 1500
    q = random.beta(a, b, (surveys, n))  # its mean and variance: NIST Handbook 1.3.6.6.17
    mean, spread = a / (a + b), (a * b / ((a + b) ** 2 * (a + b + 1))) ** 0.5
    got = mean_from_sums_many(np.full(surveys, n), q.sum(1), (q**2).sum(1), np.full(surveys, 70.0 * n))
    expected = half_width(expected_interval(mean, spread, n))
    assert float(((got.high - got.low) / 2).mean()) == pytest.approx(expected, rel=0.05)
