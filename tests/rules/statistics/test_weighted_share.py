"""The share of carriers weighted to the catch, against limits of statsmodels and drawn surveys."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm
from statsmodels.stats.proportion import proportion_confint

from geneticlog.rules.statistics.weighted_share import catch_weighted_share

NAMES = ("substock", "stock", "quality", "preferred", "memorable")


def share(x: tuple[int, ...], n: tuple[int, ...], caught: tuple[int, ...], level: float = 0.95):
    kind, typed, in_all = (dict(zip(NAMES, counts, strict=False)) for counts in (x, n, caught))
    return catch_weighted_share(kind, typed, in_all, level)


@pytest.mark.parametrize("level", [0.9, 0.95])
def test_the_limits_are_those_of_the_formula(level: float) -> None:
    x, n, caught = np.array([7, 0, 3, 8, 1]), np.array([8, 8, 7, 8, 5]), np.array([160, 40, 25, 10, 5])
    w, p_h = caught / caught.sum(), x / n
    p = float(w @ p_h)
    limits = np.array([proportion_confint(a, b, 1 - level, "beta") for a, b in zip(x, n, strict=True)])
    catch = norm.ppf((1 + level) / 2) ** 2 * (w * (p_h - p) ** 2).sum() / caught.sum()
    found = share(tuple(x), tuple(n), tuple(caught), level)
    assert (found.mean, found.n, found.share_covered, found.uncovered) == (pytest.approx(p), 36, 1.0, ())
    assert found.low == pytest.approx(p - (((w * (p_h - limits[:, 0])) ** 2).sum() + catch) ** 0.5, abs=1e-9)
    assert found.high == pytest.approx(p + (((w * (limits[:, 1] - p_h)) ** 2).sum() + catch) ** 0.5, abs=1e-9)


def test_one_class_has_its_wilson_limits() -> None:
    found = share((3,), (12,), (90,))
    assert (found.low, found.high) == pytest.approx(proportion_confint(3, 12, 0.05, "wilson"), abs=1e-9)


def test_none_and_all_have_the_exact_limit() -> None:
    even = share((0, 0, 0), (10, 30, 60), (20, 60, 120))  # swabbed as caught: one sample of 100 fish
    assert (even.low, even.high) == pytest.approx(proportion_confint(0, 100, 0.05, "beta"), abs=1e-9)
    every = share((8, 8), (8, 8), (160, 40))
    assert every.high == 1.0
    assert share((8,) * 4, (8,) * 4, (208, 408, 8, 8)).mean == 1.0
    assert every.low == pytest.approx(1 - share((0, 0), (8, 8), (160, 40)).high)


def test_a_class_that_was_not_typed_is_named_and_never_averaged_away() -> None:
    found = share((2, 0), (8, 0), (60, 40))
    assert (found.mean, found.share_covered, found.uncovered) == (0.25, 0.6, ("stock",))
    assert "part of the catch" in found.guard
    nothing = share((0, 0), (0, 0), (60, 40))
    assert (nothing.mean, nothing.low, nothing.guard) == (None, None, "no fish")


CLASS = st.integers(1, 15).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n), st.integers(n, 300)))


@given(st.lists(CLASS, min_size=1, max_size=5))
@settings(max_examples=100, deadline=None)
def test_the_limits_hold_the_share_and_turn_with_it(classes: list[tuple[int, int, int]]) -> None:
    x, n, caught = zip(*classes, strict=True)
    found, others = share(x, n, caught), share(tuple(b - a for a, b in zip(x, n, strict=True)), n, caught)
    assert 0 <= found.low <= found.mean + 1e-12
    assert found.mean - 1e-12 <= found.high <= 1
    assert (others.low, others.high) == pytest.approx((1 - found.high, 1 - found.low), abs=1e-9)


@pytest.mark.parametrize(
    "carriers",
    [
        (0.6, 0.3, 0.1, 0.04, 0.04),
        (0.8, 0.0, 0.0, 0.0, 0.0),
        (0.05,) * 5,
        (0.95,) * 5,
        (0.02, 0.02, 0.1, 0.5, 0.9),
    ],
)
def test_it_holds_the_truth_in_drawn_surveys_of_eight_swabs_a_class(carriers: tuple[float, ...]) -> None:
    random, held = np.random.default_rng(3), 0
    of_catch = np.array([0.45, 0.30, 0.175, 0.06, 0.015])
    for _ in range(400):
        caught = random.multinomial(1000, of_catch)
        n = np.minimum(caught, 8)
        found = share(tuple(random.binomial(n, carriers)), tuple(n), tuple(caught))
        held += found.low <= float(of_catch @ np.array(carriers)) <= found.high
    assert held / 400 > 0.93
