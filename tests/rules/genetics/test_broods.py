"""A sign of few broods in genotypes: fish bred here by Mendel's rules, each locus by itself."""

from __future__ import annotations

import numpy as np
import pytest

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.broods import brood_sign

Table = np.ndarray


def child(mother: Table, father: Table, random: np.random.Generator) -> Table:
    gametes = [np.where(one == 1, random.integers(0, 2, one.shape), one // 2) for one in (mother, father)]
    return gametes[0] + gametes[1]


def of_swarm(n_broods: int, n_fish: int, random: np.random.Generator, loci: int = 38) -> Table:
    parents = [(random.binomial(2, 0.3, loci), random.binomial(2, 0.3, loci)) for _ in range(n_broods)]
    return np.array([child(*parents[at % n_broods], random) for at in range(n_fish)])


def test_few_broods_are_found_and_their_number_is_told() -> None:
    random = np.random.default_rng(1)
    for n_broods in (4, 8):
        told = [brood_sign(of_swarm(n_broods, 40, random)) for _ in range(6)]
        assert all(one.found for one in told)
        # pairs of one brood: n_broods groups of 40 / n_broods fish
        of_one = n_broods * (40 / n_broods) * (40 / n_broods - 1) / (40 * 39)
        assert 0.5 / of_one <= np.median([one.n_broods for one in told]) <= 2 / of_one
        assert sum(1 / of_one <= (one.at_most or np.inf) for one in told) >= 5
        # no number where it would be no fewer than the fish
        assert all(one.at_most is None or one.at_most < 40 for one in told)
        assert any(one.at_most is not None for one in told)


def test_fish_of_no_common_brood_are_not_taken_for_sibs() -> None:
    random = np.random.default_rng(2)
    found = [brood_sign(of_swarm(40, 40, random)).found for _ in range(20)]
    # kinds side by side are alike in ancestry and not in places
    kinds = np.vstack([np.zeros((12, 38), int), np.ones((10, 38), int), random.binomial(1, 0.5, (14, 38))])
    assert sum(found) <= 2
    assert not brood_sign(kinds).found


def test_what_cannot_be_looked_for_is_said() -> None:
    random = np.random.default_rng(3)
    assert brood_sign(np.full((5, 38), -1)).guard == "no genotypes"
    assert brood_sign(of_swarm(2, 11, random)).guard == "under 12 fish"
    assert brood_sign(np.zeros((30, 38), int)).guard == "under 20 loci vary"
    assert brood_sign(of_swarm(2, 30, random, loci=15)).guard == "under 20 loci vary"
    # two missing calls in ten change nothing of it
    table = of_swarm(4, 40, random)
    table[random.random(table.shape) < 0.2] = -1
    assert brood_sign(table).found
    assert brood_sign(table) == brood_sign(table)


@pytest.mark.parametrize("genotypes", [[0, 1, 2], [[0, 3]], [["a"]]])
def test_other_tables_are_refused(genotypes: object) -> None:
    with pytest.raises(NumberFault, match="genotypes"):
        brood_sign(genotypes)
    with pytest.raises(NumberFault, match="shuffles"):
        brood_sign(np.zeros((30, 38), int), 99)
