"""Heterozygote deficit of a lake and what single fish say of it."""

from __future__ import annotations

import pytest

from geneticlog.rules.checking import NumberFault
from geneticlog.rules.lineage import ALIKE, BIMODAL, lineage_sign


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


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: lineage_sign([0.1, 0.2], [0.1]), "2 against 1"),
        (lambda: lineage_sign([], []), "q: there is none"),
    ],
)
def test_wrong_input_is_named(call: object, words: str) -> None:
    with pytest.raises(NumberFault, match=words):
        call()
