"""The catch-weighted mean: classes of none, one or many fish, and nothing averaged away in silence."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.intervals import clopper_pearson, mean_proportion
from geneticlog.rules.statistics.sums import NO_SUMS, sums_of
from geneticlog.rules.strata import catch_weighted, catch_weighted_from_sums, means_at_weights


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


def test_a_lake_of_which_all_fish_are_northern() -> None:
    groups = {"stock": [0.0] * 8, "quality": [0.0] * 8}
    even = catch_weighted(groups, {"stock": 50, "quality": 50}, 35)
    assert (even.low, even.high) == (0, pytest.approx(clopper_pearson(0, 16).high))
    # a stock fish weighs 9/80: the sixteen carry as much as 1 / (0.9^2/8 + 0.1^2/8) fish, some ten
    uneven = catch_weighted(groups, {"stock": 90, "quality": 10}, 35)
    assert (uneven.low, uneven.high) == (0, pytest.approx(1 - 0.025 ** (0.82 / 8)))
    plain = catch_weighted(groups, {"stock": 90, "quality": 10}, 35, guard_fish=0)
    assert plain.n_effective == pytest.approx(1 / (0.9**2 / 8 + 0.1**2 / 8))


def test_a_class_that_shows_no_spread_is_not_taken_to_have_none() -> None:
    young, adult = [0.0] * 8, [0.99, 0.97, 1.0, 0.96, 0.98, 0.99, 1.0, 0.97]
    groups, caught = {"young": young, "adult": adult}, {"young": 500, "adult": 500}
    guarded, plain = catch_weighted(groups, caught, 35), catch_weighted(groups, caught, 35, guard_fish=0)
    assert guarded.high - guarded.mean > 0.06  # one young fish in eight may well be Florida: 6 % of the catch
    assert plain.high - plain.mean < 0.04
    assert guarded.guard == ""


@given(
    st.lists(st.floats(0, 1), min_size=2, max_size=10),
    st.lists(st.floats(0, 1), min_size=1, max_size=10),
    st.one_of(st.none(), st.integers(12, 80)),
)
@settings(max_examples=60)
def test_a_catch_swabbed_whole_is_no_wider_than_its_fish_taken_as_one(
    young: list[float], adult: list[float], n_loci: int | None
) -> None:
    groups = {"young": young, "adult": adult}
    found = catch_weighted(groups, {name: len(q) for name, q in groups.items()}, n_loci)
    alone = mean_proportion(young + adult, n_loci)
    assert found.mean == pytest.approx(alone.mean)
    assert (found.low or 0) >= (alone.low or 0) - 1e-9
    assert (found.high or 1) <= (alone.high or 1) + 1e-9


@given(st.lists(st.floats(0, 1), min_size=2, max_size=12), st.integers(0, 90))
@settings(max_examples=60)
def test_one_class_has_the_interval_of_its_fish(q: list[float], n_more: int) -> None:
    found = catch_weighted({"stock": q}, {"stock": len(q) + n_more}, 35)
    alone = mean_proportion(q, 35)
    assert (found.low, found.high) == pytest.approx((alone.low, alone.high), abs=1e-6)


def test_one_allele_in_a_northern_lake_does_not_throw_the_interval_open() -> None:
    # eight fish, all swabbed; one allele in 80 of one fish. All northern, 8 fish leave room for 36.9 %.
    groups = {"young": [0.0125, 0, 0, 0], "adult": [0.0] * 4}
    found = catch_weighted(groups, {"young": 4, "adult": 4}, 40)
    swabbed = mean_proportion(groups["young"] + groups["adult"], 40)
    assert (found.low, found.high) == pytest.approx((swabbed.low, swabbed.high))
    assert found.low == 0.0
    assert found.high == pytest.approx(0.3788, abs=5e-5)


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
    both, all_five = sums["stock"] + sums["quality"], sums_of([0.1, 0.3, 0.2, 0.6, 0.5], 35)
    assert (both.n, both.n_alleles, both.least_q, both.most_q) == (5, 350, 0.1, 0.6)
    assert (both.sum_q, both.sum_q2) == pytest.approx((all_five.sum_q, all_five.sum_q2))


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


def test_a_class_of_one_fish_is_not_taken_for_one_that_could_be_anything() -> None:
    # eight fish of one class all but northern, and one fish in each of two others: the lone fish borrow that spread,
    # so that the lake is not held to be up to nine tenths of the other taxon, though one fish stands for 201
    found = catch_weighted_from_sums(
        {
            "stock": sums_of([k / 70 for k in (3, 4, 1, 0, 0, 3, 2, 1)], 35),
            "quality": sums_of([3 / 70], 35),
            "preferred": sums_of([0.0], 35),
        },
        {"stock": 8, "quality": 201, "preferred": 2},
    )
    assert found.borrowed == ("quality", "preferred")
    assert found.high is not None
    assert found.high < 0.4


def test_means_at_given_weights_are_those_of_a_catch_of_these_shares_without_its_part() -> None:
    groups = {"young": [0.1, 0.2, 0.05, 0.3, 0.15], "old": [0.6, 0.4, 0.7, 0.5]}
    sums = {name: sums_of(q, 38) for name, q in groups.items()}
    (mean,) = means_at_weights([sums], {"young": 0.25, "old": 0.75})
    within = 0.25**2 * np.var(groups["young"], ddof=1) / 5 + 0.75**2 * np.var(groups["old"], ddof=1) / 4
    assert mean.mean == pytest.approx(0.25 * 0.16 + 0.75 * 0.55)
    assert mean.se == pytest.approx(within**0.5)
    many = catch_weighted_from_sums(
        sums, {"young": 10**9, "old": 3 * 10**9}
    )  # a catch so large knows its shares
    assert (mean.low, mean.high) == pytest.approx((many.low, many.high))
    with pytest.raises(NumberFault, match="sum to"):
        means_at_weights([sums], {"young": 0.25, "old": 0.7})
    with pytest.raises(NumberFault, match="no fish"):
        means_at_weights([sums, {"young": sums["young"]}], {"young": 0.25, "old": 0.75})
