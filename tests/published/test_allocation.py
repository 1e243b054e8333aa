"""Least-variance allocation, against a general optimiser that knows nothing of Neyman's rule."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from geneticlog.rules.sampling import allocation_shares

STRATA = [  # catch and spread of q by class, invented; zero spreads and rare classes among them
    pytest.param([40, 30, 20, 8, 2], [0.10, 0.20, 0.25, 0.15, 0.30], id="five classes"),
    pytest.param([500, 1], [0.05, 0.45], id="one class hardly caught"),
    pytest.param(
        [16, 48], [53_843**0.5, 5_581**0.5], id="the 64 cities of Cochran 1977, ch. 5 [from memory]"
    ),
]


@pytest.mark.parametrize(("catch", "spread"), STRATA)
def test_no_other_sharing_has_less_variance(catch: list[float], spread: list[float]) -> None:
    # Neyman J (1934) J. R. Stat. Soc. 97:558-625: n_h as N_h s_h makes sum (N_h s_h)^2 / n_h least for a given sum n_h.
    n, parts = 60.0, (np.array(catch) * np.array(spread)) ** 2
    parts = parts / parts.max()  # the same optimum, a scale the optimiser can work on
    start = np.full(len(catch), n / len(catch))
    found = minimize(
        lambda shares: float((parts / shares).sum()),
        start,
        jac=lambda shares: -parts / shares**2,
        bounds=[(1e-3, n)] * len(catch),
        constraints=[{"type": "eq", "fun": lambda shares: shares.sum() - n}],
        method="SLSQP",
        options={"ftol": 1e-14, "maxiter": 500},
    )
    assert found.success, found.message
    names = [str(at) for at in range(len(catch))]
    ours = allocation_shares(
        n, dict(zip(names, catch, strict=True)), dict(zip(names, spread, strict=True)), "least_variance"
    )
    assert list(ours.values()) == pytest.approx(found.x, abs=0.02)
    assert (parts / np.array(list(ours.values()))).sum() <= found.fun * (1 + 1e-9)
