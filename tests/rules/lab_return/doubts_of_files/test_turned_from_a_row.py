"""Shares that turn round from one row on, held against Welch's test as scipy has it."""

from __future__ import annotations

from statistics import fmean

import numpy as np
import pytest
from return_tables import CODES
from scipy.stats import ttest_ind

from geneticlog.rules.lab_return.doubts_of_files.copied_down import NEARLY_PURE
from geneticlog.rules.lab_return.doubts_of_files.sorted_parts import mostly_sorted, sorted_parts
from geneticlog.rules.lab_return.doubts_of_files.turned_tables import (
    ALIKE,
    LEAST_BLOCK,
    LEAST_FISH,
    OF_A_BLOCK,
    UNLIKE,
    turned_from_a_row,
    turned_tables,
)
from geneticlog.rules.lab_return.drafts.draft import Draft

MIXED = (NEARLY_PURE + 0.01, 0.99 - NEARLY_PURE)  # pure fish say nothing of a block turned round


def welch(a: list[float], b: list[float]) -> float:
    return float(ttest_ind(a, b, equal_var=False).pvalue)


def opposite(a: list[float], b: list[float]) -> bool:
    return welch(a, b) < UNLIKE and welch(a, [1 - q for q in b]) > ALIKE


def lots(seed: int, n: int) -> list[tuple[list[float], int]]:
    """Invented lots of a block and one turned round, some of them so far apart that nobody doubts it."""
    random = np.random.default_rng(seed)
    made = []
    for _ in range(n):
        first, second = int(random.integers(5, 9)), int(random.integers(5, 9))
        mean, spread = random.uniform(0.1, 0.3), random.uniform(0.02, 0.12, 2)
        above = np.clip(random.normal(mean, spread[0], first), *MIXED)
        below = np.clip(random.normal(1 - mean, spread[1], second), *MIXED)
        made.append(([float(q) for q in np.round([*above, *below], 4)], first))
    return made


def drafts_of(shares: list[float]) -> list[Draft]:
    return [Draft(i + 2, CODES[i], CODES[i], q=q) for i, q in enumerate(shares)]


def test_blocks_that_turn_are_those_that_welchs_test_parts_best() -> None:
    asked = quiet = 0
    for shares, _ in lots(17, 160):
        if mostly_sorted(range(len(shares)), sorted_parts(shares)):
            continue
        ways = {k: welch(shares[:k], shares[k:]) for k in range(LEAST_BLOCK, len(shares) - LEAST_BLOCK + 1)}
        best = min(ways, key=ways.__getitem__) if ways else 0
        turned = bool(ways) and ways[best] < OF_A_BLOCK and opposite(shares[:best], shares[best:])
        words = turned_from_a_row(drafts_of(shares), dict.fromkeys(range(2, len(shares) + 2), 1))
        if turned:
            assert f"of {fmean(shares[:best]):.2f} above {CODES[best]} and of" in words
        else:
            assert not words
        asked, quiet = asked + turned, quiet + (not turned)
    assert min(asked, quiet) > 15  # both happen


@pytest.mark.parametrize("seed", [3, 4])
def test_tables_that_turn_are_those_whose_means_are_opposite(seed: int) -> None:
    asked = quiet = 0
    for shares, first in lots(seed, 60):
        of = {"A": drafts_of(shares)[:first], "B": drafts_of(shares)[first:]}
        turned = min(first, len(shares) - first) >= LEAST_FISH and opposite(shares[:first], shares[first:])
        words = turned_tables(of, dict.fromkeys(range(2, len(shares) + 2), 1))
        assert bool(words) is turned
        assert not turned_tables(of, {row: row % 2 for row in range(2, 6)})  # too few of each water
        asked, quiet = asked + turned, quiet + (not turned)
    assert min(asked, quiet) > 8
