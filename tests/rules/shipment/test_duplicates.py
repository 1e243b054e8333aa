"""Blind duplicates and blanks: how many to send, and how far two results of one fish lie apart."""

from __future__ import annotations

import pytest

from geneticlog.rules.shipment.duplicates import (
    Calls,
    blanks_advised,
    compare_calls,
    duplicates_advised,
    error_below,
    proportions_apart,
)


@pytest.mark.parametrize(("n", "advised"), [(0, 0), (1, 2), (40, 2), (41, 3), (60, 3), (100, 5), (101, 6)])
def test_one_in_twenty_and_two_at_the_least(n: int, advised: int) -> None:
    assert duplicates_advised(n) == advised


def test_a_shipment_of_samples_wants_a_blank() -> None:
    assert (blanks_advised(0), blanks_advised(1), blanks_advised(90)) == (0, 1, 1)


def test_a_difference_of_exactly_the_limit_agrees() -> None:
    assert not proportions_apart(0.35, 0.30, 38, 38).disagree
    assert proportions_apart(0.351, 0.30, 38, 38).disagree


def test_alleles_are_counted_at_the_fewer_loci() -> None:
    assert proportions_apart(0.5, 0.25, 38, 20).n_alleles == pytest.approx(10)
    assert proportions_apart(0.5, 0.25, None, 20).n_alleles == pytest.approx(10)
    assert proportions_apart(0.5, 0.25, None, None).n_alleles is None


def test_loci_without_a_call_are_not_compared() -> None:
    calls = compare_calls({"L1": 2, "L2": 0, "L3": None, "L4": 1}, {"L1": 2, "L2": 1, "L3": 1, "L5": 0})
    assert calls == Calls(2, 1)
    assert Calls(0, 0).verdict == "nothing to compare"


def test_nothing_compared_shows_nothing() -> None:
    assert error_below(0) is None


def test_a_proportion_outside_nought_to_one_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be"):
        proportions_apart(1.2, 0.3, 38, 38)


@pytest.mark.parametrize(
    ("n_compared", "n_different", "verdict"),
    [
        (0, 0, "nothing to compare"),
        (100, 0, "good"),
        (100, 1, "good"),
        (100, 2, "review"),
        (200, 3, "review"),
        (200, 5, "ask the lab"),
    ],
)
def test_the_verdict_on_calls_that_differ(n_compared: int, n_different: int, verdict: str) -> None:
    assert Calls(n_compared, n_different).verdict == verdict


def test_calls_that_differ_are_counted_over_the_markers_that_both_have() -> None:
    first = {"a": 0, "b": 1, "c": None, "d": 2, "e": 1}
    assert compare_calls(first, {"a": 0, "b": 2, "c": 1, "d": None, "f": 1}) == Calls(2, 1)
    assert compare_calls(first, first) == Calls(4, 0)
    assert compare_calls(first, {}) == Calls(0, 0)
