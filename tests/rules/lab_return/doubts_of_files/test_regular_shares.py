"""Shares too regular for fish, and honest ones that are not."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from geneticlog.rules.lab_return.columns.odd_loci import odd_loci
from geneticlog.rules.lab_return.doubts_of_files.regular_shares import (
    each_twice,
    even_steps,
    few_values,
    own_ranks,
)
from geneticlog.rules.lab_return.doubts_of_files.sorted_alone import sorted_alone
from geneticlog.rules.lab_return.drafts.draft import Draft


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
        ([0.25, 0.5, 0.75] * 10, 0.005, None, False),  # quarters are asked about by another rule
        ([0.25, 0.75] * 10, 0.005, 37, True),  # but not two values of them
        ([0.05, 0.5, 0.95] * 10, 0.005, 37, True),
        ([(1 + i % 7) / 8 for i in range(40)], 0.0005, None, True),  # eighths
        ([(1 + i % 9) / 10 for i in range(40)], 0.0005, None, True),  # tenths, written with three digits
        ([(1 + i % 9) / 10 for i in range(40)], 0.05, None, False),  # with one
        ([round((1 + i % 5) / 6, 2) for i in range(40)], 0.005, None, True),  # sixths
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
                assert not own_ranks(fish)
                assert not each_twice(fish)


def test_values_that_each_occur_twice_were_pasted_again() -> None:
    values = [0.13, 0.21, 0.34, 0.47, 0.55, 0.61, 0.72, 0.83]
    twice = [Draft(i, "", f"V{i}", q=q, n_loci=37) for i, q in enumerate(sorted(values * 2))]
    assert "8 shares occurs exactly twice among 16 vials" in each_twice(twice)
    assert not each_twice(twice[:-1])
    others = [Draft(99 + i, "", f"V{99 + i}", q=0.9 + i / 100) for i in range(4)]
    assert not each_twice([*twice, *others])
    # other pure fish say nothing, and two rows of one vial are one fish
    assert each_twice([*twice, Draft(99, "", "V99", q=0.0)])
    assert not each_twice([Draft(i, "", f"V{i % 8}", q=q) for i, q in enumerate(values * 2)])


@pytest.mark.parametrize(
    ("shares", "half", "way"),
    [
        ([0.30 + 0.6 * i / 39 for i in range(40)], 0.00005, "steps of 0.0154"),
        ([0.05 * 1.06**i for i in range(40)], 0.00005, "a factor of 1.06"),
        ([0.30 + 0.01 * i for i in range(40)], 0.005, "steps of 0.01"),
        ([0.30 + 0.013 * i for i in range(40)], 0.005, ""),  # the digits cannot tell
        ([0.30 + 0.6 * (i / 39) ** 1.3 for i in range(40)], 0.00005, ""),
    ],
)
def test_a_series_is_as_even_as_its_digits_show(shares: list[float], half: float, way: str) -> None:
    digits = 4 if half < 0.001 else 2
    words = even_steps(drafts([round(q, digits) for q in shares], half=half))
    assert bool(words) == bool(way)
    assert way in words


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


def test_shares_in_order_beside_vials_in_ours_were_sorted_alone() -> None:
    sent = [f"V{7 * i % 40:02}" for i in range(40)]
    rising = [Draft(i, "", code, q=0.05 + 0.02 * i + 0.003 * (i % 3)) for i, code in enumerate(sent)]
    assert "in the order in which we sent them" in sorted_alone(rising, sent)
    assert not sorted_alone(rising, sorted(sent))  # the lab sorted the whole table
    assert not sorted_alone(rising)
    assert "of their codes" in sorted_alone(
        [Draft(i, "", code, q=0.05 + 0.02 * i) for i, code in enumerate(sorted(sent))]
    )


def test_plotting_positions_with_ties_are_ranks() -> None:
    fish = lake(random.Random(20260512))
    ranks = [round((sorted(fish).index(q) + 0.5) / len(fish), 4) for q in fish]
    assert len(set(ranks)) < len(ranks)
    assert "its own rank" in own_ranks(drafts(ranks))
    assert not own_ranks(drafts([*ranks[:-1], 0.05]))


def test_a_part_pasted_again_is_seen_in_any_order_though_two_of_its_values_are_alike() -> None:
    rng = random.Random(20260512)
    half = [*rng.sample([k / 76 for k in range(5, 71)], 18), 0.26, 0.26]
    twice = rng.sample([*half, *half], 40)
    assert "18 of 19 shares occur exactly twice among 40 vials" in each_twice(named(twice))
    assert not each_twice(named([*half, *rng.sample(half, 10)]))


def named(shares: Sequence[float]) -> list[Draft]:
    """Drafts, each with a vial of its own."""
    return [Draft(row, "", f"vial {row}", q=q) for row, q in enumerate(shares, 2)]
