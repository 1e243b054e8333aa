"""Condition and length against ancestry, within size classes."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.regression.linear_model as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.tools.tools import add_constant

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.statistics.growth import SMALL_FLORIDA_CAUTION, association, association_over_classes

pairs = st.lists(
    st.tuples(st.integers(0, 70).map(lambda k: k / 70), st.integers(60, 130)), min_size=4, max_size=30
)


@given(pairs)
@settings(max_examples=50, deadline=None)
def test_the_slope_equals_statsmodels(fish: list[tuple[float, int]]) -> None:
    q, wr = (np.array(side, dtype=float) for side in zip(*fish, strict=True))
    found = association(q, wr)
    if len(set(q)) == 1 or len(set(wr)) == 1:
        assert (found.slope, found.limits, found.p) == (None, None, None)
        return
    fit = sm.OLS(wr, add_constant(q)).fit()
    assert found.slope == pytest.approx(fit.params[1], abs=1e-6)
    assert found.limits == pytest.approx(tuple(fit.conf_int()[1]), abs=1e-5)


def test_classes_that_differ_in_both_add_nothing_to_the_slope() -> None:
    random = np.random.default_rng(6)
    q = {"stock": random.uniform(0, 0.2, 20), "trophy": random.uniform(0.8, 1, 20)}
    wr = {"stock": 80 + random.normal(0, 3, 20), "trophy": 110 + random.normal(0, 3, 20)}
    together = association(np.concatenate(list(q.values())), np.concatenate(list(wr.values())))
    within = association_over_classes({name: (q[name], wr[name]) for name in q})
    assert together.p is not None
    assert together.p < 1e-6
    assert within.limits is not None
    assert within.limits.low < 0 < within.limits.high
    design = np.column_stack(
        [np.concatenate(list(q.values())), np.repeat([1.0, 0.0], 20), np.repeat([0.0, 1.0], 20)]
    )
    fit = sm.OLS(np.concatenate(list(wr.values())), design).fit()
    assert within.slope == pytest.approx(fit.params[0])
    assert within.limits == pytest.approx(tuple(fit.conf_int()[0]))
    assert within.p == pytest.approx(fit.pvalues[0])


def test_few_fish_give_a_value_and_a_guard() -> None:
    assert association([0.2], [90.0]).slope is None
    found = association([0.2, 0.4, 0.6], [90.0, 95.0, 93.0])
    assert found.guard == "too few to read"
    assert found.slope is not None
    assert association([0.2, 0.4], [90.0, 95.0]).limits is None
    assert association_over_classes({}).n == 0
    assert association_over_classes({"stock": ([], []), "trophy": ([0.2], [90.0])}).slope is None


def test_the_rank_correlation_has_limits_that_hold_it() -> None:
    random = np.random.default_rng(7)
    q = random.random(25)
    found = association(q, 100 - 20 * q + random.normal(0, 5, 25))
    assert found.rank_limits is not None
    assert found.rank_correlation is not None
    assert -1 <= found.rank_limits.low < found.rank_correlation < found.rank_limits.high < 0.2
    assert "Maceina" in SMALL_FLORIDA_CAUTION


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: association([0.2, 1.3], [90, 95]), "number 2 is 1.3"),
        (lambda: association([0.2, 0.3], [90]), "2 against 1"),
        (lambda: association_over_classes({"stock": ([0.2, 0.3], [90])}), "q and measure of stock"),
    ],
)
def test_wrong_input_is_named(call: object, words: str) -> None:
    with pytest.raises(NumberFault, match=words):
        call()


def test_points_on_a_line_leave_chance_nothing() -> None:
    found = association([0.0, 0.25, 0.5, 0.75, 1.0], [80.0, 90.0, 100.0, 110.0, 120.0])
    assert found.slope == pytest.approx(40.0)
    assert found.p is not None
    assert found.p < 1e-9
    level = association([0.0, 0.5, 0.5, 1.0, 0.0, 1.0], [90.0, 100.0, 80.0, 90.0, 90.0, 90.0])
    assert level.slope == pytest.approx(0.0, abs=1e-12)
    assert level.p == pytest.approx(1.0)


@pytest.mark.parametrize(("n", "guard"), [(4, "too few to read"), (5, "")])
def test_five_fish_can_be_read(n: int, guard: str) -> None:
    assert association([0.1 * i for i in range(n)], [90.0, 95.0, 93.0, 97.0, 92.0][:n]).guard == guard
