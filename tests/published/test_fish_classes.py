"""Classes of single fish: against a published table, and the formulas worked out outside this package."""

from __future__ import annotations

import math

import pytest
from samples import ALLATOONA_H, ALLATOONA_HETEROZYGOUS, ALLATOONA_Q

from geneticlog.rules.ancestry import accept_class, class_likelihoods, parity_holds, support_interval
from geneticlog.rules.hybrid_classes import (
    BACKCROSS_FLORIDA,
    BACKCROSS_NORTHERN,
    F1,
    F2,
    FLORIDA,
    NORTHERN,
    chance_of_heterozygous_loci,
    chance_of_passing_as_pure,
    free_likelihood,
    marker_variance,
)


@pytest.mark.parametrize(
    ("label", "backcross", "low", "high", "printed"),
    [
        # Malde K et al. (2017) BMC Genomics 18:76, doi:10.1186/s12864-016-3416-5, Table 4: 50 diagnostic markers.
        # Its "F2" is a first backcross, its "F3" a second, and so on.
        ("F1", 0, 36, 50, 1.000),
        ("F2", 1, 19, 35, 0.966),
        ("F3", 2, 10, 18, 0.808),
        ("F4", 3, 5, 9, 0.677),
        ("F5", 4, 3, 4, 0.411),
        ("F6", 5, 2, 2, 0.261),
        ("F7", 6, 1, 1, 0.361),
    ],
)
def test_heterozygous_loci_by_generation(
    label: str, backcross: int, low: int, high: int, printed: float
) -> None:
    assert chance_of_heterozygous_loci(low, high, backcross, 50) == pytest.approx(printed, abs=5e-4), label


NEVER = -math.inf


@pytest.mark.parametrize(
    ("counts", "miscall_rate", "expected"),
    [
        # The six-class likelihood of Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131; values by hand with scipy.
        (
            (18, 17, 0),
            0,
            {F2: -36.7368, BACKCROSS_NORTHERN: -24.2602, NORTHERN: NEVER, FLORIDA: NEVER, F1: NEVER},
        ),
        ((10, 18, 7), 0, {F2: -36.0437, NORTHERN: NEVER, F1: NEVER, BACKCROSS_NORTHERN: NEVER}),
        ((0, 35, 0), 0, {F1: 0, F2: -24.2602, BACKCROSS_NORTHERN: -24.2602, BACKCROSS_FLORIDA: -24.2602}),
        ((0, 35, 0), 0, {NORTHERN: NEVER, FLORIDA: NEVER}),
        ((34, 1, 0), 0, {NORTHERN: NEVER, BACKCROSS_NORTHERN: -24.2602, F2: -47.8272}),
        ((34, 1, 0), 0.005, {NORTHERN: -4.951, BACKCROSS_NORTHERN: -24.4306, F2: -47.8272, F1: -180.3232}),
        ((1, 33, 1), 0.005, {F1: -10.9367, F2: -25.6464, BACKCROSS_NORTHERN: -29.5635}),
        ((1, 33, 1), 0.005, {BACKCROSS_FLORIDA: -29.5635, NORTHERN: -162.7427, FLORIDA: -162.7427}),
    ],
)
def test_class_likelihoods(
    counts: tuple[int, int, int], miscall_rate: float, expected: dict[str, float]
) -> None:
    found = class_likelihoods(*counts, miscall_rate)
    assert {name: found[name] for name in expected} == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize(
    ("counts", "free", "aic_difference", "name"),
    [
        ((18, 17, 0), -24.2459, -1.97, BACKCROSS_NORTHERN),
        ((10, 18, 7), -35.7633, -1.44, F2),
        ((34, 1, 0), -4.5409, None, "generation not resolved"),
    ],
)
def test_a_class_is_accepted_by_the_published_rule(
    counts: tuple[int, int, int], free: float, aic_difference: float | None, name: str
) -> None:
    found = accept_class(*counts, miscall_rate=0)
    assert free_likelihood(*counts) == pytest.approx(free, abs=1e-4)
    assert found.name == name
    if aic_difference is not None:
        assert found.aic_difference == pytest.approx(aic_difference, abs=5e-3)


@pytest.mark.parametrize(
    ("k", "drop", "low", "high"),
    [
        # The hybrid-index support interval (Buerkle CA (2005) Molecular Ecology Notes 5:684-687), by scipy.
        (18, 2.0, 0.163025, 0.369436),
        (18, 1.920729, 0.164688, 0.367065),
        (0, 2.0, 0.0, 0.0281671),  # closed form: 1 - exp(-2/70)
    ],
)
def test_support_interval_of_one_fish(k: int, drop: float, low: float, high: float) -> None:
    assert support_interval(k, 70, drop) == pytest.approx((low, high), abs=1e-5)


@pytest.mark.parametrize(
    ("n_loci", "sd_q_f2", "sd_q_backcross", "sd_h"),
    [
        # Var(q) = [4q(1-q) - H]/4L with the class means of the R package HIest; table by scipy.
        (12, 0.1021, 0.0722, 0.1443),
        (25, 0.0707, 0.0500, 0.1000),
        (35, 0.0598, 0.0423, 0.0845),
        (38, 0.0574, 0.0406, 0.0811),
        (73, 0.0414, 0.0293, 0.0585),
    ],
)
def test_spread_that_markers_alone_give(
    n_loci: int, sd_q_f2: float, sd_q_backcross: float, sd_h: float
) -> None:
    f2, backcross = marker_variance(0.5, 0.5, n_loci), marker_variance(0.25, 0.5, n_loci)
    found = [f2[0] ** 0.5, backcross[0] ** 0.5, f2[1] ** 0.5, backcross[1] ** 0.5]
    assert found == pytest.approx([sd_q_f2, sd_q_backcross, sd_h, sd_h], abs=5e-5)


@pytest.mark.parametrize(
    ("n_loci", "backcross", "pure", "printed", "within"),
    [  # binomial, by scipy outside this package
        (12, 1, 0.05, 0.0032, 5e-5),
        (12, 2, 0.10, 0.391, 5e-4),
        (12, 4, 0.0, 0.461, 5e-4),
        (25, 2, 0.05, 0.0321, 5e-5),
        (25, 3, 0.05, 0.380, 5e-4),
        (35, 2, 0.05, 0.0136, 5e-5),
        (35, 3, 0.05, 0.348, 5e-4),
        (35, 4, 0.05, 0.827, 5e-4),
        (35, 1, 0.10, 0.00025, 5e-6),
        (38, 2, 0.05, 0.0072, 5e-5),
        (38, 3, 0.10, 0.906, 5e-4),
        (73, 2, 0.05, 0.0008, 5e-5),
        (73, 3, 0.05, 0.293, 5e-4),
        (73, 4, 0.10, 1.000, 5e-4),
    ],
)
def test_later_backcrosses_pass_as_pure(
    n_loci: int, backcross: int, pure: float, printed: float, within: float
) -> None:
    assert chance_of_passing_as_pure(backcross, n_loci, pure) == pytest.approx(printed, abs=within)


def test_all_nine_allatoona_fish_fail_parity() -> None:
    # Silliman et al. 2021 (samples.py): 2Lq - LH is odd for each, so some calls are missing.
    for q, h, heterozygous in zip(ALLATOONA_Q, ALLATOONA_H, ALLATOONA_HETEROZYGOUS, strict=True):
        assert round(35 * h) == heterozygous
        assert not parity_holds(q, h, 35)
