"""Samples that look like the same fish twice, and fish that only seem to. Genotypes are invented and seeded."""

from __future__ import annotations

import math
from itertools import combinations, product

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


def of_a_sib(p: float, other_p: float, kind: int) -> float:
    """Chance that a full sib has a genotype, too: all kinds of parents and all they can give, one by one."""
    once = twice = 0.0
    for alleles in product((0, 1), repeat=4):
        chance = math.prod(
            share if one else 1 - share for one, share in zip(alleles, (p, p, other_p, other_p), strict=True)
        )
        given = sum(alleles[a] + alleles[2 + b] == kind for a, b in product((0, 1), repeat=2)) / 4
        once, twice = once + chance * given, twice + chance * given**2
    return twice / once


@pytest.mark.parametrize(
    ("n_of_kind", "parents"),
    [
        ((10, 20, 10), (0.5, 0.5)),  # q .5 and H .5, and the two fish alone tell nothing of the lot: one half
        (
            (16, 24, 0),
            (0.6, 0.0125),
        ),  # q .3 = (p + p') / 2 and H .6; a parent that looks pure may carry one of 80
        ((0, 24, 16), (0.9875, 0.4)),
    ],
)
def test_the_chance_of_a_pair_is_at_least_that_of_full_sibs(
    n_of_kind: tuple[int, int, int], parents: tuple[float, float]
) -> None:
    fish = np.repeat((0, 1, 2), n_of_kind)
    (pair,) = same_genotypes(np.array([fish, fish]), names(2))
    by_parents = math.prod(of_a_sib(*parents, kind) ** n for kind, n in enumerate(n_of_kind))
    by_lot = math.prod(of_a_sib(0.5, 0.5, kind) ** n for kind, n in enumerate(n_of_kind))
    assert pair.chance == pytest.approx(max(by_parents, by_lot), rel=1e-9)


@pytest.mark.parametrize(
    ("n_loci", "n_apart", "found"), [(40, 2, True), (40, 3, False), (39, 2, False), (20, 1, True)]
)
def test_the_differences_that_misreading_explains(n_loci: int, n_apart: int, found: bool) -> None:
    x = swarm(3, n_loci)
    x[2] = x[0]
    x[2, :n_apart] = (x[0, :n_apart] + 1) % 3
    pairs = same_genotypes(x, names(3), most_chance=1.0)
    assert [(pair.first, pair.second) for pair in pairs] == ([("vial 0", "vial 2")] if found else [])


def test_twelve_shared_loci_are_the_fewest() -> None:
    x = swarm(2, 12)
    x[1] = x[0]
    assert same_genotypes(x, names(2), most_chance=1.0)
    x[1, 0] = -1
    assert not same_genotypes(x, names(2), most_chance=1.0)
