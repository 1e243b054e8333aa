"""The arithmetic of blind duplicates: allele steps, the rule of three, and two published comparisons."""

from __future__ import annotations

import pytest
from scipy.stats import beta

from geneticlog.rules.shipment.duplicates import Calls, error_below, proportions_apart


@pytest.mark.parametrize(("n_loci", "step"), [(38, 0.0132), (73, 0.0068)])
def test_one_wrong_allele_moves_q_by_one_step(n_loci: int, step: float) -> None:
    assert proportions_apart(0.5 + step, 0.5, n_loci, n_loci).n_alleles == pytest.approx(1, abs=8e-3)


def test_no_mismatch_shows_an_error_below_three_in_m() -> None:
    # rule of three (Hanley & Lippman-Hand 1983, JAMA 249:1743-1745): 3/m; 5 duplicates x 38 loci x 2 alleles
    assert error_below(380) == pytest.approx(3 / 380, rel=0.01)
    assert (error_below(380) or 1) < 0.008


@pytest.mark.parametrize("m", [1, 2, 10, 60, 380, 100_000])
def test_the_bound_is_the_one_sided_clopper_pearson_limit(m: int) -> None:
    assert error_below(m) == pytest.approx(beta.ppf(0.95, 1, m), rel=1e-9)  # scipy, x = 0 of m


def test_a_twentieth_is_about_four_alleles_at_38_loci() -> None:
    apart = proportions_apart(0.50, 0.55 + 1e-6, 38, 38)
    assert apart.disagree
    assert apart.n_alleles == pytest.approx(3.8, abs=0.01)


@pytest.mark.parametrize(
    ("n_different", "verdict"),
    [(21, "good"), (386, "ask the lab"), (130, "review")],
    # White & Shaklee 1991, doi 10.1139/f91-167: 0.21 % between two labs, 3.86 % for the third;
    # four labs, overall 1.3 % (PMC3112247, table 1)
    ids=["two labs 0.21 %", "the third lab 3.86 %", "four labs 1.3 %"],
)
def test_published_disagreements_get_their_verdict(n_different: int, verdict: str) -> None:
    assert Calls(10_000, n_different).verdict == verdict
