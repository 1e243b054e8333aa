"""Heterozygote deficit, the same fish twice, and placeholders."""

from __future__ import annotations

import numpy as np
import pytest

from geneticlog.rules.checking import NumberFault
from geneticlog.rules.lineage import ALIKE, BIMODAL, lineage_sign, runs_of_equal, same_genotypes


def test_a_fresh_mixture_of_pure_parents_is_flagged_as_two_groups() -> None:
    q = [0.0, 0.02, 0.01, 0.0, 0.03, 0.98, 1.0, 0.97, 1.0, 0.99]
    found = lineage_sign(q, [0.0, 0.04, 0.02, 0.0, 0.06, 0.04, 0.0, 0.06, 0.0, 0.02], 35)
    assert found.flagged
    assert found.hint == BIMODAL
    assert not found.below_marker_variance


def test_fish_nearly_alike_with_few_heterozygous_loci_are_flagged_as_alike() -> None:
    found = lineage_sign([0.27, 0.28, 0.25, 0.29, 0.26] * 3, [0.13] * 15, 35)
    assert found.flagged
    assert found.hint == ALIKE
    assert found.below_marker_variance


@pytest.mark.parametrize(
    ("q", "h"),
    [
        ([0.27] * 9, [0.1] * 9),  # too few fish for the rule
        ([0.02] * 20, [0.0] * 20),  # a northern lake
        ([0.3] * 20, [0.4] * 20),  # heterozygotes as expected
        ([0.0] * 20, [0.0] * 20),
    ],
)
def test_no_flag_without_a_deficit_in_enough_fish(q: list[float], h: list[float]) -> None:
    found = lineage_sign(q, h, 35)
    assert (found.flagged, found.sentence, found.hint) == (False, "", "")


def swarm(n: int) -> np.ndarray:
    return np.random.default_rng(9).choice(3, p=(0.5, 0.4, 0.1), size=(n, 35))


def test_the_same_fish_twice_is_found_with_a_misread_locus_and_missing_calls() -> None:
    x = swarm(40)
    x[17] = x[3]
    x[17, 5] = (x[3, 5] + 1) % 3
    x[17, 20:24] = -1
    found = same_genotypes(x, [f"vial {at}" for at in range(40)], most_different=0.04)
    assert [(pair.first, pair.second, pair.n_different) for pair in found] == [("vial 3", "vial 17", 1)]
    assert found[0].n_loci == 31


def test_pure_fish_agree_everywhere_and_mean_nothing_by_it() -> None:
    x = np.zeros((30, 35), dtype=int)
    x[5, 2] = x[6, 2] = 1
    assert same_genotypes(x, [str(at) for at in range(30)]) == []


def test_different_fish_of_a_swarm_are_not_pairs() -> None:
    assert same_genotypes(swarm(60), [str(at) for at in range(60)]) == []
    few = swarm(4)
    few[:, 8:] = -1
    few[1] = few[0]
    assert same_genotypes(few, list("abcd")) == []  # eight loci are too few to say


def test_a_run_of_the_same_intermediate_pair_is_a_placeholder() -> None:
    q, h = [0.0, 0.0, 0.0, 0.6, 0.6, 0.6, 0.3], [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.4]
    assert runs_of_equal(q, h) == [(3, 5)]
    assert runs_of_equal([], []) == []
    assert runs_of_equal([0.6, 0.6], [None, None]) == []


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: lineage_sign([0.1, 0.2], [0.1]), "2 against 1"),
        (lambda: lineage_sign([], []), "q: there is none"),
        (lambda: same_genotypes([[0, 5]], ["a"]), "other than 0, 1, 2"),
        (lambda: same_genotypes([[0, 1]], ["a", "b"]), "2 names"),
    ],
)
def test_wrong_input_is_named(call: object, words: str) -> None:
    with pytest.raises(NumberFault, match=words):
        call()
