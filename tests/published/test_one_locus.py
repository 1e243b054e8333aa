"""Hardy-Weinberg at one locus, against printed output."""

from __future__ import annotations

import pytest

from geneticlog.rules.genetics.hardy_weinberg import hardy_weinberg


def test_the_example_of_the_r_package() -> None:
    # HWE-1. Graffelman J, HardyWeinberg: Statistical Tests and Graphics for Hardy-Weinberg Equilibrium, R package,
    # printed example output for the counts (298, 489, 213). The last digit of Fis: Nei's formula by hand.
    found = hardy_weinberg(298, 489, 213)
    assert found.p == pytest.approx(0.5425, abs=1e-9)
    assert (found.chi2, found.p_chi2) == pytest.approx((0.2214896, 0.6379073), abs=1e-6)
    assert found.f == pytest.approx(0.01488253, abs=1e-6)
    assert (found.chi2_corrected, found.p_chi2_corrected) == pytest.approx((0.1789563, 0.6722717), abs=1e-6)
    assert (found.p_exact, found.p_mid, found.p_doubled) == pytest.approx(
        (0.6556635, 0.6330965, 0.6723356), abs=1e-6
    )
    assert found.fis == pytest.approx(0.0153751, abs=1e-6)


def test_half_the_heterozygotes_missing() -> None:
    # HWE-3: arithmetic of the formulas, with scipy outside this package
    found = hardy_weinberg(12, 6, 12)
    assert (found.chi2, found.p_chi2) == (pytest.approx(10.8), pytest.approx(0.001015, abs=5e-7))
    assert (found.f, found.fis) == (pytest.approx(0.6), pytest.approx(0.606667, abs=5e-7))
    assert (found.p_exact, found.p_mid) == pytest.approx((0.0010034, 0.0005689), abs=5e-8)
