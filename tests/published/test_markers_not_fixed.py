"""Markers that are not fixed: the published genotype chances, and the diagnostic case that they become."""

from __future__ import annotations

import math

import pytest

from geneticlog.rules.genetics.hybrid_classes import (
    BACKCROSS_FLORIDA,
    BACKCROSS_NORTHERN,
    F1,
    F2,
    FLORIDA,
    NORTHERN,
)
from geneticlog.rules.notebook.unfixed_markers import (
    accept_unfixed_class,
    genomic_shares,
    genotype_chances,
    unfixed_ancestry,
    unfixed_class_likelihoods,
)


@pytest.mark.parametrize(
    ("q", "h", "shares"),
    [  # class means and shares: Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131, as in the R package HIest 2.0
        (0, 0, (1, 0, 0)),
        (1, 0, (0, 0, 1)),
        (0.5, 1, (0, 1, 0)),
        (0.5, 0.5, (0.25, 0.5, 0.25)),
        (0.25, 0.5, (0.5, 0.5, 0)),
        (0.75, 0.5, (0, 0.5, 0.5)),
    ],
)
def test_shares_of_the_genome(q: float, h: float, shares: tuple[float, float, float]) -> None:
    assert genomic_shares(q, h) == pytest.approx(shares)


def test_chances_of_a_genotype_by_hand() -> None:
    # The formula of the R package HIest 2.0 for frequencies r in Florida and s in northern parents, worked out by hand
    # for r = .9, s = .2 and a genome of .5 northern, .3 mixed and .2 Florida:
    # P(2) = .2 x .81 + .3 x .18 + .5 x .04 = .236; P(1) = 2 x .2 x .09 + .3 (.72 + .02) + 2 x .5 x .16 = .418;
    # P(0) = .2 x .01 + .3 x .08 + .5 x .64 = .346
    assert genotype_chances([0.5, 0.3, 0.2], [0.9], [0.2])[0] == pytest.approx([0.346, 0.418, 0.236])


NEVER = -math.inf


@pytest.mark.parametrize(
    ("counts", "miscall_rate", "expected"),
    [  # CLS-2: the six-class likelihood of the same source at diagnostic markers; values by hand with scipy
        ((18, 17, 0), 0, (NEVER, NEVER, NEVER, -36.7368, -24.2602, NEVER)),
        ((10, 18, 7), 0, (NEVER, NEVER, NEVER, -36.0437, NEVER, NEVER)),
        ((0, 35, 0), 0, (NEVER, NEVER, 0, -24.2602, -24.2602, -24.2602)),
        ((34, 1, 0), 0.005, (-4.951, None, -180.3232, -47.8272, -24.4306, None)),
        ((1, 33, 1), 0.005, (-162.7427, -162.7427, -10.9367, -25.6464, -29.5635, -29.5635)),
    ],
)
def test_fixed_markers_give_the_published_class_likelihoods(
    counts: tuple[int, int, int], miscall_rate: float, expected: tuple[float | None, ...]
) -> None:
    fish = [0] * counts[0] + [1] * counts[1] + [2] * counts[2]
    found = unfixed_class_likelihoods(fish, [1] * 35, [0] * 35, miscall_rate)
    names = (NORTHERN, FLORIDA, F1, F2, BACKCROSS_NORTHERN, BACKCROSS_FLORIDA)
    for name, value in zip(names, expected, strict=True):
        if value is not None:
            assert found[name] == pytest.approx(value, abs=1e-4), name


@pytest.mark.parametrize(
    ("counts", "q", "h", "free", "aic_difference", "name"),
    [  # CLS-2
        ((18, 17, 0), 0.242857, 0.485714, -24.2459, -1.97, BACKCROSS_NORTHERN),
        ((10, 18, 7), 0.457143, 0.514286, -35.7633, -1.44, F2),
    ],
)
def test_fixed_markers_give_the_published_q_and_h_and_class(
    counts: tuple[int, int, int], q: float, h: float, free: float, aic_difference: float, name: str
) -> None:
    fish = [0] * counts[0] + [1] * counts[1] + [2] * counts[2]
    found = unfixed_ancestry(fish, [1] * 35, [0] * 35)
    assert (found.q, found.heterozygosity) == pytest.approx((q, h), abs=5e-7)
    assert (found.log_likelihood, found.n_loci) == (pytest.approx(free, abs=1e-4), 35)
    accepted = accept_unfixed_class(fish, [1] * 35, [0] * 35, 0)
    assert (accepted.name, accepted.aic_difference) == (name, pytest.approx(aic_difference, abs=5e-3))
