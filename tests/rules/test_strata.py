"""The catch-weighted mean: classes of none, one or many fish, and nothing averaged away in silence."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm, t

from geneticlog.rules.checking import NumberFault
from geneticlog.rules.intervals import clopper_pearson
from geneticlog.rules.strata import catch_weighted, catch_weighted_from_sums
from geneticlog.rules.sums import NO_SUMS, sums_of


def test_a_class_that_was_caught_and_not_typed_is_named_and_never_averaged_away() -> None:
    found = catch_weighted(
        {"stock": [0.1, 0.3, 0.2], "trophy": []}, {"stock": 30, "quality": 10, "trophy": 10}, 35
    )
    assert found.mean == pytest.approx(0.2)
    assert found.share_covered == pytest.approx(0.6)
    assert found.uncovered == ("quality", "trophy")
    assert "part of the catch" in found.guard


def test_a_class_of_one_fish_borrows_the_spread_of_the_others_and_says_so() -> None:
    found = catch_weighted({"stock": [0.1, 0.3, 0.2], "quality": [0.6]}, {"stock": 10, "quality": 10}, 35)
    # own variance .01 of three fish serves both: V = .25*.01/3 + .25*.01/1 + (1/20)(.2^2)
    assert found.se == pytest.approx((0.25 * 0.01 / 3 + 0.25 * 0.01 + 0.04 / 20) ** 0.5)
    assert found.borrowed == ("quality",)
    assert found.df == pytest.approx(2)
    assert "borrowed" in found.guard


def test_one_fish_in_every_class_has_a_mean_and_no_interval() -> None:
    found = catch_weighted({"stock": [0.1], "quality": [0.6]}, {"stock": 30, "quality": 10}, 35)
    assert (found.mean, found.low, found.high) == (pytest.approx(0.225), None, None)
    assert "one fish a class" in found.guard
    alone = catch_weighted({"stock": [0.1]}, {"stock": 30}, 35)
    assert (alone.low, alone.guard) == (None, "one fish")


def test_no_result_at_all_is_a_guard_and_no_number() -> None:
    found = catch_weighted({}, {"stock": 30}, 35)
    assert (found.mean, found.low, found.n, found.guard) == (None, None, 0, "no fish")
    assert (found.share_covered, found.uncovered) == (0, ("stock",))
    assert catch_weighted({}, {}, 35).share_covered is None


def test_fish_that_are_all_northern_count_as_many_as_an_even_sample_would_need() -> None:
    found = catch_weighted({"stock": [0.0] * 8, "quality": [0.0] * 8}, {"stock": 90, "quality": 10}, 35)
    even = 1 / (0.9**2 / 8 + 0.1**2 / 8)
    assert found.n_effective == pytest.approx(even)
    assert found.low == 0
    at_nine, at_ten = clopper_pearson(0, 9).high, clopper_pearson(0, 10).high
    assert found.high is not None
    assert at_ten < found.high < at_nine


def test_a_class_of_fish_all_alike_borrows_an_nth_of_the_spread_of_the_others() -> None:
    groups = {"stock": [0.5] * 8, "quality": [0.1, 0.3, 0.2, 0.4]}
    found = catch_weighted(groups, {"stock": 60, "quality": 40}, None)
    # By hand: variances 0 and 1/60, pooled 3/60 over 7 + 3 degrees of freedom, of which the first class takes an 8th.
    pooled, between = (3 / 60) / 10, (0.6 * 0.1**2 + 0.4 * 0.15**2) / 100
    variance = 0.6**2 * (pooled / 8) / 8 + 0.4**2 * (1 / 60) / 4 + between
    reach = norm.ppf(0.975) / t.ppf(0.975, 3)  # the spread is that of four fish; loci unknown
    assert found.n_effective == pytest.approx(0.4 * 0.6 / variance * reach**2)
    assert found.df == pytest.approx(3)
    plain = catch_weighted(groups, {"stock": 60, "quality": 40}, None, guard_fish=0)
    assert found.se == plain.se == pytest.approx((0.4**2 * (1 / 60) / 4 + between) ** 0.5)
    assert found.width is not None
    assert plain.width is not None
    assert found.width > plain.width


def test_one_class_swabbed_as_caught_is_nearly_the_plain_mean() -> None:
    q = [0.1, 0.3, 0.2, 0.5, 0.4]
    found = catch_weighted({"stock": q}, {"stock": 5}, 35)
    assert found.mean == pytest.approx(np.mean(q))
    assert found.se == pytest.approx(np.std(q, ddof=1) / 5**0.5)
    assert found.df == pytest.approx(4)


def test_sums_give_what_the_fish_give() -> None:
    groups = {"stock": [0.1, 0.3, 0.2], "quality": [0.6, 0.5], "trophy": []}
    caught = {"stock": 40, "quality": 7, "trophy": 1}
    sums = {name: sums_of(q, 35) for name, q in groups.items()}
    assert catch_weighted_from_sums(sums, caught) == catch_weighted(groups, caught, 35)
    assert sums["trophy"] == NO_SUMS
    assert sums["stock"] + sums["quality"] == sums_of([0.1, 0.3, 0.2, 0.6, 0.5], 35)


def test_double_sampling_variance_is_the_variance_of_simulated_surveys() -> None:
    # Fish met at random, eight of each of two classes typed: the estimated variance is right on average.
    random = np.random.default_rng(3)
    means, variances = [], []
    for _ in range(1500):
        n_large = random.binomial(100, 0.3)
        groups = {"small": random.beta(2, 8, 8), "large": random.beta(6, 4, 8)}
        found = catch_weighted(groups, {"small": 100 - n_large, "large": int(n_large)}, None)
        assert found.mean is not None
        assert found.se is not None
        means.append(found.mean)
        variances.append(found.se**2)
    assert np.mean(variances) == pytest.approx(np.var(means), rel=0.12)


@pytest.mark.parametrize(
    ("groups", "caught", "loci", "words"),
    [
        ({"stock": [0.1, 1.2]}, {"stock": 5}, 35, "q of stock: number 2 is 1.2"),
        ({"stock": [0.1, 0.2]}, {"quality": 5}, 35, "'stock' has results and no number caught"),
        ({"stock": [0.1, 0.2]}, {"stock": 1}, 35, "2 fish have a result but 1 were caught"),
        ({"stock": [0.1, 0.2]}, {"stock": -4}, 35, "fish caught in stock: -4"),
        ({"stock": [0.1, 0.2]}, {"stock": 4}, {"quality": 35}, "'stock' has results and no number of loci"),
        ({"stock": [0.1, 0.2]}, {"stock": 4}, {"stock": [35, 35, 35]}, "3 numbers for 2 fish"),
    ],
)
def test_wrong_input_is_named(groups: dict, caught: dict, loci: object, words: str) -> None:
    with pytest.raises(NumberFault, match=words):
        catch_weighted(groups, caught, loci)
