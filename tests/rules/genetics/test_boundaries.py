"""Rules of genetics at their boundaries: the least number itself, one below, and where there is nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from geneticlog.rules.genetics.generation import generation_of
from geneticlog.rules.genetics.heterozygote_deficit import deficit_limits
from geneticlog.rules.genetics.loci import LocusCounts, judge_loci
from geneticlog.rules.genetics.misread_mean import Reading, Readings, misreading_parts
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSetFault
from geneticlog.rules.genetics.taxa import DEFAULT_PAIR, Pair, main_pair

SPOTTED, FLORIDA = Pair("spotted", "northern"), Pair("Florida", "northern")


@pytest.mark.parametrize(
    ("n_results", "pair"),
    [
        ({}, DEFAULT_PAIR),
        ({SPOTTED: 1}, SPOTTED),
        ({SPOTTED: 2, FLORIDA: 1}, SPOTTED),
        ({SPOTTED: 1, FLORIDA: 2}, FLORIDA),
        ({SPOTTED: 2, FLORIDA: 2}, FLORIDA),  # the first by name
    ],
)
def test_the_pair_with_most_results(n_results: dict[Pair, int], pair: Pair) -> None:
    assert main_pair(n_results) == pair


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ({"name": "x" * 60}, ""),
        ({"name": "x" * 61}, "61 characters; at most 60"),
        ({"name": " "}, "needs a name"),
        ({"name": "a  b"}, "one line is wanted"),
        ({"pure": 0.0}, ""),
        ({"pure": -0.01}, "from 0 to below 0.5"),
        ({"pure": 0.5}, "from 0 to below 0.5"),
        ({"f1_low": 0.05}, "stay clear of pure"),
        ({"f1_low": 0.06}, ""),
        ({"f1_low": 0.5}, ""),
        ({"f1_low": 0.51}, "hold 0.5"),
        ({"f1_high": 0.5}, ""),
        ({"f1_high": 0.49}, "hold 0.5"),
        ({"f1_high": 0.95}, "stay clear of pure"),
        ({"f1_high": 0.94}, ""),
        ({"f1_least_h": 0.0}, "above 0, at most 1"),
        ({"f1_least_h": 1.0}, ""),
        ({"f1_least_h": 1.01}, "above 0, at most 1"),
        ({"least_loci": 1}, ""),
        ({"least_loci": 0}, "at least 1"),
        ({"least_loci": True}, "a whole number is wanted"),
    ],
)
def test_the_bounds_of_a_rule_set(change: dict[str, Any], fault: str) -> None:
    if not fault:
        assert replace(DEFAULT_RULE_SET, **change).label.endswith(DEFAULT_RULE_SET.dated)
        return
    with pytest.raises(RuleSetFault, match=fault):
        replace(DEFAULT_RULE_SET, **change)


def test_a_deficit_has_limits_from_ten_fish_on() -> None:
    q, h = [0.1, 0.9] * 5, [0.1, 0.12] * 5
    limits = deficit_limits(q, h)
    assert limits is not None
    # F is 1 - .11 / .5 = .78 for them all
    assert limits.low < 0.78 < limits.high <= 1.0
    assert deficit_limits(q[:9], h[:9]) is None


@pytest.mark.parametrize(
    ("genotypes", "q", "h", "low_and_high"),
    [((1, 0, 0), 0.0, 0.0, True), ((0, 1, 0), 0.5, 1.0, True), ((0, 0, 1), 1.0, 0.0, True)],
)
def test_one_locus_of_each_genotype(
    genotypes: tuple[int, int, int], q: float, h: float, low_and_high: bool
) -> None:
    told = generation_of(q, h, 1, genotypes=genotypes)
    assert (told.counted_q, told.counted_heterozygosity, told.loci_by_alleles) == (q, h, genotypes)
    assert (told.low is not None and told.high is not None) is low_and_high
    assert told.low is not None
    assert told.low <= q <= (told.high or 0)


@pytest.mark.parametrize(("believed", "q"), [(True, 0.25), (False, 0.5)])
def test_the_interval_is_of_what_is_believed(believed: bool, q: float) -> None:
    told = generation_of(0.5, None, 20, genotypes=(15, 0, 5), believe_genotypes=believed)
    again = generation_of(q, None, 20)
    assert (told.low, told.high) == (again.low, again.high)
    assert told.counted_q == 0.25


def test_loci_and_what_they_say_together() -> None:
    called = judge_loci([LocusCounts("M1", 3, 4, 1, 2)]).loci[0]
    assert (called.n_called, called.call_rate, called.frequency) == (8, 0.8, pytest.approx(6 / 16))
    assert called.p == pytest.approx(1.0)  # as expected

    def all_apart(n_apart: int, n: int = 10) -> Any:
        apart = [LocusCounts(f"A{i}", 20, 0, 20) for i in range(n_apart)]
        return judge_loci([*apart, *(LocusCounts(f"B{i}", 10, 20, 10) for i in range(n - n_apart))])

    assert all_apart(8).nearly_all
    assert not all_apart(7).nearly_all
    assert (all_apart(7).n_departing, all_apart(7).n_too_few, all_apart(7).n_too_many) == (7, 7, 0)
    assert all_apart(7).guard == ""
    assert all_apart(7, 9).guard == "under 10 loci"
    few = [LocusCounts(f"M{i}", 7, 15, 7) for i in range(10)]
    assert judge_loci(few).guard == "under 30 fish a locus"
    assert judge_loci([LocusCounts(f"M{i}", 7, 16, 7) for i in range(10)]).guard == ""
    # each in the words of its own p: Holm's is never below the plain one
    sign = all_apart(3)
    assert all(one.p_holm >= one.p - 1e-12 for one in sign.loci)
    assert np.isfinite([one.p_holm for one in sign.loci]).all()
    # 3 loci of 40 fish without and 7 with half of them heterozygous, of which 20.25 are awaited
    assert sign.shared_fis == pytest.approx(1 - 7 * 20 / (10 * 40 * 0.5 * 80 / 79), abs=1e-9)


@pytest.mark.parametrize(
    ("limits", "means", "alone", "one_panel", "parts"),
    [
        ((0.0, 0.1), (0.02, 0.0), True, False, False),  # 0 is within
        ((-0.1, 0.0), (0.0, 0.02), True, False, False),
        ((0.01, 0.1), (0.5, 0.0), True, True, True),  # one half is of the lower kind
        ((0.01, 0.1), (0.51, 0.5), True, True, False),
        ((0.01, 0.1), (0.02, 0.0), False, True, False),
    ],
)
def test_what_misreading_parts_at_its_bounds(
    limits: tuple[float, float], means: tuple[float, float], alone: bool, one_panel: bool, parts: bool
) -> None:
    read = Reading(0.001, alone)
    assert misreading_parts(limits, means, Readings(read, read, one_panel)) is parts


def test_a_difference_as_large_as_misreading_moves_a_mean() -> None:
    read, sure = Reading(0.02, False), Reading(0.0, False)
    # .02 is 0 read with 2 % of the alleles wrong, so that it was moved by exactly .02
    assert misreading_parts((0.0199, 0.1), (0.02, 0.0), Readings(read, sure, False))
    assert not misreading_parts((0.0201, 0.1), (0.02, 0.0), Readings(read, sure, False))
    assert misreading_parts((-0.1, -0.0199), (0.0, 0.02), Readings(sure, read, False))
    assert not misreading_parts((-0.1, -0.0201), (0.0, 0.02), Readings(sure, read, False))
