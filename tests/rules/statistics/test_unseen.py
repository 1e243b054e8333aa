"""What fish spread over size classes can miss, against a search by scipy.optimize, a grid and drawn surveys."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.optimize
from hypothesis import given, settings
from hypothesis import strategies as st

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.statistics.estimates import unseen_share
from geneticlog.rules.statistics.unseen import unseen_share_of_catch

CLASSES = st.lists(st.tuples(st.integers(1, 400), st.integers(1, 40)), min_size=1, max_size=6)


def by_scipy(caught: np.ndarray, typed: np.ndarray) -> float:
    w = caught / caught.sum()
    return max(
        -scipy.optimize.minimize(
            lambda x: -w @ x,
            start,
            jac=lambda x: -w,
            bounds=[(0, 1 - 1e-9)] * len(w),
            constraints={
                "type": "ineq",
                "fun": lambda x: typed @ np.log1p(-x) - np.log(0.05),
                "jac": lambda x: -typed / (1 - x),
            },
            method="SLSQP",
            options={"ftol": 1e-12, "maxiter": 500},
        ).fun
        for start in (np.full(len(w), 0.01), -np.expm1(np.log(0.05) / typed.sum() * np.ones(len(w))))
    )


@pytest.mark.parametrize(
    ("caught", "typed"),
    [
        ((37, 47, 33, 18, 4), (7, 7, 8, 8, 3)),
        ((160, 8, 8, 8, 8), (8, 8, 8, 8, 8)),
        ((450, 300, 175, 60, 15), (8, 8, 8, 8, 8)),
        ((10, 10), (20, 3)),
    ],
)
def test_it_is_what_a_general_search_finds(caught: tuple[int, ...], typed: tuple[int, ...]) -> None:
    found = unseen_share_of_catch(caught, typed)
    assert found == pytest.approx(by_scipy(np.array(caught, float), np.array(typed, float)), abs=1e-6)


def test_no_point_of_a_grid_hides_more() -> None:
    caught, typed = np.array([160.0, 30, 50]), np.array([8, 12, 3])
    x = np.stack(np.meshgrid(*[np.arange(0, 1, 0.01)] * 3), axis=-1).reshape(-1, 3)
    missed = np.prod((1 - x) ** typed, axis=1) >= 0.05
    best = float((x[missed] @ caught).max() / caught.sum())
    found = unseen_share_of_catch(caught, typed)
    assert best <= found <= best + 0.01


@given(CLASSES)
@settings(max_examples=100, deadline=None)
def test_it_hides_at_least_what_any_one_class_does_and_what_evenly_met_fish_do(
    classes: list[tuple[int, int]],
) -> None:
    caught, typed = (np.array(side) for side in zip(*classes, strict=True))
    found = unseen_share_of_catch(caught, typed)
    alone = max(w * unseen_share(int(n)) for w, n in zip(caught / caught.sum(), typed, strict=True))
    assert found >= max(alone, unseen_share(int(typed.sum()))) - 1e-12
    assert found < 1


@pytest.mark.parametrize("n", [1, 5, 8, 30, 299])
def test_one_class_and_classes_swabbed_as_they_were_caught_are_one_sample(n: int) -> None:
    assert unseen_share_of_catch([77], [n]) == pytest.approx(unseen_share(n), abs=1e-12)
    assert unseen_share_of_catch([10, 30, 60], [n, 3 * n, 6 * n]) == pytest.approx(
        unseen_share(10 * n), abs=1e-12
    )


def test_a_size_caught_and_not_typed_hides_its_fish_wholly() -> None:
    assert unseen_share_of_catch([80, 20], [10, 0]) == pytest.approx(0.2 + 0.8 * unseen_share(10))
    assert unseen_share_of_catch([80, 20], [0, 0]) == 1.0
    assert unseen_share_of_catch([0, 0], [0, 0]) == 1.0


def test_the_worst_kind_is_missed_one_time_in_twenty_in_drawn_surveys() -> None:
    caught, typed = np.array([160, 8, 8, 8, 8]), np.full(5, 8)
    share = unseen_share_of_catch(caught, typed)
    x = share * caught.sum() / 160  # this kind lives in the commonest size alone
    missed = np.random.default_rng(4).binomial(8, x, 100_000) == 0
    assert missed.mean() == pytest.approx(0.05, abs=0.003)


@pytest.mark.parametrize(("caught", "typed"), [([3, -1], [1, 1]), ([3, 4], [1]), ([3.5], [1]), ([3], ["x"])])
def test_numbers_that_cannot_be_are_refused(caught: list[float], typed: list[float]) -> None:
    with pytest.raises(NumberFault, match="fish"):
        unseen_share_of_catch(caught, typed)
