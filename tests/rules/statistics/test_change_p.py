"""The p of a difference from sums: it agrees with the interval it is read from."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.intervals import difference, mean_from_sums
from geneticlog.rules.statistics.change_p import AT, difference_p_many, p_of_difference
from geneticlog.rules.statistics.change_p_weighted import weighted_difference_many, weighted_difference_p_many
from geneticlog.rules.statistics.comparison import SurveySums, compare_surveys
from geneticlog.rules.statistics.sums import sums_of

fish = st.lists(st.integers(0, 20).map(lambda k: k / 20), min_size=2, max_size=25)


def sums(q: list[float]) -> list[float]:
    return [len(q), sum(q), sum(one * one for one in q), 76.0 * len(q)]


def p_of(a: list[float], b: list[float]) -> float:
    return float(difference_p_many(np.array([sums(a)]).T, np.array([sums(b)]).T)[0])


@given(fish, fish, st.sampled_from(AT))
@settings(max_examples=80, deadline=None)
def test_it_is_below_a_level_where_the_interval_of_that_level_leaves_nought_out(
    a: list[float], b: list[float], at: float
) -> None:
    p = p_of(a, b)
    told = difference(*(mean_from_sums(*sums(q), level=1 - at) for q in (a, b)))
    assert told.low is not None
    assert told.high is not None
    outside = told.low > 1e-9 or told.high < -1e-9
    assert 0 < p <= 1
    if outside:
        assert p <= at * (1 + 1e-6)
    elif told.low < -1e-9 and told.high > 1e-9:
        assert p >= at * (1 - 1e-6)
    assert p == pytest.approx(p_of(b, a), abs=1e-9)


def test_between_the_levels_it_is_nearly_the_level_that_reaches_nought() -> None:
    random = np.random.default_rng(2)
    for _ in range(15):
        a, b = (list(random.beta(2, 5, 20) + shift) for shift in (0.0, random.uniform(0.02, 0.2)))
        low, high = 1e-6, 0.9
        for _ in range(40):
            middle = (low + high) / 2
            told = difference(*(mean_from_sums(*sums(q), level=1 - middle) for q in (a, b)))
            assert told.low is not None
            assert told.high is not None
            low, high = (low, middle) if told.low > 0 or told.high < 0 else (middle, high)
        if 0.001 < low < 0.89:
            assert p_of(a, b) == pytest.approx(low, rel=0.02)


def test_lakes_without_two_fish_on_each_side_have_no_p_and_equal_means_have_1() -> None:
    first = np.array([sums([0.1, 0.3]), sums([0.2]), [0, 0, 0, 0], sums([0.1, 0.3])]).T
    second = np.array([sums([0.1, 0.3]), sums([0.2, 0.4]), sums([0.2, 0.4]), [0, 0, 0, np.nan]]).T
    found = difference_p_many(first, second)
    assert found[0] == 1
    assert np.isnan(found[1:]).all()
    assert len(difference_p_many(np.zeros((4, 0)), np.zeros((4, 0)))) == 0


def test_all_of_one_kind_against_all_of_the_other() -> None:
    assert p_of([1.0] * 12, [0.0] * 12) < 1e-4
    assert p_of([0.0] * 12, [0.0] * 12) == 1


def test_wrong_input_is_named() -> None:
    with pytest.raises(NumberFault, match="two tables of 4 rows"):
        difference_p_many(np.zeros((3, 2)), np.zeros((3, 2)))


def surveys_of_classes(random: np.random.Generator, shift: float) -> SurveySums:
    sums_by_class = {
        name: sums_of(random.beta(2, 5, 12) * 0.5 + shift, 38) for name in ("stock", "quality", "preferred")
    }
    caught = {name: int(random.integers(12, 60)) for name in sums_by_class}
    return SurveySums("HERON", "five-length", caught, sums_by_class)


def test_the_p_of_a_weighted_difference_is_the_level_whose_limit_is_at_nought() -> None:
    random = np.random.default_rng(4)
    for _ in range(25):
        a, b = (surveys_of_classes(random, shift) for shift in (0.0, random.uniform(0.0, 0.15)))
        found = compare_surveys(a, b).difference
        p = p_of_difference(found, lambda level, a=a, b=b: compare_surveys(a, b, level).difference)  # type: ignore[misc]
        assert found.low is not None
        assert found.high is not None
        assert p is not None
        assert (p < 0.05) == (found.low > 0 or found.high < 0)
        low, high = 1e-6, 0.9
        for _ in range(30):
            middle = (low + high) / 2
            told = compare_surveys(a, b, 1 - middle).difference
            assert told.low is not None
            assert told.high is not None
            low, high = (low, middle) if told.low > 0 or told.high < 0 else (middle, high)
        if 1e-5 < low < 0.89:
            assert p == pytest.approx(low, rel=0.1)
        other_way = compare_surveys(b, a).difference
        turned = p_of_difference(other_way, lambda level, a=a, b=b: compare_surveys(b, a, level).difference)  # type: ignore[misc]
        assert turned == pytest.approx(p)


def test_no_difference_is_a_p_of_1_and_no_interval_is_none() -> None:
    held = surveys_of_classes(np.random.default_rng(5), 0.0)
    same = compare_surveys(held, held)
    assert p_of_difference(same.difference, lambda level: same.difference) == 1.0
    apart = compare_surveys(held, SurveySums("B", "inch groups", {}, {})).difference
    assert p_of_difference(apart, lambda level: apart) is None
    with pytest.raises(NumberFault, match=r"level 0\.95"):
        p_of_difference(compare_surveys(held, held, 0.9).difference, lambda level: same.difference)


def table_of(survey: SurveySums) -> list[list[float]]:
    held = survey.sums.values()
    return [
        [float(one.n) for one in held], [one.sum_q for one in held], [one.sum_q2 for one in held],
        [float("nan") if one.n_alleles is None else one.n_alleles for one in held],
    ]  # fmt: skip


def test_many_weighted_differences_at_once_have_the_limits_and_the_p_of_each_alone() -> None:
    random = np.random.default_rng(6)
    pairs = []
    for at in range(60):
        a, b = (surveys_of_classes(random, shift) for shift in (0.0, random.uniform(0.0, 0.2)))
        if at % 5 == 0:  # a class that is all alike, and loci a lab did not state
            a.sums["stock"], b.sums["stock"] = sums_of([0.1] * 4, None), sums_of([0.2] * 4, None)  # type: ignore[index]
        pairs.append((a, b, compare_surveys(a, b)))
    tables = (
        np.array([table_of(b) for _, b, _ in pairs]).transpose(1, 0, 2),
        np.array([table_of(a) for a, _, _ in pairs]).transpose(1, 0, 2),
        np.array([list(found.weights.values()) for _, _, found in pairs]),
    )
    p = weighted_difference_p_many(*tables)
    for (a, b, found), one, *limits in zip(pairs, p, *weighted_difference_many(*tables), strict=True):
        low, high = found.difference.low, found.difference.high
        assert limits[:3] == pytest.approx([found.difference.mean, low, high], abs=1e-9)
        assert found.later.low is not None
        assert found.earlier.low is not None
        widths = [(side.high or 0) - (side.low or 0) for side in (found.later, found.earlier)]
        assert limits[3] == pytest.approx(max(widths), abs=1e-9)
        assert low is not None
        assert high is not None
        assert (one < 0.05) == (low > 0 or high < 0)
        at_p = compare_surveys(a, b, float(1 - one)).difference  # at its own p the interval just reaches 0
        if 1e-5 < one < 0.89:
            assert at_p.low is not None
            assert at_p.high is not None
            nearer, wide = min(abs(at_p.low), abs(at_p.high)), at_p.high - at_p.low
            assert nearer < 0.02 * wide


def test_tables_that_do_not_fit_and_a_class_of_one_fish_are_refused() -> None:
    table = np.array([[[2.0, 1.0]], [[0.3, 0.1]], [[0.05, 0.01]], [[140.0, 70.0]]])
    with pytest.raises(NumberFault, match="do not fit"):
        weighted_difference_p_many(table, table, [[1.0]])
    with pytest.raises(NumberFault, match="fewer than two fish"):
        weighted_difference_p_many(table, table, [[0.5, 0.5]])
    assert weighted_difference_p_many(table, table, [[1.0, 0.0]]) == pytest.approx([1.0])
