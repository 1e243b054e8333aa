"""Fish with different numbers of loci, and how far alleles are from independent evidence."""

from __future__ import annotations

import numpy as np
import pytest
from samples import ALLATOONA_ALLELES, ALLATOONA_Q, OUACHITA_ALLELES, OUACHITA_Q
from scipy.stats import beta, t

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.intervals import mean_proportion
from geneticlog.rules.notebook.ratio import design_effect, pooled_interval, pooled_ratio


def test_three_fish_of_different_panels() -> None:
    # MEAN-2: arithmetic by hand: x = 3, 10, 0 of 35, 20, 34 loci
    x, loci = [3, 10, 0], [35, 20, 34]
    q = np.array(x) / (2 * np.array(loci))
    assert list(q) == pytest.approx([0.042857, 0.25, 0], abs=1e-6)
    assert mean_proportion(q, loci).mean == pytest.approx(0.097619, abs=1e-6)
    found = pooled_ratio(x, loci)
    assert (found.ratio, found.se) == pytest.approx((0.073034, 0.061246), abs=1e-6)


@pytest.mark.parametrize(("q", "loci", "expected"), [(ALLATOONA_Q, 35, 1.08), (OUACHITA_Q, 38, 13.34)])
def test_design_effect_of_real_lakes(q: list[float], loci: int, expected: float) -> None:
    # GEN-1, GEN-2. Silliman et al. 2021 (samples.py): alleles are near independent in an old mixed lake, far from it
    # after stocking
    found = mean_proportion(q, loci)
    assert found.mean is not None
    assert found.se is not None
    assert design_effect(found.mean, found.se, 2 * loci * len(q)) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize(
    ("alleles", "loci", "n_eff", "limits"),
    [
        (
            OUACHITA_ALLELES,
            38,
            157.070,
            (0.0515124, 0.1480553),
        ),  # KG-1, computed with the R package survey 4.1
        (ALLATOONA_ALLELES, 35, 421.729, (0.3994892, 0.4964889)),  # KG-4, by the same formula with scipy
    ],
)
def test_with_equal_loci_it_has_the_interval_of_the_plain_mean(
    alleles: list[int], loci: int, n_eff: float, limits: tuple[float, float]
) -> None:
    found = pooled_interval(alleles, [loci] * len(alleles))
    assert found.n_effective == pytest.approx(n_eff, abs=5e-4)
    assert (found.low, found.high) == pytest.approx(limits, abs=1e-6)


def test_the_interval_of_fish_with_unequal_loci() -> None:
    # MEAN-2 in the form that the R package survey uses (svyciprop, "beta"), written out with scipy: 178 alleles, 3 fish
    ratio, se = 0.0730337, 0.061246
    n_eff = ratio * (1 - ratio) / se**2 * (t.ppf(0.975, 177) / t.ppf(0.975, 2)) ** 2
    found = pooled_interval([3, 10, 0], [35, 20, 34])
    assert found.n_effective == pytest.approx(n_eff, rel=1e-4)
    assert (found.low, found.high) == pytest.approx(
        (
            beta.ppf(0.025, n_eff * ratio, n_eff * (1 - ratio) + 1),
            beta.ppf(0.975, n_eff * ratio + 1, n_eff * (1 - ratio)),
        ),
        rel=1e-3,
    )
    assert "too few to read" in found.guard


def test_the_interval_where_nothing_varies() -> None:
    # KG-3. Silliman et al. 2021: ten hatchery northern fish; and one fish alone
    none = pooled_interval([0] * 10, [35] * 10)
    assert (none.low, none.high) == (0, pytest.approx(0.3084971, abs=1e-6))
    one = pooled_interval([3], [35])
    assert (one.low, one.guard) == (None, "one fish")


def test_two_fish_have_the_error_of_the_formula() -> None:
    # Cochran, by hand: 2 and 4 of 8 alleles, R = 6 / 16; each is off by 1 allele: sqrt(2 / 1 * (1 + 1)) / 16
    found = pooled_ratio([2, 4], [4, 4])
    assert (found.ratio, found.se) == pytest.approx((0.375, 0.125), abs=1e-15)


def test_one_fish_and_wrong_input() -> None:
    assert pooled_ratio([3], [35]).se is None
    assert design_effect(0.0, 0.0, 70) is None
    with pytest.raises(NumberFault, match="fish 2: 71 Florida alleles of 35 loci"):
        pooled_ratio([3, 71], [35, 35])
