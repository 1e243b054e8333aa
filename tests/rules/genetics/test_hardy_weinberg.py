"""Hardy-Weinberg: brute force over all outcomes, and loci that cannot be tested."""

from __future__ import annotations

from math import exp, lgamma, log

import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.hardy_weinberg import hardy_weinberg


@given(st.tuples(*[st.integers(0, 25)] * 3).filter(any))
@settings(max_examples=80)
def test_the_exact_test_is_the_sum_over_outcomes_no_likelier(counts: tuple[int, int, int]) -> None:
    aa, ab, _ = counts
    n, a = sum(counts), 2 * aa + ab
    found = hardy_weinberg(*counts)
    if a in (0, 2 * n):
        assert (found.p_exact, found.f) == (1.0, None)
        return

    def chance(h: int) -> float:
        x, y = (a - h) // 2, (2 * n - a - h) // 2
        return exp(h * log(2) - lgamma(x + 1) - lgamma(h + 1) - lgamma(y + 1))

    outcomes = {h: chance(h) for h in range(a % 2, min(a, 2 * n - a) + 1, 2)}
    total = sum(outcomes.values())
    no_likelier = sum(p for p in outcomes.values() if p <= outcomes[ab] * (1 + 1e-9)) / total
    assert found.p_exact == pytest.approx(no_likelier)
    assert found.p_chi2 == pytest.approx(scipy.stats.chi2.sf(found.chi2, 1))
    assert 0 <= found.p_mid <= found.p_exact


def test_wrong_input_is_named() -> None:
    with pytest.raises(NumberFault, match="no fish has a genotype"):
        hardy_weinberg(0, 0, 0)
    with pytest.raises(NumberFault, match="-2"):
        hardy_weinberg(1, -2, 3)
