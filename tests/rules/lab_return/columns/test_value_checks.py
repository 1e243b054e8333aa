"""What the numbers of one row cannot be together, and what is asked of them."""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.columns.value_checks import (
    check_call_rate,
    check_pair,
    check_shares,
    identical_runs,
    says_f1,
)


@pytest.mark.parametrize(
    ("q", "h", "n_loci", "half_digits", "kinds"),
    [
        (0.25, 0.5, 38, (5e-5, 5e-5), []),
        (0.25, None, 38, (5e-5, 0.0), []),
        # the bound: H at most 2 min(q, 1 - q), with half a locus of room
        (0.25, 0.5 + 1 / 80, 40, (0.005, 0.01), []),
        (0.25, 0.5 + 1 / 79, 40, (0.005, 0.01), ["breaks_bound"]),
        (0.75, 0.55, 40, (5e-5, 5e-5), ["breaks_bound"]),
        (0.25, 0.502, None, (0.0, 0.0), []),
        (0.25, 0.503, None, (0.0, 0.0), ["breaks_bound"]),
        # no heterozygote in a fish that is a mixture
        (0.25, 0.0, None, (0.0, 0.0), ["zero_heterozygosity"]),
        (0.05, 0.0, None, (0.0, 0.0), []),
        (0.95, 0.0, None, (0.0, 0.0), []),
        (0.94, 0.0, None, (0.0, 0.0), ["zero_heterozygosity"]),
        # whole numbers of alleles and loci: 19.5 of 76 alleles; 19.5 of 38 loci
        (19.5 / 76, 0.5, 38, (5e-5, 5e-5), ["off_grid"]),
        (0.25, 18.5 / 38, 38, (5e-5, 5e-5), ["off_grid"]),
        (0.25, 18.5 / 38, 38, (5e-5, 0.0066), []),  # of two digits nothing is told of H
        (19.5 / 76, 0.5, 38, (0.0033, 5e-5), []),  # nor of q
        (19.02 / 76, 0.5, 38, (0.0, 0.0), []),
        (19.03 / 76, 0.5, 38, (0.0, 0.0), ["off_grid"]),
        (0.25, 19.03 / 38, 38, (0.0, 0.0), ["off_grid"]),
        # 2 L q - L H is even: 19 alleles with 18 heterozygous loci leave half a homozygote
        (0.25, 18 / 38, 38, (5e-5, 5e-5), ["odd_parity"]),
        (0.25, 17 / 38, 38, (5e-5, 5e-5), []),
        # more than 0 and less than a half of one locus is another unit
        (0.5, 0.012, 38, (5e-5, 5e-5), ["less_than_one_locus"]),
        (0.5, 0.012, 38, (5e-5, 0.02), []),
        (0.25, 0.0, 38, (5e-5, 5e-5), ["zero_heterozygosity", "odd_parity"]),
    ],
)
def test_q_h_and_loci_together(
    q: float, h: float | None, n_loci: int | None, half_digits: tuple[float, float], kinds: list[str]
) -> None:
    assert [str(one.kind) for one in check_pair(q, h, n_loci, *half_digits)] == kinds


@pytest.mark.parametrize(
    ("shares", "rounding", "kinds"),
    [
        ((0.25, None, None), 0.0, []),
        ((0.25, 0.75, None), 0.0, []),
        ((0.25, 0.70, 0.05), 0.0, []),
        ((0.25, 0.752, None), 0.0, []),
        ((0.25, 0.753, None), 0.0, ["sum_not_one"]),
        ((0.25, 0.747, None), 0.0, ["sum_not_one"]),
        ((0.25, 0.76, None), 0.01, []),
        ((0.25, 0.77, None), 0.01, ["sum_not_one"]),
        ((0.0, 0.0, None), 0.0, ["zero_for_missing"]),
        ((0.0, 0.0, 0.5), 0.0, ["sum_not_one"]),
    ],
)
def test_shares_sum_to_one(
    shares: tuple[float, float | None, float | None], rounding: float, kinds: list[str]
) -> None:
    assert [str(one.kind) for one in check_shares(*shares, rounding)] == kinds


@pytest.mark.parametrize(
    ("call_rate", "n_loci", "panel_loci", "kinds"),
    [
        (None, None, 40, []),
        (None, 36, 40, []),
        (None, 35, 40, ["low_call_rate"]),
        (None, 4, 40, ["low_call_rate"]),  # by the loci scored alone no fish waits
        (None, 40, 40, []),
        (None, 41, 40, ["more_loci_than_panel"]),
        (0.90, None, None, []),
        (0.89, None, None, ["low_call_rate"]),
        (0.50, None, None, ["low_call_rate"]),
        (0.49, None, None, ["call_rate_too_low"]),
        (0.95, 20, 40, []),  # the lab's own rate goes before
        (0.49, 41, 40, ["more_loci_than_panel"]),
    ],
)
def test_loci_that_were_not_called(
    call_rate: float | None, n_loci: int | None, panel_loci: int | None, kinds: list[str]
) -> None:
    assert [str(one.kind) for one in check_call_rate(call_rate, n_loci, panel_loci)] == kinds


def test_a_low_call_rate_is_said_in_percent() -> None:
    (low,) = check_call_rate(None, 30, 40)
    assert low.facts == {
        "share": 0.75, "least": 0.9, "called": "75 %", "wanted": "90 %", "scored": "75 % of the loci",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("lab_class", "f1"),
    [("F1", True), (" f-1 ", True), ("F₁", True), ("F1 hybrid", True), ("F2", False), ("BC1", False)],
)
def test_names_of_the_first_cross(lab_class: str, f1: bool) -> None:
    assert says_f1(lab_class) is f1


@pytest.mark.parametrize(
    ("signatures", "least", "runs"),
    [("aaab", 3, [(0, 2)]), ("abbb", 3, [(1, 3)]), ("aab", 3, []), ("aabbb", 2, [(0, 1), (2, 4)]), ("", 3, []),
     ("---", 3, []), ("a---aaa", 3, [(4, 6)])],
)  # fmt: skip
def test_runs_of_neighbours_that_are_alike(signatures: str, least: int, runs: list[tuple[int, int]]) -> None:
    assert identical_runs([None if one == "-" else (one,) for one in signatures], least) == runs
