"""Survey against survey, on one length frequency for both."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.schemes import five_length, two_groups
from geneticlog.rules.statistics.comparison import (
    AS_SWABBED,
    WEIGHTED,
    SurveySums,
    TypedFish,
    compare_surveys,
    sums_by_length,
)
from geneticlog.rules.statistics.sums import Sums, sums_of

SMALL, LARGE = [0.1, 0.15, 0.05, 0.2, 0.1], [0.5, 0.6, 0.55, 0.45, 0.4]
SCHEME = five_length("largemouth_bass")


def a_survey(name: str, n_small: int, n_large: int, shift: float = 0.0) -> SurveySums:
    groups = {"stock": [q + shift for q in SMALL], "trophy": [q + shift for q in LARGE]}
    return SurveySums(
        name,
        SCHEME,
        {"stock": n_small, "trophy": n_large},
        {size: sums_of(q, 35) for size, q in groups.items()},
    )


def test_other_sizes_in_the_net_do_not_pass_for_a_change_of_ancestry() -> None:
    found = compare_surveys([(a_survey("H-24", 90, 10), a_survey("H-26", 10, 90))])[0]
    assert found.basis == WEIGHTED
    assert found.whole.estimate.mean == pytest.approx(0.0)
    assert found.whole.p == pytest.approx(1.0)
    assert found.weights == pytest.approx({"stock": 0.5, "trophy": 0.5})
    assert found.share_covered == (1.0, 1.0)


def test_a_change_within_every_class_is_found_in_young_and_in_adult_fish() -> None:
    found = compare_surveys([(a_survey("H-24", 50, 50), a_survey("H-26", 60, 40, shift=0.2))])[0]
    for part, n in ((found.whole, 10), (found.young, 5), (found.adult, 5)):
        assert part is not None
        assert part.estimate.mean == pytest.approx(0.2)
        assert part.estimate.low > 0.05
        assert (part.n_first, part.n_second) == (n, n)
    # weights are given, so the variance is the within-class part alone, of both surveys; the guards only add to it
    within = sum(w**2 * np.var(q, ddof=1) / 5 for w, q in zip((0.55, 0.45), (SMALL, LARGE), strict=True))
    assert (2 * within) ** 0.5 <= found.whole.estimate.se < 2 * (2 * within) ** 0.5


def test_the_share_of_each_catch_that_is_compared_counts_every_fish_caught() -> None:
    first = replace(a_survey("H-24", 50, 50), n_caught={"stock": 10, "trophy": 20, "quality": 70})
    second = replace(a_survey("H-26", 50, 50), n_without_class=300)
    assert compare_surveys([(first, second)])[0].share_covered == pytest.approx((0.3, 0.25))
    with pytest.raises(NumberFault, match="without a class in H-26"):
        compare_surveys([(first, replace(second, n_without_class=-1))])


def test_other_classes_are_not_compared() -> None:
    other = replace(a_survey("H-24", 50, 50), scheme=two_groups("largemouth_bass", 12, "in"))
    with pytest.raises(NumberFault, match="other size classes"):
        compare_surveys([(other, a_survey("H-26", 50, 50))])


def test_without_a_common_class_the_swabbed_fish_are_compared_and_nothing_of_the_catch_is_covered() -> None:
    first, second = a_survey("H-24", 50, 50), a_survey("H-26", 50, 50)
    first = replace(first, sums={"stock": first.sums["stock"]})
    second = replace(second, sums={"trophy": second.sums["trophy"], "stock": Sums(0, 0.0, 0.0, 0.0)})
    found = compare_surveys([(first, second)])[0]
    assert (found.basis, found.share_covered, found.young, found.adult) == (
        AS_SWABBED,
        (0.0, 0.0),
        None,
        None,
    )
    unmeasured = SurveySums("H-26", SCHEME, {}, {}, 9, sums_of([0.1, 0.2, 0.1], 35))
    found = compare_surveys([(first, unmeasured)])[0]
    assert (found.basis, found.share_covered) == (AS_SWABBED, (None, None))
    assert found.whole.estimate.low is not None


def test_results_without_a_catch_are_named() -> None:
    with pytest.raises(NumberFault, match="H-24: size class 'trophy' has results and no number caught"):
        compare_surveys([(replace(a_survey("H-24", 5, 5), n_caught={"stock": 9}), a_survey("H-26", 5, 5))])


def test_fish_are_judged_anew_by_length_in_one_unit() -> None:
    """11.9 in is stock by the inch limits (12) and quality by the millimetre ones (302 mm against 300)."""
    fish = [TypedFish((11.9, "in"), 0.2, 38), TypedFish((305.0, "mm"), 0.4, 38), TypedFish(None, 0.5, 38)]
    caught = [((11.9, "in"), 4), ((305.0, "mm"), 1), (None, 3)]
    by_mm, by_inch = (sums_by_length("A", SCHEME, unit, caught, fish) for unit in ("mm", "in"))
    assert (by_mm.n_caught["quality"], by_mm.n_caught["stock"], by_mm.n_without_class) == (5, 0, 3)
    assert (by_inch.n_caught["quality"], by_inch.n_caught["stock"]) == (1, 4)
    assert by_inch.sums["stock"] == sums_of([0.2], [38])
    assert by_inch.without_class == sums_of([0.5], [38])
    assert by_mm.every.n == by_inch.every.n == 3
