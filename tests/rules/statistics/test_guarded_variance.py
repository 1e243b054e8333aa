"""Variances of small classes against weighted variances of the fish themselves and of those that are added."""

from __future__ import annotations

import numpy as np
import pytest

from geneticlog.rules.intervals import GUARD_FISH
from geneticlog.rules.statistics.guarded_variance import guarded_variances, sum_over_classes, within_classes

CLASSES = [[0.1, 0.2, 0.4, 0.3], [0.5, 0.5, 0.5], [0.9], [0.0, 0.0, 0.0, 0.0, 0.0, 1.0]]


def column(values: list[float]) -> np.ndarray:
    return np.array(values, dtype=np.float64)[:, None]


SUMS = tuple(
    column([function(q) for q in CLASSES]) for function in (len, sum, lambda q: sum(x * x for x in q))
)


def weighted_variance(values: list[float], weights: list[float]) -> float:
    """Of values with weights that need not be whole, divisor their sum less 1."""
    w, x = np.array(weights), np.array(values)
    return float((w * (x - (w @ x) / w.sum()) ** 2).sum() / (w.sum() - 1))


def with_two(q: list[float], fish: float, low: float, high: float) -> float:
    return weighted_variance([*q, low, high], [1.0] * len(q) + [fish, fish])


def expected(q: list[float], guard: float, spare: float, low: float, high: float) -> float:
    if len(q) < 2:
        return 0.0
    m = len(q) + 2 * GUARD_FISH
    mean = (sum(q) + GUARD_FISH * (low + high)) / m
    away = max(min(mean - low, high - mean), 1e-15)
    u = min(1.0, with_two(q, GUARD_FISH, low, high) / (2 * away) ** 2)
    return max(with_two(q, guard, 0.0, 1.0), with_two(q, spare * u, low, high))


@pytest.mark.parametrize("guard", [0.0, 0.02, 0.5])
@pytest.mark.parametrize("spare", [0.1, 1.0])
@pytest.mark.parametrize("ends", [(0.0, 1.0), (0.05, 0.95), (0.0, 0.5)])
def test_the_larger_of_two_guarded_variances(guard: float, spare: float, ends: tuple[float, float]) -> None:
    low, high = (np.array([end]) for end in ends)
    found = guarded_variances(*SUMS, (low, high), guard, np.full((len(CLASSES), 1), spare))
    assert found[:, 0] == pytest.approx([expected(q, guard, spare, *ends) for q in CLASSES], abs=1e-12)


def test_without_fish_to_spare_it_is_the_plain_guard_and_of_fish_that_are_alike_nothing() -> None:
    none, ends = np.zeros((len(CLASSES), 1)), (np.zeros(1), np.ones(1))
    guarded = guarded_variances(*SUMS, ends, 0.02, none)
    assert guarded[:, 0] == pytest.approx(
        [with_two(q, 0.02, 0.0, 1.0) if len(q) > 1 else 0.0 for q in CLASSES]
    )
    assert guarded_variances(*SUMS, ends, 0.0, none)[:, 0] == pytest.approx(
        [float(np.var(q, ddof=1)) if len(q) > 1 else 0.0 for q in CLASSES]
    )


def test_a_class_of_one_fish_takes_the_pooled_variance_of_the_others() -> None:
    n, g, v = column([4, 3, 1]), column([0.25, 0.09, 0.04]), column([0.02, 0.05, 0.0])
    pooled = (3 * 0.02 + 2 * 0.05) / 5
    within, below, df = within_classes(n, g, v)
    assert within[0] == pytest.approx(0.25 * 0.02 + 0.09 * 0.05 + 0.04 * pooled)
    parts = ((0.25 + 0.04 * 3 / 5) * 0.02, (0.09 + 0.04 * 2 / 5) * 0.05)
    assert sum(parts) == pytest.approx(float(within[0]))
    assert below[0] == pytest.approx(parts[0] ** 2 / 3 + parts[1] ** 2 / 2)
    assert df[0] == 5
    # single fish alone have no spread to lend
    assert [
        float(part[0]) for part in within_classes(column([1, 1]), column([0.5, 0.5]), column([0.0, 0.0]))
    ] == [0, 0, 0]


def test_rows_are_added_one_after_the_other() -> None:
    rows = np.array([[0.1, 1.0], [0.2, 2.0], [0.3, 3.0]])
    assert sum_over_classes(rows).tolist() == [0.1 + 0.2 + 0.3, 6.0]
