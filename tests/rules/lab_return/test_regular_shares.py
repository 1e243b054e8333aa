"""Shares too regular for fish, and honest ones that are not."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from geneticlog.rules.lab_return.draft import Draft
from geneticlog.rules.lab_return.odd_loci import odd_loci
from geneticlog.rules.lab_return.regular_shares import even_steps, few_values


def drafts(shares: Sequence[float], loci: int | None = None, half: float = 0.00005) -> list[Draft]:
    return [
        Draft(row, "", None, q=q, n_loci=loci, half_digits=(half, 0.0)) for row, q in enumerate(shares, 2)
    ]


def lake(rng: random.Random, n: int = 40, loci: int = 38, digits: int = 4) -> list[float]:
    """Fish of a swarm, as a panel reads them."""
    middle = rng.uniform(0.15, 0.85)
    return [round(sum(rng.random() < middle for _ in range(2 * loci)) / (2 * loci), digits) for _ in range(n)]


@pytest.mark.parametrize(
    ("shares", "half", "loci", "asked"),
    [
        ([0.125, 0.375, 0.625, 0.875] * 10, 0.0005, None, True),
        ([0.1, 0.3, 0.5, 0.7, 0.9] * 8, 0.05, None, True),  # midpoints of fifths, in one digit
        ([0.2, 0.3, 0.4, 0.3] * 10, 0.05, None, False),  # one digit, each value next to the other
        ([0.125, 0.375, 0.625, 0.875] * 10, 0.0005, 4, False),  # four loci have no others
        ([0.25, 0.75] * 10, 0.005, None, False),  # quarters are asked about by another rule
        ([0.0, 0.013, 0.026, 1.0] * 10, 0.0005, None, False),  # pure fish share their few alleles
        ([0.5] * 40, 0.0005, None, False),  # first crosses
        ([0.125, 0.375] * 5, 0.0005, None, False),
    ],
)
def test_many_mixed_fish_of_few_shares_are_asked_about(
    shares: list[float], half: float, loci: int | None, asked: bool
) -> None:
    assert bool(few_values(drafts(shares, loci, half))) == asked


def test_fish_of_a_lake_are_asked_about_in_neither_way() -> None:
    rng = random.Random(20260512)
    for n in (12, 20, 40, 90):
        for digits in (2, 3, 4):
            for _ in range(50):
                fish = drafts(lake(rng, n, digits=digits), half=0.5 * 10**-digits)
                assert not few_values(fish), [draft.q for draft in fish]
                assert not even_steps(fish)


def test_ranks_and_filled_in_numbers_go_by_one_step() -> None:
    ranks = [round(0.025 * (i + 1), 4) for i in range(40)]
    random.Random(1).shuffle(ranks)
    assert "by steps of 0.025" in even_steps(drafts(ranks))
    assert not even_steps(drafts(ranks[:11]))
    assert not even_steps(drafts([0.3] * 20))


@pytest.mark.parametrize(
    ("headings", "odd"),
    [
        ([f"Msal{i:02}" for i in range(38)] + ["SexID"], ["SexID"]),
        ([f"Msal{i:02}" for i in range(38)] + ["Mpun1", "Mpun2"], ["Mpun1", "Mpun2"]),
        ([f"Msal{i:02}" for i in range(38)], []),
        ([f"rs{i}" for i in range(4)] + [f"ctg{i}" for i in range(4)], []),  # a panel of many names
        (["a1", "b2", "c3", "mt_ND2", "d4"], ["mt_ND2"]),
        ([f"{i}" for i in range(20)], []),
        ([], []),
    ],
)
def test_genotype_columns_that_are_no_loci_of_the_panel_are_named(
    headings: list[str], odd: list[str]
) -> None:
    assert odd_loci(headings) == odd
