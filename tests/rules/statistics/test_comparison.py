"""Survey against survey, on one length frequency for both."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from statsmodels.stats.proportion import proportion_confint

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.statistics.comparison import SurveySums, compare_surveys, stratified_permutation
from geneticlog.rules.statistics.sums import Sums, sums_of

SMALL, LARGE = [0.1, 0.15, 0.05, 0.2, 0.1], [0.5, 0.6, 0.55, 0.45, 0.4]


def a_survey(name: str, n_small: int, n_large: int, shift: float = 0.0) -> SurveySums:
    groups = {"stock": [q + shift for q in SMALL], "trophy": [q + shift for q in LARGE]}
    return SurveySums(
        name,
        "five-length",
        {"stock": n_small, "trophy": n_large},
        {size: sums_of(q, 35) for size, q in groups.items()},
    )


def test_other_sizes_in_the_net_do_not_pass_for_a_change_of_ancestry() -> None:
    found = compare_surveys(a_survey("H-24", 90, 10), a_survey("H-26", 10, 90))
    assert found.difference.mean == pytest.approx(0.0)
    assert found.weights == pytest.approx({"stock": 0.5, "trophy": 0.5})
    assert found.share_covered == (1.0, 1.0)


def test_a_change_within_every_class_is_found() -> None:
    found = compare_surveys(a_survey("H-24", 50, 50), a_survey("H-26", 60, 40, shift=0.2))
    assert found.difference.mean == pytest.approx(0.2)
    assert found.difference.low is not None
    assert found.difference.low > 0.05
    # weights are given, so the variance is the within-class part alone
    within = sum(
        weight**2 * np.var(q, ddof=1) / 5 for weight, q in zip((0.55, 0.45), (SMALL, LARGE), strict=True)
    )
    assert found.earlier.se == pytest.approx(within**0.5, rel=1e-4)


def test_the_share_of_each_catch_that_is_compared_counts_every_fish_caught() -> None:
    first = replace(a_survey("H-24", 50, 50), n_caught={"stock": 10, "trophy": 20, "quality": 70})
    second = replace(a_survey("H-26", 50, 50), n_without_class=300)
    assert compare_surveys(first, second).share_covered == pytest.approx((0.3, 0.25))
    with pytest.raises(NumberFault, match="without a class in H-26"):
        compare_surveys(first, replace(second, n_without_class=-1))


def test_other_classes_are_not_weighted_to_one_length_frequency() -> None:
    found = compare_surveys(replace(a_survey("H-24", 50, 50), scheme="inch groups"), a_survey("H-26", 50, 50))
    assert (found.difference.mean, found.weights) == (None, {})


def test_without_a_common_class_there_is_no_difference() -> None:
    first, second = a_survey("H-24", 50, 50), a_survey("H-26", 50, 50)
    first = replace(first, sums={"stock": first.sums["stock"]})
    second = replace(second, sums={"trophy": second.sums["trophy"], "stock": Sums(0, 0.0, 0.0, 0.0)})
    found = compare_surveys(first, second)
    assert (found.difference.mean, found.difference.low) == (None, None)


def test_results_without_a_catch_are_named() -> None:
    with pytest.raises(NumberFault, match="H-24: size class 'trophy' has results and no number caught"):
        compare_surveys(replace(a_survey("H-24", 5, 5), n_caught={"stock": 9}), a_survey("H-26", 5, 5))


def test_fish_are_shuffled_within_their_class_only() -> None:
    random = np.random.default_rng(11)
    earlier = {"stock": random.normal(0.1, 0.02, 12), "trophy": random.normal(0.8, 0.02, 12)}
    later = {name: q + 0.05 for name, q in earlier.items()}
    difference, p = stratified_permutation(earlier, later, {"stock": 0.5, "trophy": 0.5}, n_resamples=999)
    assert difference == pytest.approx(0.05)
    assert p == 1 / 1000  # lost in the spread between the classes if fish moved across them
    _, same = stratified_permutation(earlier, earlier, {"stock": 1.0}, n_resamples=99)
    assert same == 1.0
    with pytest.raises(NumberFault, match="'quality' has no fish"):
        stratified_permutation(earlier, later, {"quality": 1.0})


def test_classes_alike_in_themselves_stand_for_their_fish_alone() -> None:
    # ten young all of one taxon, ten adults all of the other: nothing varies within a class, so the mean stands on
    # as many fish as an unweighted sample would need, 1 / sum(w_h^2 / n_h) = 20
    apart = {"stock": sums_of([1.0] * 10, 38), "quality": sums_of([0.0] * 10, 38)}
    mixed = {"stock": sums_of([1.0] * 9 + [0.5], 38), "quality": sums_of([0.0] * 10, 38)}
    caught = {"stock": 40, "quality": 40}
    found = compare_surveys(
        SurveySums("A", "five-length", caught, apart), SurveySums("B", "five-length", caught, mixed)
    )
    assert found.earlier.n_effective == pytest.approx(20)
    low, high = proportion_confint(10, 20, method="beta")
    assert found.earlier.low is not None
    assert found.earlier.high is not None
    assert found.earlier.low <= low + 1e-9
    assert found.earlier.high >= high - 1e-9
