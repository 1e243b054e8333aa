"""The limits that fish of several classes give as one group."""

from __future__ import annotations

import numpy as np
import pytest

from geneticlog.rules.intervals import GUARD_FISH, mean_proportion
from geneticlog.rules.statistics.strata_limits import Strata, as_one_group


def one_class(q: list[float]) -> Strata:
    n, q1, q2 = float(len(q)), sum(q), sum(x * x for x in q)
    rows = (np.array([[x]]) for x in (n, q1, q2, min(q), max(q), 1.0, 1 / n))
    return Strata(*rows, np.array([0.0]), np.array([np.nan]))


@pytest.mark.parametrize("q", [[0.2, 0.4], [0.2, 0.4, 0.9], [0.0, 0.1, 0.0, 0.3, 0.5]])
def test_fish_of_one_class_have_the_limits_of_their_plain_mean(q: list[float]) -> None:
    low, high = as_one_group(one_class(q), np.array([sum(q) / len(q)]), 0.95, GUARD_FISH)
    plain = mean_proportion(q, None)
    assert (low[0], high[0]) == pytest.approx((plain.low, plain.high), abs=1e-9)


def test_one_fish_alone_tells_nothing() -> None:
    low, high = as_one_group(one_class([0.4]), np.array([0.4]), 0.95, GUARD_FISH)
    assert (low[0], high[0]) == (0.0, 1.0)
