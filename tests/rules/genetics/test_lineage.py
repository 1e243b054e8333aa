"""Heterozygote deficit of a lake and what single fish say of it."""

from __future__ import annotations

import pytest
import scipy.stats

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.heterozygote_deficit import deficit_limits
from geneticlog.rules.genetics.lineage import ALIKE, BIMODAL, NEITHER, lineage_sign


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


def test_few_markers_spread_q_so_that_fish_alike_may_differ_by_more() -> None:
    q, h = [0.35, 0.65] * 20, [0.2] * 40  # variance .023; three loci alone make one of .059
    assert lineage_sign(q, h, 3).hint == ALIKE
    assert lineage_sign(q, h, 38).hint == NEITHER
    assert lineage_sign(q, h).hint == NEITHER
    assert lineage_sign([0.48, 0.52] * 20, h).hint == ALIKE


def test_two_kinds_beside_their_crosses_are_no_third_lineage() -> None:
    q = [0.0] * 8 + [1.0] * 5 + [0.25, 0.3, 0.35, 0.4, 0.3, 0.2, 0.5]
    h = [0.0] * 13 + [0.4, 0.42, 0.45, 0.5, 0.4, 0.3, 0.5]
    found = lineage_sign(q, h, 38)
    assert found.flagged
    assert (found.hint, found.third_lineage) == (BIMODAL, False)
    more = lineage_sign([*q, *[0.3] * 7], [*h, *[0.42] * 7], 38)
    crowd = lineage_sign([0.0] * 14 + [1.0] * 3 + [0.4] * 3 + [0.6] * 2, [0.0] * 17 + [0.48] * 5, 38)
    assert not more.third_lineage
    assert crowd.flagged
    assert (crowd.third_lineage, crowd.f_within) == (False, pytest.approx(0.0))


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


def test_limits_of_a_deficit_by_leaving_out_one_fish_at_a_time() -> None:
    q = [0.0, 0.0, 0.1, 0.2, 0.3, 0.5, 0.6, 0.8, 0.9, 1.0, 0.4, 0.25]
    h = [0.0, 0.0, 0.1, 0.2, 0.4, 0.3, 0.4, 0.2, 0.1, 0.0, 0.3, 0.30]

    def deficit(some_q: list[float], some_h: list[float]) -> float:
        p = sum(some_q) / len(some_q)
        return 1 - sum(some_h) / len(some_h) / (2 * p * (1 - p))

    n, every = len(q), deficit(q, h)
    pseudo = [n * every - (n - 1) * deficit(q[:at] + q[at + 1 :], h[:at] + h[at + 1 :]) for at in range(n)]
    reach = scipy.stats.t.ppf(0.975, n - 1) * scipy.stats.sem(pseudo)
    assert deficit_limits(q, h) == pytest.approx((max(-1, every - reach), min(1, every + reach)))


@pytest.mark.parametrize(
    ("q", "h"),
    [
        ([0.5] * 9, [0.2] * 9),
        ([0.6] * 11, [0.0] * 11),
        ([0.0] * 11 + [1.0], [0.0] * 12),
        ([0.0] * 12, [0.0] * 12),
    ],
)
def test_no_limits_where_there_is_nothing_to_tell_a_spread_from(q: list[float], h: list[float]) -> None:
    assert deficit_limits(q, h) is None


# n fish at .5 - d and as many at .5 + d have the variance d^2 2n / (2n - 1); 40 fish, H .2
@pytest.mark.parametrize(
    ("d", "n_loci", "hint"),
    [
        (0.098, None, ALIKE),  # .00985, below .1^2
        (0.099, None, NEITHER),  # .01005
        (0.098, 200, ALIKE),  # markers alone make less than that
        (0.099, 200, NEITHER),
        # the markers alone make (1 - 4 d^2 - .2) / (4 L), and twice that is no spread between fish yet
        (0.180, 10, ALIKE),
        (0.181, 10, NEITHER),
    ],
)
def test_how_far_apart_fish_may_be_that_are_alike(d: float, n_loci: int | None, hint: str) -> None:
    found = lineage_sign([0.5 - d, 0.5 + d] * 20, [0.2] * 40, n_loci)
    assert found.hint == hint


@pytest.mark.parametrize(
    ("low", "high", "between", "hint"),
    [
        (4, 2, 4, BIMODAL),  # a tenth of each and six tenths of both
        (4, 1, 5, NEITHER),
        (5, 1, 4, BIMODAL),
        (1, 5, 4, BIMODAL),
        (3, 2, 5, NEITHER),
    ],
)
def test_how_many_fish_are_near_each_kind(low: int, high: int, between: int, hint: str) -> None:
    q = [0.0] * low + [1.0] * high + [0.5] * between
    assert lineage_sign(q, [0.0] * 10, 200).hint == hint
