"""The pooled share of alleles at the bounds of what a fish can have."""

from __future__ import annotations

import pytest

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.notebook.ratio import pooled_interval, pooled_ratio


@pytest.mark.parametrize(
    ("alleles", "loci", "ratio"),
    [
        ([1, 0, 2], [1, 1, 1], 0.5),  # one locus each, and none and all of its alleles
        ([4, 0], [2, 8], 0.2),  # a fish with more loci counts for more
        ([3], [2], 0.75),
        ([0, 0], [5, 5], 0.0),
    ],
)
def test_alleles_over_all_alleles(alleles: list[int], loci: list[int], ratio: float) -> None:
    found = pooled_ratio(alleles, loci)
    assert found.ratio == pytest.approx(ratio)
    assert (found.se is None) == (len(alleles) < 2)


def test_its_standard_error_by_hand() -> None:
    # R = 4 / 20; residuals 4 - .8 and 0 - 3.2; two fish: sqrt(2 / 1 * 20.48) / 20
    assert pooled_ratio([4, 0], [2, 8]).se == pytest.approx((2 * (3.2**2 + 3.2**2)) ** 0.5 / 20)


@pytest.mark.parametrize(
    ("alleles", "loci"),
    [([0], [0]), ([-1], [5]), ([11], [5]), ([2.5], [5]), ([2], [5.5]), ([1, 2], [5]), ([], [])],
)
def test_what_no_fish_can_have_is_refused(alleles: list[float], loci: list[float]) -> None:
    with pytest.raises(NumberFault):
        pooled_ratio(alleles, loci)
    with pytest.raises(NumberFault):
        pooled_interval(alleles, loci)
