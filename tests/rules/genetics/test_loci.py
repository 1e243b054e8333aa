"""Loci held against each other, and the exact test at a given deficit."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multinomial

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.hardy_weinberg import exact_p_at_fixation, hardy_weinberg
from geneticlog.rules.genetics.loci import LocusCounts, judge_loci

fish = st.integers(0, 25)


@given(fish, fish, fish)
@settings(max_examples=60, deadline=None)
def test_without_a_deficit_it_is_the_exact_hardy_weinberg_test(aa: int, ab: int, bb: int) -> None:
    if aa + ab + bb == 0:
        return
    assert exact_p_at_fixation(aa, ab, bb, 0.0) == pytest.approx(hardy_weinberg(aa, ab, bb).p_exact, abs=1e-9)


@pytest.mark.parametrize("f", [-0.2, 0.1, 0.4])
def test_at_a_deficit_it_is_the_multinomial_given_the_alleles(f: float) -> None:
    aa, ab, bb = 12, 9, 19
    n, a = 40, 33
    p = a / 80
    shares = [p * p + f * p * (1 - p), 2 * p * (1 - p) * (1 - f), (1 - p) ** 2 + f * p * (1 - p)]
    chances = {
        h: multinomial.pmf([(a - h) // 2, h, n - h - (a - h) // 2], n, shares) for h in range(1, 34, 2)
    }
    wanted = sum(one for one in chances.values() if one <= chances[ab] * (1 + 1e-9)) / sum(chances.values())
    assert exact_p_at_fixation(aa, ab, bb, f) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("f", [-1.0, -0.9, 0.9, 1.0])
def test_one_misread_fish_is_no_departure_from_a_full_deficit(f: float) -> None:
    aa, ab, bb = (0, 40, 0) if f < 0 else (20, 0, 20)
    assert exact_p_at_fixation(aa, ab, bb, f) > 0.4
    one_off = (1, 39, 0) if f < 0 else (20, 1, 19)
    assert exact_p_at_fixation(*one_off, f) > 0.05


def counts(table: np.ndarray) -> list[LocusCounts]:
    return [
        LocusCounts(f"M{at}", *(int((column == k).sum()) for k in (0, 1, 2)))
        for at, column in enumerate(table.T)
    ]


def test_a_lake_of_two_kinds_names_no_locus_and_one_misread_locus_is_found() -> None:
    random = np.random.default_rng(11)
    ancestry = random.beta(0.5, 1.0, 60)  # invented: most fish near one pure kind, some between
    named = found = 0
    for _ in range(30):
        table = random.binomial(2, np.repeat(ancestry[:, None], 30, axis=1))
        named += bool(judge_loci(counts(table)).out_of_step)
        table[table[:, 0] == 1, 0] = 0
        found += "M0" in judge_loci(counts(table)).out_of_step
    assert named <= 4  # in 5 of 100 lakes one may be named by chance
    assert found >= 25


def test_broods_lay_no_locus_to_the_lab_and_a_silent_allele_does() -> None:
    random = np.random.default_rng(21)
    named = doubted = found = 0
    for _ in range(20):
        parents = random.binomial(2, 0.5, (2, 6, 38))  # invented: six pairs of second crosses
        pair = random.integers(0, 6, 60)
        gametes = [np.where(p[pair] == 1, random.integers(0, 2, (60, 38)), p[pair] // 2) for p in parents]
        told = judge_loci(counts(gametes[0] + gametes[1]))
        named += bool(told.for_the_lab)
        doubted += bool(told.out_of_step)
        table = random.binomial(2, 0.4, (100, 38))
        table[table[:, 0] == 1, 0] = 0
        found += judge_loci(counts(table)).for_the_lab == "M0"
    assert named <= 1
    assert doubted <= 6  # "lake or lab" may be said of broods
    assert found >= 19


def test_wrong_input_is_named() -> None:
    with pytest.raises(NumberFault, match="a marker is given twice"):
        judge_loci([LocusCounts("M1", 1, 2, 3), LocusCounts("M1", 1, 2, 3)])
    with pytest.raises(NumberFault, match="fish at M1: -3"):
        judge_loci([LocusCounts("M1", 1, -3, 3)])
    with pytest.raises(NumberFault, match="outside -1 to 1"):
        exact_p_at_fixation(1, 2, 3, 1.5)
    with pytest.raises(NumberFault, match="no fish has a genotype"):
        exact_p_at_fixation(0, 0, 0, 0.0)


def test_no_locus_and_a_locus_without_a_call_are_no_fault() -> None:
    assert judge_loci([]).guard == "nothing to test"
    told = judge_loci([LocusCounts("M1", 0, 0, 0, 12)]).loci[0]
    assert (told.n_called, told.call_rate, told.p, told.fis, told.frequency) == (0, 0.0, None, None, None)


def test_a_locus_as_expected_is_neither_below_nor_above() -> None:
    # alleles 6 and 10 of 8 fish: 6 * 10 / 15 = 4 heterozygotes are expected, without bias
    told = judge_loci(
        [LocusCounts("as expected", 3, 4, 1), LocusCounts("more", 2, 6, 0), LocusCounts("fewer", 4, 2, 2)]
    )
    assert [locus.fis == 0 for locus in told.loci] == [True, False, False]
    assert (told.n_below, told.n_above) == (1, 1)
