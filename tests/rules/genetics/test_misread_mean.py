"""What misread alleles do to a mean and to its limits."""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import Any

import numpy as np
import pytest

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.misread_mean import (
    Reading,
    Readings,
    Typed,
    corrected,
    corrected_heterozygosity,
    misreading_alone,
    misreading_parts,
    reach_of_misreading,
    reaches_of_misreading,
)
from geneticlog.rules.intervals import clopper_pearson, mean_proportion
from geneticlog.rules.statistics.sums import NO_SUMS, sums_of

PURE = sums_of([k / 76 for k in [0, 1] * 14 + [2, 3]], 38)  # 19 alleles of 2,280, where 23 are awaited at 1 %
BOTH = Readings(Reading(0.01, False), Reading(0.02, False), False)


def test_a_misread_mean_comes_back() -> None:
    for truth in (0.0, 0.2, 0.5, 0.9, 1.0):
        seen = truth * 0.98 + (1 - truth) * 0.02
        assert corrected(seen, 0.02) == pytest.approx(truth)
    # H of half the loci, each of two misread alleles: c + (1 - 2c) H
    c = 2 * 0.02 * 0.98
    assert corrected_heterozygosity(0.5, c + (1 - 2 * c) * 0.5, 0.02) == pytest.approx(0.5)
    assert corrected_heterozygosity(0.02, c, 0.02) == 0.0  # a pure lake


def test_limits_reach_outwards_only_and_nowhere_without_misreading() -> None:
    assert reach_of_misreading(0.1, 0.3, 0.02) == pytest.approx(((0.1 - 0.02) / 0.96, 0.3))
    assert reach_of_misreading(0.7, 0.9, 0.02) == pytest.approx((0.7, (0.9 - 0.02) / 0.96))
    assert reach_of_misreading(0.1, 0.3, 0.0) == pytest.approx((0.1, 0.3))
    assert reach_of_misreading(0.01, 0.99, 0.02) == (0.0, 1.0)
    low, high = np.array([0.1, 0.7, 0.01]), np.array([0.3, 0.9, 0.99])
    assert reaches_of_misreading(low, high, 0.02) == (
        pytest.approx([0.08 / 0.96, 0.7, 0.0]), pytest.approx([0.3, 0.88 / 0.96, 1.0]),
    )  # fmt: skip


def test_misread_pure_fish_say_no_more_than_clean_ones() -> None:
    q = [k / 76 for k in [0, 1] * 14 + [2, 3]]
    for fish, mirrored in ((q, False), ([1 - one for one in q], True)):
        plain = mean_proportion(fish, 38)
        assert plain.low is not None
        assert plain.high is not None
        typed = Typed(sums_of(fish, 38), 30)
        found = reach_of_misreading(plain.low, plain.high, 0.01, typed)
        clean = clopper_pearson(30 if mirrored else 0, 30)
        assert found == pytest.approx(clean)
        # a rate that cannot explain them leaves the limits where they are
        assert reach_of_misreading(plain.low, plain.high, 0.002, typed) == reach_of_misreading(
            plain.low, plain.high, 0.002
        )
    # fish of classes weighted unevenly carry as much as fewer
    assert reach_of_misreading(0.004, 0.014, 0.01, Typed(PURE, 12)).high == pytest.approx(
        clopper_pearson(0, 12).high
    )


def test_misreading_explains_a_pure_lake_and_no_lake_with_an_f1() -> None:
    assert misreading_alone(0.005, 0.014, PURE, 0.01)
    assert misreading_alone(0.0, 0.4, sums_of([0.0] * 8, 38), 0.0)
    assert misreading_alone(0.99, 0.996, sums_of([1 - k / 76 for k in [0, 1] * 14 + [2, 3]], 38), 0.01)
    assert not misreading_alone(0.002, 0.1, sums_of([0.0] * 29 + [0.5], 38), 0.01)
    assert not misreading_alone(0.0, 0.1, sums_of([4 / 76] * 30, 38), 0.01)  # too many alleles together
    assert not misreading_alone(0.011, 0.02, PURE, 0.01)
    assert not misreading_alone(
        0.0, 0.1, sums_of([0.02] * 30, None), 0.01
    )  # as at 25 loci: one allele in each fish


def test_what_misreading_may_part_and_what_it_cannot() -> None:
    sure, read, alone = Reading(0.001, False), Reading(0.03, False), Reading(0.03, True)
    means = (0.02, 0.0)  # a pure lake misread by 2 %, and the same read right
    assert misreading_parts((0.01, 0.03), means, Readings(read, sure, False))
    assert misreading_parts((-0.03, -0.01), means[::-1], Readings(sure, read, False))
    assert misreading_parts((-0.03, -0.01), (0.98, 1.0), Readings(read, sure, False))  # the other way round
    assert not misreading_parts((0.01, 0.03), means, Readings(read, read, True))  # one panel moves both alike
    assert misreading_parts((0.01, 0.03), means, Readings(alone, alone, True))
    assert not misreading_parts((0.9, 0.98), (0.99, 0.01), Readings(alone, alone, True))  # two kinds of fish
    assert not misreading_parts((-0.01, 0.03), means, Readings(alone, alone, False))  # nothing to explain
    assert not misreading_parts((0.05, 0.2), (0.15, 0.0), Readings(read, sure, False))
    # at one half misreading moves nothing
    assert not misreading_parts((0.001, 0.2), (0.5, 0.4), Readings(read, sure, False))


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: corrected(-0.1, 0.01), "-0.1"),
        (lambda: corrected(0.1, 0.3), "0.3"),
        (lambda: corrected_heterozygosity(0.1, inf, 0.01), "inf"),
        (lambda: reach_of_misreading(0.2, 1.3, 0.01), "1.3"),
        (lambda: reaches_of_misreading(np.array([0.2]), np.array([1.3]), 0.01), "1.3"),
        (lambda: reach_of_misreading(0.0, 0.1, 0.01, Typed(PURE, 0.5)), "0.5"),
        (lambda: reach_of_misreading(0.0, 0.1, 0.01, Typed(PURE, 30), level=95), "95"),
        (lambda: misreading_parts((0.1, 0.2), (1.2, 0.1), BOTH), "1.2"),
        (lambda: misreading_alone(2, 0.1, PURE, 0.01), "2"),
        (lambda: misreading_alone(0.0, 0.1, PURE, 0.4), "0.4"),
        (lambda: misreading_alone(0.0, 0.1, NO_SUMS, 0.01), "no fish"),
    ],
)
def test_wrong_input_is_named(call: Callable[[], Any], said: str) -> None:
    with pytest.raises(NumberFault, match=said):
        call()
