"""Samples that look like the same fish twice, and fish that only seem to. Genotypes are invented and seeded."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.lab_return.doubts_of_files.same_genotypes import same_genotypes


def swarm(n: int, n_loci: int = 35) -> np.ndarray:
    return np.random.default_rng(9).choice(3, p=(0.5, 0.4, 0.1), size=(n, n_loci))


def names(n: int) -> list[str]:
    return [f"vial {at}" for at in range(n)]


def test_the_same_fish_twice_is_found_with_a_misread_locus_and_missing_calls() -> None:
    x = swarm(40, 60)
    x[17] = x[3]
    x[17, 5] = (x[3, 5] + 1) % 3
    x[17, 20:24] = -1
    found = same_genotypes(x, names(40))
    assert [(pair.first, pair.second, pair.n_different) for pair in found] == [("vial 3", "vial 17", 1)]
    assert found[0].n_loci == 56
    assert 0 < found[0].chance < 1e-4


@pytest.mark.parametrize("apart", [1, 2, 3])
def test_chance_grows_with_the_ways_to_misread_so_many_loci(apart: int) -> None:
    x = swarm(12, 60)
    x[7] = x[3]
    (alike,) = same_genotypes(x, names(12))
    x[7, :apart] = (x[3, :apart] + 1) % 3  # the other fish are the same, and so is all that is seen of them
    (found,) = same_genotypes(x, names(12))
    assert found.n_different == apart
    # which of the 60 loci differ, and which of two other genotypes each shows
    assert found.chance / alike.chance == pytest.approx(math.comb(60, apart) * 2**apart)


def test_two_young_of_one_brood_are_not_one_fish() -> None:
    random = np.random.default_rng(12)
    apart = 0
    for _ in range(10):
        parents = random.binomial(2, 0.125, (2, 4, 73))  # invented: four pairs of second-backcross fish
        pair = random.integers(0, 4, 60)
        gametes = [np.where(p[pair] == 1, random.integers(0, 2, (60, 73)), p[pair] // 2) for p in parents]
        apart += bool(same_genotypes(gametes[0] + gametes[1], names(60)))
    assert apart == 0


def test_loci_and_differences_are_those_of_a_plain_loop_over_all_pairs() -> None:
    x = swarm(60, 40)
    x[np.random.default_rng(3).random(x.shape) < 0.1] = -1
    for at, twin in ((0, 59), (7, 8), (20, 41), (7, 50)):
        x[twin] = x[at]
    x[59, 3] = (x[0, 3] + 2) % 3 if x[0, 3] >= 0 else -1
    expected = []
    for i, j in combinations(range(60), 2):
        both = [(a, b) for a, b in zip(x[i], x[j], strict=True) if a >= 0 and b >= 0]
        apart = sum(a != b for a, b in both)
        if len(both) >= 12 and apart <= max(1, 0.05 * len(both)):
            expected.append((f"vial {i}", f"vial {j}", len(both), apart))
    assert len(expected) == 5  # two twins, and three pairs among three alike
    for at_once in (2_000, 7):  # in one piece and in many
        found = same_genotypes(x, names(60), at_once=at_once)
        assert [(p.first, p.second, p.n_loci, p.n_different) for p in found] == expected


def test_pure_fish_and_first_crosses_agree_everywhere_and_mean_nothing_by_it() -> None:
    for count in (0, 1, 2):
        x = np.full((30, 35), count)
        x[5, 2] = x[6, 2] = 1
        assert same_genotypes(x, names(30)) == []


def test_fish_of_a_lineage_whose_loci_are_fixed_agree_and_mean_nothing_by_it() -> None:
    fixed = np.array([2] * 10 + [0] * 25)  # q .29 in every fish, no locus heterozygous
    assert same_genotypes(np.tile(fixed, (20, 1)), names(20)) == []


def test_different_fish_of_a_swarm_are_not_pairs() -> None:
    assert same_genotypes(swarm(60), names(60)) == []
    few = swarm(4)
    few[:, 8:] = -1
    few[1] = few[0]
    assert same_genotypes(few, names(4)) == []  # eight loci are too few to say


def test_one_sample_or_none_is_no_pair() -> None:
    assert same_genotypes(np.zeros((0, 35), dtype=int), []) == []
    assert same_genotypes(swarm(1), ["one"]) == []


@pytest.mark.parametrize(
    ("genotypes", "given", "words"),
    [
        ([[0, 5]], ["a"], "other than 0, 1, 2"),
        ([[0, 1]], ["a", "b"], "2 names"),
        ([0, 1], ["a", "b"], "2 names"),
    ],
)
def test_wrong_input_is_named(genotypes: list[object], given: list[str], words: str) -> None:
    with pytest.raises(NumberFault, match=words):
        same_genotypes(genotypes, given)
